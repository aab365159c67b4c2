"""What the pages of cards show: one card, where things stand, and hours by person and station."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Count, Exists, F, Max, Min, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce, Greatest, TruncDate
from django.utils import timezone

from production.orders.models import Order
from production.works.card_closing import OPEN
from production.works.card_models import CardLine, JobCard, WorkProblem, WorkTime
from production.works.models import WorksOperation

OperationState = WorksOperation.State


@dataclass(frozen=True)
class CardSheet:
    """One card with all that its page and its paper need."""

    card: JobCard
    lines: tuple[CardLine, ...]
    times: tuple[WorkTime, ...]
    problems: tuple[WorkProblem, ...]
    followers: tuple[JobCard, ...]
    joinable: tuple[JobCard, ...]
    way: tuple[WorksOperation, ...]

    @property
    def orders(self) -> list[Order]:
        found = {line.operation.works_order.order for line in self.lines}
        return sorted((one for one in found if one is not None), key=lambda one: one.number)

    @property
    def pieces(self) -> Decimal:
        return sum((line.pieces for line in self.lines), Decimal(0))

    @property
    def running(self) -> list[WorkTime]:
        return [one for one in self.times if one.stopped_at is None]

    @property
    def minutes_kept(self) -> Decimal:
        return sum((one.minutes for one in self.times), Decimal(0))

    @property
    def minutes_planned(self) -> Decimal:
        """What the bill gives for the operations that the card belongs to."""
        return sum({line.operation_id: line.operation.minutes for line in self.lines}.values(), Decimal(0))


def card_sheet(card: JobCard) -> CardSheet:
    """A card with lines, times, problems and the way of its works orders. Seven queries."""
    lines = tuple(
        card.lines.select_related(
            "item__flat_part",
            "operation__works_order__order__model",
            "operation__works_order__order__customer",
        )
    )
    works = {line.operation.works_order_id for line in lines}
    return CardSheet(
        card=card,
        lines=lines,
        times=tuple(card.times.select_related("person", "work_centre")),
        problems=tuple(card.problems.select_related("by", "solved_by")),
        followers=tuple(card.followers.select_related("process")),
        joinable=_joinable(card),
        way=tuple(
            WorksOperation.objects.filter(works_order__in=works)
            .select_related("process", "works_order")
            .order_by("works_order__number", "sequence")
        ),
    )


def cards() -> QuerySet[JobCard]:
    """All cards with pieces, orders and running people, the open ones first."""
    lines = CardLine.objects.filter(card=OuterRef("pk"))
    running = WorkTime.objects.filter(card=OuterRef("pk"), stopped_at__isnull=True)
    return (
        JobCard.objects.select_related("process")
        .annotate(
            order_number=Subquery(
                lines.order_by("operation__works_order__number").values(
                    "operation__works_order__order__number"
                )[:1]
            ),
            order_count=Count("lines__operation__works_order", distinct=True),
            piece_count=Subquery(lines.order_by().values("card").annotate(n=Sum("pieces")).values("n")),
            at_work=Subquery(running.values("person__username")[:1]),
            is_stopped=Exists(
                WorkProblem.objects.filter(card=OuterRef("pk"), stops_work=True, solved_at__isnull=True)
            ),
        )
        .order_by("process__sequence", "number")
    )


def open_cards_of(operation_ids: Collection[int]) -> dict[int, list[JobCard]]:
    """The open cards of each operation. One query."""
    found: dict[int, list[JobCard]] = {}
    for line in CardLine.objects.filter(operation_id__in=operation_ids, card__state__in=OPEN).select_related(
        "card"
    ):
        held = found.setdefault(line.operation_id, [])
        if line.card not in held:
            held.append(line.card)
    return found


def standing() -> QuerySet[Order]:
    """Each order on the floor: what is begun on it, what was done last and when, what comes next and when.

    `since` is when it last moved: the last begin or finish of any of its operations.
    """
    operations = WorksOperation.objects.filter(works_order__order=OuterRef("pk"))
    begun = operations.filter(state=OperationState.BEGUN).order_by("-began_at")
    done = operations.filter(state=OperationState.DONE).order_by("-finished_at")
    following = operations.filter(state=OperationState.WAITING).order_by("sequence")
    of = "works_order__operations__"
    return (
        Order.objects.filter(state__in=[Order.State.RELEASED, Order.State.BEGUN])
        .select_related("model", "customer")
        .annotate(
            begun_at_station=Subquery(begun.values("process__name")[:1]),
            begun_by=Subquery(begun.values("by__username")[:1]),
            done_last=Subquery(done.values("process__name")[:1]),
            comes_next=Subquery(following.values("process__name")[:1]),
            stopped_by=Subquery(operations.exclude(problem="").values("problem")[:1]),
            last_finished=Max(f"{of}finished_at"),
            last_began=Max(f"{of}began_at"),
            planned_next=Min(
                f"{of}planned__starts_at",
                filter=Q(**{f"{of}planned__plan__is_current": True, f"{of}state": OperationState.WAITING}),
            ),
        )
        .annotate(
            # Greatest of a missing time is missing on one database and the other time on another.
            since=Greatest(Coalesce("last_finished", "last_began"), Coalesce("last_began", "last_finished"))
        )
        .order_by(F("since").asc(nulls_last=True), "number")
    )


def hours() -> QuerySet[WorkTime, Any]:
    """Minutes by day, person and station, the latest day first. What still runs is not in it."""
    return (
        WorkTime.objects.filter(stopped_at__isnull=False)
        .annotate(day=TruncDate("started_at"))
        .values("day", "person__username", "work_centre__name")
        .annotate(total=Sum("minutes"), cards=Count("card", distinct=True))
        .order_by("-day", "person__username", "work_centre__name")
    )


def against_the_bill(since: date) -> list[dict[str, object]]:
    """For each station: minutes kept on cards done since a day, and what the bill gives for the same operations.

    Only operations whose every card is done count, so that both sides speak of the same work.
    """
    start = timezone.make_aware(datetime.combine(since, datetime.min.time()))
    done = WorksOperation.objects.filter(state=OperationState.DONE, finished_at__gte=start).filter(
        Exists(WorkTime.objects.filter(card__lines__operation=OuterRef("pk")))
    )
    planned = {
        row["process__name"]: row
        for row in done.order_by().values("process__name").annotate(minutes=Sum("minutes"), count=Count("pk"))
    }
    kept = (
        WorkTime.objects.filter(
            stopped_at__isnull=False,
            pk__in=WorkTime.objects.filter(card__lines__operation__in=done).values("pk"),
        )
        .order_by()
        .values("card__process__name")
        .annotate(minutes=Sum("minutes"))
    )
    return [
        {
            "station": row["card__process__name"],
            "kept": row["minutes"],
            "planned": planned[row["card__process__name"]]["minutes"],
            "operations": planned[row["card__process__name"]]["count"],
            "ratio": row["minutes"] / planned[row["card__process__name"]]["minutes"]
            if planned[row["card__process__name"]]["minutes"]
            else None,
        }
        for row in kept
        if row["card__process__name"] in planned
    ]


def problems() -> QuerySet[WorkProblem]:
    """All problems, the open ones first, the latest first."""
    return WorkProblem.objects.select_related("card__process", "by", "solved_by").order_by(
        F("solved_at").desc(nulls_first=True), "-at"
    )


def _joinable(card: JobCard) -> tuple[JobCard, ...]:
    """Waiting cards of the same process that could travel with this one."""
    if not card.is_open:
        return ()
    return tuple(
        JobCard.objects.filter(process=card.process, kind=card.kind, state=JobCard.State.WAITING)
        .exclude(pk=card.pk)
        .order_by("number")[:40]
    )
