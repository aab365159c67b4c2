"""Work on a job card: started, stopped, finished and counted; parts sent back to be done again.

Each verb may be repeated: a second scan, a second press, a form that comes twice changes nothing. The last card of an
operation finishes the operation (`production.works.tracking`), which posts what was made.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from production.shop.models import WorkCentre
from production.works import tracking
from production.works.card_closing import OPEN, stop_times
from production.works.card_making import locked_card, make_cards, take_card_numbers
from production.works.card_models import CardLine, JobCard, WorkTime
from production.works.models import WorksOperation
from production.works.spoiling import spoil

State, Kind = JobCard.State, JobCard.Kind
NOTHING = Decimal(0)

# Where the last word is spoken on a screen of its own: counts of a card would pass by its checks.
FINISHED_ELSEWHERE: Mapping[str, str] = {
    "galvanise": "the load that brings it back",
    "powder": "the powder batch",
    "assemble": "the kit's page",
    "inspect": "the inspection, with every check",
}

# What is begun by a card alone would stand in no load, no oven and no bay.
BEGUN_ELSEWHERE: Mapping[str, str] = {
    "galvanise": "when its load leaves",
    "powder": "with its powder batch",
    "assemble": "on the kit's page, where it gets its bay",
}


@dataclass(frozen=True)
class Count:
    """What of a card's line is not good: to be mended here again, or spoilt."""

    to_mend: Decimal = NOTHING
    spoilt: Decimal = NOTHING

    @property
    def bad(self) -> Decimal:
        return self.to_mend + self.spoilt


@transaction.atomic
def start(*, card: JobCard, by: User, at: datetime | None = None) -> JobCard:
    """This person works on the card from now, or from `at` where the form waited on a device.

    Who works on it already is left alone; another card of his is stopped.

    Raises:
        ProblemError: the card is not open, its order is not on the floor, or its work is begun on another page.
    """
    card = locked_card(card)
    if not card.is_open:
        raise ProblemError(_not_open(card))
    # One person's times follow one another, also where two devices scan for him at once.
    User.objects.select_for_update(no_key=True).get(pk=by.pk)
    own = WorkTime.objects.filter(person=by, stopped_at__isnull=True)
    if own.filter(card=card).exists():
        return card
    for operation in _operations(card):
        if problem := _begun_elsewhere(card, operation):
            raise ProblemError(problem)
        tracking.begin_operation(operation=operation, by=by)
    now = at or timezone.now()
    stop_times(own, ended=WorkTime.Ended.OTHER, at=now)
    WorkTime.objects.create(card=card, person=by, work_centre=_centre(card), started_at=now)
    if card.state == State.WAITING:
        card.state, card.began_at = State.BEGUN, now
        card.save(update_fields=["state", "began_at"])
    return card


@transaction.atomic
def stop(*, card: JobCard, by: User, at: datetime | None = None) -> JobCard:
    """This person stops for now; the card stays begun. Where no time of his runs nothing changes."""
    card = locked_card(card)
    stop_times(WorkTime.objects.filter(card=card, person=by), ended=WorkTime.Ended.STOPPED, at=at)
    return card


@transaction.atomic
def finish(
    *, card: JobCard, counts: Mapping[int, Count], by: User, reason: str = "", at: datetime | None = None
) -> list[JobCard]:
    """The card is done: what `counts` (by line) does not name is good. A card that is done is left as it is.

    Pieces to mend get a rework card, spoilt pieces a card to make them again; both are returned, and the operation
    stays open until they are done. What was used up by spoilt pieces is posted to scrap.

    Raises:
        ProblemError: counts beyond the card, bad pieces without a reason, a process that is finished elsewhere, or
            what finishing the operation refuses.
    """
    card = locked_card(card)
    if card.state == State.DONE:
        return list(card.followers.filter(kind__in=[Kind.REWORK, Kind.AGAIN]))
    _refuse_finish(card, counts, reason)
    lines = list(card.lines.select_related("item", "operation__works_order__order"))
    for line in lines:
        count = counts.get(line.pk, Count())
        line.to_mend, line.spoilt, line.good = count.to_mend, count.spoilt, line.pieces - count.bad
    CardLine.objects.bulk_update(lines, ["good", "to_mend", "spoilt"])
    now = timezone.now()
    stop_times(WorkTime.objects.filter(card=card), ended=WorkTime.Ended.DONE, at=at)
    card.state, card.finished_at, card.began_at = State.DONE, now, card.began_at or now
    card.save(update_fields=["state", "finished_at", "began_at"])
    spoil(card=card, lines=[line for line in lines if line.spoilt > 0], reason=reason, by=by)
    followers = [
        _follow(card, kind, {line: getattr(line, which) for line in lines}, reason)
        for kind, which in ((Kind.REWORK, "to_mend"), (Kind.AGAIN, "spoilt"))
        if any(getattr(line, which) > 0 for line in lines)
    ]
    _finish_operations(card, by)
    return followers


