"""What the end of an operation means for its job cards: they are done, nobody's time runs on, rework holds it up."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from bom.kernel.errors import Problem
from production.works.card_models import CardLine, JobCard, WorkTime
from production.works.models import WorksOperation

OPEN = (JobCard.State.WAITING, JobCard.State.BEGUN)
CENT = Decimal("0.01")


def stop_times(times: QuerySet[WorkTime], *, ended: str, at: datetime | None = None) -> list[WorkTime]:
    """Stop what runs of these times; returns what was stopped. Each keeps its own minutes."""
    now = at or timezone.now()
    running = list(times.filter(stopped_at__isnull=True).select_for_update())
    for one in running:
        one.stopped_at = max(now, one.started_at)
        seconds = Decimal(str((one.stopped_at - one.started_at).total_seconds()))
        one.minutes, one.ended = (seconds / 60).quantize(CENT), ended
    WorkTime.objects.bulk_update(running, ["stopped_at", "minutes", "ended"])
    return running


def rework_problems(operation: WorksOperation) -> list[Problem]:
    """Open rework of this works order that must be done before this operation can be."""
    cards = (
        JobCard.objects.filter(
            state__in=OPEN,
            kind__in=[JobCard.Kind.REWORK, JobCard.Kind.AGAIN],
            lines__operation__works_order_id=operation.works_order_id,
            process__sequence__lte=operation.sequence,
        )
        .select_related("process")
        .distinct()
    )
    return [
        Problem(
            f"Card {card.number} ({card.get_kind_display()}: {card.reason}) is still open",
            f"{card.process.name}, {operation.works_order.number}",
            "Finish that card first; its parts are wanted here.",
        )
        for card in cards
    ]


def close_cards(operation: WorksOperation, at: datetime) -> None:
    """The operation was finished as a whole: its usual cards are done with all pieces good.

    A card that also holds parts of another order stays open for those; only its lines of this operation are counted.
    """
    lines = CardLine.objects.filter(operation=operation, card__state__in=OPEN)
    cards = list(JobCard.objects.filter(lines__in=lines).distinct())
    lines.update(good=F("pieces") - F("to_mend") - F("spoilt"))
    still = set(
        CardLine.objects.filter(card__in=cards)
        .exclude(operation=operation)
        .exclude(operation__state__in=[WorksOperation.State.DONE, WorksOperation.State.CANCELLED])
        .values_list("card_id", flat=True)
    )
    _end([card for card in cards if card.pk not in still], JobCard.State.DONE, at)


def cancel_cards(operations: QuerySet[WorksOperation]) -> None:
    """The order is cancelled: its own cards are, and those it shares go on for the other order."""
    cards = JobCard.objects.filter(state__in=OPEN, lines__operation__in=operations).distinct()
    shared = CardLine.objects.filter(card__in=cards).exclude(operation__in=operations).values("card_id")
    _end(list(cards.exclude(pk__in=shared)), JobCard.State.CANCELLED, timezone.now())


def restore_cards(operations: QuerySet[WorksOperation]) -> None:
    """The cancelling is taken back: cards wait again."""
    pks = list(
        JobCard.objects.filter(state=JobCard.State.CANCELLED, lines__operation__in=operations).values_list(
            "pk", flat=True
        )
    )
    JobCard.objects.filter(pk__in=pks).update(state=JobCard.State.WAITING, finished_at=None)


def reopen_cards(operation: WorksOperation) -> None:
    """ "Done" was taken back: the cards it closed, or the one that closed it, are begun again."""
    cards = JobCard.objects.filter(
        state=JobCard.State.DONE, pk__in=CardLine.objects.filter(operation=operation).values("card_id")
    )
    last = cards.order_by("-finished_at", "-pk").values_list("pk", flat=True).first()
    pks = cards.filter(Q(finished_at=operation.finished_at) | Q(pk=last)).values_list("pk", flat=True)
    JobCard.objects.filter(pk__in=list(pks)).update(state=JobCard.State.BEGUN, finished_at=None)


def _end(cards: Iterable[JobCard], state: str, at: datetime) -> None:
    pks = [card.pk for card in cards]
    stop_times(WorkTime.objects.filter(card__in=pks), ended=WorkTime.Ended.DONE, at=at)
    JobCard.objects.filter(pk__in=pks).update(state=state, finished_at=at)
