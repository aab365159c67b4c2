"""Making job cards for works orders, splitting one where parts go ahead, joining two that travel together."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from production.orders.models import NumberSeries
from production.works.card_models import CardLine, JobCard
from production.works.first_process import Made, made_items
from production.works.models import WorksOperation, WorksOrder

SERIES = "job-cards"
AT_ONCE = 500
State = JobCard.State
# Laser parts travel sheet by sheet, counted at the laser; they get no card.
WITHOUT_CARDS = ("laser",)


@transaction.atomic
def make_cards(*, works_orders: Collection[int]) -> int:
    """One card for each open operation of these works orders that has none yet. Says how many were made.

    Safe to repeat. A constant number of queries, and rows in bulk.
    """
    # The rows are the lock: two who ask for the same cards get one set.
    list(WorksOrder.objects.select_for_update().filter(pk__in=works_orders).order_by("pk"))
    operations = list(
        WorksOperation.objects.filter(
            works_order__in=works_orders,
            state__in=[WorksOperation.State.WAITING, WorksOperation.State.BEGUN],
            card_lines__isnull=True,
        )
        .exclude(process__code__in=WITHOUT_CARDS)
        .select_related("process", "works_order__order")
        .order_by("works_order__number", "sequence")
    )
    made = made_items(_bill(one) for one in operations)
    cards = [
        JobCard(
            number=number,
            process=one.process,
            state=State.BEGUN if one.state == WorksOperation.State.BEGUN else State.WAITING,
            began_at=one.began_at,
        )
        for number, one in zip(take_card_numbers(len(operations)), operations, strict=True)
    ]
    JobCard.objects.bulk_create(cards, batch_size=AT_ONCE)
    CardLine.objects.bulk_create(
        [
            CardLine(card=card, operation=operation, item_id=item_id, pieces=pieces)
            for card, operation in zip(cards, operations, strict=True)
            for item_id, pieces in _pieces(operation, made.get(_bill(operation), {}))
        ],
        batch_size=AT_ONCE,
    )
    return len(cards)


@transaction.atomic
def split_card(*, card: JobCard, take: Mapping[int, Decimal], by: User) -> JobCard:
    """Put some of a card's pieces on a new card of the same process, so that they can go ahead.

    `take` is pieces by line. The new card waits; the first keeps its state.

    Raises:
        ProblemError: nothing or everything is taken, more than the card holds, or the card is not open.
    """
    card = locked_card(card)
    _refuse_unless_open(card, "split")
    lines = {line.pk: line for line in card.lines.select_related("item")}
    wanted = {pk: pieces for pk, pieces in take.items() if pieces > 0}
    _refuse_odd_split(card, lines, wanted)
    fresh = JobCard.objects.create(
        number=take_card_numbers(1)[0],
        process=card.process,
        kind=card.kind,
        follows=card,
        reason=card.reason,
    )
    for pk, pieces in wanted.items():
        line = lines[pk]
        CardLine.objects.create(card=fresh, operation_id=line.operation_id, item=line.item, pieces=pieces)
        if pieces == line.pieces:
            line.delete()
        else:
            line.pieces -= pieces
            line.save(update_fields=["pieces"])
    return fresh


@transaction.atomic
def join_cards(*, card: JobCard, other: JobCard, by: User) -> JobCard:
    """The parts of `other` travel with `card` from now on; `other` is of no more use. A repeat changes nothing.

    Raises:
        ProblemError: they are of different processes or kinds, one card is begun and the other not, or not open.
    """
    first, second = sorted((card, other), key=lambda one: one.pk)
    locked = {one.pk: one for one in (locked_card(first), locked_card(second))}
    card, other = locked[card.pk], locked[other.pk]
    if other.state == State.JOINED and other.follows_id == card.pk:
        return card
    _refuse_odd_join(card, other)
    kept = {(line.operation_id, line.item_id): line for line in card.lines.all()}
    for line in other.lines.all():
        same = kept.get((line.operation_id, line.item_id))
        if same is None:
            CardLine.objects.create(
                card=card, operation_id=line.operation_id, item_id=line.item_id, pieces=line.pieces
            )
        else:
            same.pieces += line.pieces
            same.save(update_fields=["pieces"])
    other.state, other.follows = State.JOINED, card
    other.save(update_fields=["state", "follows"])
    return card


def take_card_numbers(count: int) -> list[str]:
    """The next `count` numbers of cards; the series stays locked until the caller's transaction ends."""
    series, _ = NumberSeries.objects.select_for_update().get_or_create(code=SERIES)
    first = series.last + 1
    series.last += count
    series.save(update_fields=["last"])
    return [f"C{number:05d}" for number in range(first, series.last + 1)]


def locked_card(card: JobCard) -> JobCard:
    """The card as it is now, its row locked."""
    return JobCard.objects.select_for_update(of=("self",)).select_related("process").get(pk=card.pk)


def _bill(operation: WorksOperation) -> int:
    order = operation.works_order.order
    return (order.bill_id or 0) if order else 0


def _pieces(operation: WorksOperation, made: Mapping[int, Made]) -> Sequence[tuple[int, Decimal]]:
    """What goes through the process, by item; where the bill names nothing, the trailer itself."""
    code = operation.process.code
    rows = [(one.item_id, one.quantity) for one in made.values() if code in one.processes]
    works = operation.works_order
    return sorted(rows) or [(works.item_id, works.quantity)]


def _refuse_unless_open(card: JobCard, doing: str) -> None:
    if not card.is_open:
        raise ProblemError(
            Problem(
                f"Card {card.number} is {card.get_state_display()}; it cannot be {doing}",
                card.number,
                "Look at the open cards of its order.",
            )
        )


def _refuse_odd_split(card: JobCard, lines: Mapping[int, CardLine], wanted: Mapping[int, Decimal]) -> None:
    problems = [
        Problem(
            f"{format_quantity(pieces)} of {lines[pk].item.code} cannot be taken"
            if pk in lines
            else "A line of another card was named",
            card.number,
            f"The card holds {format_quantity(lines[pk].pieces)}, in whole pieces."
            if pk in lines
            else "Load the page again.",
        )
        for pk, pieces in wanted.items()
        if pk not in lines or pieces > lines[pk].pieces or pieces != pieces.to_integral_value()
    ]
    left = defaultdict(Decimal, {pk: line.pieces for pk, line in lines.items()})
    for pk, pieces in wanted.items():
        left[pk] -= pieces
    if not problems and (not wanted or not any(pieces > 0 for pieces in left.values())):
        problems = [
            Problem(
                "Nothing is split off" if not wanted else "Everything would go on the new card",
                card.number,
                "Say how many pieces go ahead; at least one goes and at least one stays.",
            )
        ]
    if problems:
        raise ProblemError(*problems)


def _refuse_odd_join(card: JobCard, other: JobCard) -> None:
    for one in (card, other):
        _refuse_unless_open(one, "joined")
    reasons: Iterable[tuple[bool, str]] = (
        (card.pk == other.pk, "A card cannot be joined to itself"),
        (
            card.process_id != other.process_id,
            f"{other.number} is for {other.process.name}, not this station",
        ),
        (card.kind != other.kind, "A job and a rework are not joined: their counts mean different things"),
        (other.state == State.BEGUN, f"{other.number} is begun; the time on it belongs to its own parts"),
    )
    for is_so, words in reasons:
        if is_so:
            raise ProblemError(
                Problem(words, f"{card.number} and {other.number}", "Choose a waiting card of the same kind.")
            )