@transaction.atomic
def send_back(*, card: JobCard, process: str, take: Mapping[int, Decimal], reason: str, by: User) -> JobCard:
    """Pieces of this card go back to an earlier station: a rework card there, which this one must wait for.

    `take` is pieces by line of this card.

    Raises:
        ProblemError: no reason, nothing taken or too much, or a part that never passes that station.
    """
    card = locked_card(card)
    lines = {line.pk: line for line in card.lines.select_related("item", "operation")}
    wanted = {lines[pk]: pieces for pk, pieces in take.items() if pk in lines and pieces > 0}
    problems = _send_back_problems(card, process, wanted, reason)
    if problems:
        raise ProblemError(*problems)
    # The stations before this one only: later ones have not had the part yet.
    earlier = {
        one.works_order_id: one
        for one in WorksOperation.objects.filter(
            process__code=process,
            process__sequence__lt=card.process.sequence,
            works_order__in=[line.operation.works_order_id for line in wanted],
        ).select_related("process")
    }
    if missing := [line for line in wanted if line.operation.works_order_id not in earlier]:
        raise ProblemError(
            Problem(f"{missing[0].item.code} does not pass {process}", card.number, "Choose another station.")
        )
    back = JobCard.objects.create(
        number=take_card_numbers(1)[0],
        process=next(iter(earlier.values())).process,
        kind=Kind.REWORK,
        follows=card,
        reason=reason.strip()[:200],
    )
    for line, pieces in wanted.items():
        operation = earlier[line.operation.works_order_id]
        CardLine.objects.create(card=back, operation=operation, item=line.item, pieces=pieces)
    return back


def start_operation(*, operation: WorksOperation, by: User) -> WorksOperation:
    """Start at a station without a scan: the first open card of the operation is started for this person.

    Work without a card (see `card_making.WITHOUT_CARDS`) is only begun.
    """
    if operation.state in (WorksOperation.State.WAITING, WorksOperation.State.BEGUN):
        make_cards(works_orders=[operation.works_order_id])
    card = (
        JobCard.objects.filter(lines__operation=operation, state__in=OPEN)
        .order_by("-state", "number")
        .first()
    )
    if card is not None and operation.state != WorksOperation.State.DONE:
        start(card=card, by=by)
        operation.refresh_from_db()
        return operation
    return tracking.begin_operation(operation=operation, by=by)


def _operations(card: JobCard) -> list[WorksOperation]:
    return list(
        WorksOperation.objects.filter(card_lines__card=card)
        .select_related("process", "works_order")
        .order_by("works_order__number")
        .distinct()
    )


def _centre(card: JobCard) -> WorkCentre | None:
    return WorkCentre.objects.filter(process=card.process).order_by("sequence").first()


def _follow(card: JobCard, kind: str, pieces: Mapping[CardLine, Decimal], reason: str) -> JobCard:
    fresh = JobCard.objects.create(
        number=take_card_numbers(1)[0], process=card.process, kind=kind, follows=card, reason=reason.strip()
    )
    CardLine.objects.bulk_create(
        CardLine(card=fresh, operation_id=line.operation_id, item_id=line.item_id, pieces=count)
        for line, count in pieces.items()
        if count > 0
    )
    return fresh


def _finish_operations(card: JobCard, by: User) -> None:
    """Finish each operation of the card that has no other open card."""
    for operation in _operations(card):
        if operation.state in (WorksOperation.State.DONE, WorksOperation.State.CANCELLED):
            continue
        if not CardLine.objects.filter(operation=operation, card__state__in=OPEN).exists():
            tracking.finish_operation(operation=operation, by=by)


def _refuse_finish(card: JobCard, counts: Mapping[int, Count], reason: str) -> None:
    if not card.is_open:
        raise ProblemError(_not_open(card))
    code = card.process.code
    if code in FINISHED_ELSEWHERE and card.kind == Kind.USUAL:
        raise ProblemError(
            Problem(
                f"{card.process.name.capitalize()} is not finished on the card",
                card.number,
                f"It is finished at {FINISHED_ELSEWHERE[code]}; the card and its times end with it.",
            )
        )
    lines = {line.pk: line for line in card.lines.select_related("item")}
    problems = [
        Problem(
            f"{format_quantity(count.to_mend)} to mend and {format_quantity(count.spoilt)} spoilt are more than the "
            f"{format_quantity(lines[pk].pieces)} of {lines[pk].item.code} on the card",
            card.number,
            "Count again.",
        )
        for pk, count in counts.items()
        if pk in lines and (count.bad > lines[pk].pieces or count.to_mend < 0 or count.spoilt < 0)
    ]
    if not problems and any(count.bad > 0 for count in counts.values()) and not reason.strip():
        problems = [Problem("No reason is given", card.number, "Say what is wrong with the bad pieces.")]
    if problems:
        raise ProblemError(*problems)


def _send_back_problems(
    card: JobCard, process: str, wanted: Mapping[CardLine, Decimal], reason: str
) -> list[Problem]:
    problems = []
    if not card.is_open:
        problems.append(_not_open(card))
    if not wanted:
        problems.append(Problem("Nothing is sent back", card.number, "Say how many pieces of which part."))
    if not reason.strip():
        problems.append(Problem("No reason is given", card.number, "Say what must be put right."))
    problems += [
        Problem(
            f"{format_quantity(pieces)} of {line.item.code} are more than the card holds",
            card.number,
            f"It holds {format_quantity(line.pieces)}.",
        )
        for line, pieces in wanted.items()
        if pieces > line.pieces
    ]
    return problems


def _begun_elsewhere(card: JobCard, operation: WorksOperation) -> Problem | None:
    where = BEGUN_ELSEWHERE.get(operation.process.code)
    if where is None or card.kind != Kind.USUAL or operation.state != WorksOperation.State.WAITING:
        return None
    return Problem(
        f"{operation.process.name.capitalize()} is not begun by its card",
        card.number,
        f"It is begun {where}; scan the card after that, and your time is kept.",
    )


def _not_open(card: JobCard) -> Problem:
    after = f"; its parts are on {card.follows}" if card.state == State.JOINED else ""
    return Problem(
        f"Card {card.number} is {card.get_state_display()}{after}",
        card.number,
        "Scan the card that the parts carry now.",
    )
