"""What should be changed about supplies that are on their way, so that they come when they are needed.

From the netting's answer alone: what of each receipt is needed when. An open receipt is brought forward where an order
waits for it, pushed back where nothing needs it for a good while, cut down or cancelled where nothing needs it at all,
and split where part of it is wanted early and the rest is not. Where an order waits for one item and another may be
taken instead that lies free, that is said too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from production.planning.netting.data import NOTHING, Peg, Receipt, SupplyKind
from production.planning.netting.plan import NetPlan

TOLERANCE_DAYS = 5
"""A receipt that comes so many working days before it is needed is left alone: common practice, no source."""
SMALL_SHARE = Decimal("0.1")
"""Less than this share of a receipt is not worth splitting it for: common practice, no source."""


class ExceptionKind(StrEnum):
    """What to do."""

    FORWARD = "forward"
    BACK = "back"
    CANCEL = "cancel"
    SPLIT = "split"
    SUBSTITUTE = "substitute"


@dataclass(frozen=True)
class SupplyException:
    """Something to change: `quantity` of an item from `stands_day` to `wanted_day` (None: not wanted at all).

    `reference` is the receipt's ("" for a substitute, whose item is `instead`). `orders` wait for it, the one that
    waits longest first; `late_days` is how long that is, in working days. `money` is what lies in the quantity.
    """

    kind: ExceptionKind
    item: str
    quantity: Decimal
    reference: str
    stands_day: int
    wanted_day: int | None
    orders: tuple[str, ...]
    late_days: int
    money: Decimal
    instead: str = ""


def _days(first: int, last: int) -> int:
    return max(0, last - first)


def _same_day(day: int) -> int:
    return day


@dataclass(frozen=True)
class Means:
    """What the netting does not know: unit costs and substitutes by item; working days from one day to a later one
    (0 where it is not later); and the day on which work really stops for what was wanted on a day."""

    costs: Mapping[str, Decimal] = field(default_factory=dict)
    substitutes: Mapping[str, Sequence[str]] = field(default_factory=dict)
    days: Callable[[int, int], int] = _days
    stops_on: Callable[[int], int] = _same_day


def exceptions(net: NetPlan, means: Means) -> list[SupplyException]:
    """Everything to change, what makes orders late first, then by money."""
    taken: dict[str, list[Peg]] = defaultdict(list)
    for peg in net.pegs:
        if peg.kind == SupplyKind.RECEIPT:
            taken[peg.reference].append(peg)
    found = [one for receipt in net.receipts for one in _of_receipt(receipt, taken[receipt.reference], means)]
    found += _substitutes(net, means)
    return sorted(found, key=urgency)


def urgency(one: SupplyException) -> tuple[int, Decimal, str, str]:
    """Sorts what makes orders late longest first, then by money."""
    return (-one.late_days, -one.money, one.item, one.reference)


def _of_receipt(receipt: Receipt, pegs: Sequence[Peg], means: Means) -> Iterable[SupplyException]:
    """At most one for the part that is late, and one for the part that is early or not needed."""
    late = [peg for peg in pegs if means.stops_on(peg.needed_day) < receipt.day and peg.order]
    early = [peg for peg in pegs if means.days(receipt.day, peg.needed_day) > TOLERANCE_DAYS]
    spare = receipt.quantity - sum((peg.quantity for peg in pegs), NOTHING)
    if late:
        wanted = sum((peg.quantity for peg in late), NOTHING)
        rest_can_stay = receipt.quantity - wanted > SMALL_SHARE * receipt.quantity
        kind = ExceptionKind.SPLIT if rest_can_stay else ExceptionKind.FORWARD
        day = min(means.stops_on(peg.needed_day) for peg in late)
        yield _exception(kind, receipt, wanted if rest_can_stay else receipt.quantity, day, late, means)
        return
    idle = sum((peg.quantity for peg in early), NOTHING)
    if spare > SMALL_SHARE * receipt.quantity:
        yield _exception(ExceptionKind.CANCEL, receipt, spare, None, (), means)
    if idle <= SMALL_SHARE * receipt.quantity:
        return
    day = min(peg.needed_day for peg in early)
    is_whole = idle + max(spare, NOTHING) >= receipt.quantity * (1 - SMALL_SHARE)
    kind = ExceptionKind.BACK if is_whole else ExceptionKind.SPLIT
    yield _exception(kind, receipt, idle, day, (), means)


def _exception(
    kind: ExceptionKind,
    receipt: Receipt,
    quantity: Decimal,
    wanted_day: int | None,
    late: Sequence[Peg],
    means: Means,
) -> SupplyException:
    days: dict[str, int] = {}
    for peg in late:
        waits = means.days(means.stops_on(peg.needed_day), receipt.day)
        days[peg.order] = max(days.get(peg.order, 0), waits)
    orders = sorted(days, key=lambda order: (-days[order], order))
    money = quantity * means.costs.get(receipt.item, NOTHING)
    return SupplyException(
        kind,
        receipt.item,
        quantity,
        receipt.reference,
        receipt.day,
        wanted_day,
        tuple(orders),
        max(days.values(), default=0),
        money,
    )


def _substitutes(net: NetPlan, means: Means) -> Iterable[SupplyException]:
    """For each order that waits for an item with a substitute lying free, the first that has enough."""
    free = _free(net)
    for short in sorted(net.shortages, key=lambda row: (-row.days, row.order, row.item)):
        stops = means.stops_on(short.needed_day)
        if short.available_day <= stops:
            continue
        for other in means.substitutes.get(short.item, ()):
            if free.get(other, NOTHING) >= short.quantity:
                free[other] -= short.quantity
                yield SupplyException(
                    ExceptionKind.SUBSTITUTE,
                    short.item,
                    short.quantity,
                    "",
                    short.available_day,
                    stops,
                    (short.order,),
                    means.days(stops, short.available_day),
                    short.quantity * means.costs.get(short.item, NOTHING),
                    instead=other,
                )
                break


def _free(net: NetPlan) -> dict[str, Decimal]:
    """What lies on the shelf and serves nobody under this plan."""
    free = dict(net.on_hand)
    for peg in net.pegs:
        if peg.kind == SupplyKind.STOCK:
            free[peg.item] = free.get(peg.item, NOTHING) - peg.quantity
    return free
