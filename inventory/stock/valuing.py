"""What stock is worth on any day, by item and kind of place, with the working of each figure.

Worked out from the ledger in one pass of its rows, begun at the latest cost point that still holds (see
`CostPoint`). A posting belongs to the day on which it happened; a delivery's charges belong to the day it came. A
posting written down today and reversed tomorrow counts today and not tomorrow, so that a day's worth, once reported,
changes only by what is written down later as having happened before it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_EVEN, Decimal

from django.utils.timezone import localdate

from inventory.stock import cost_rows
from inventory.stock.costs import NOTHING, Basis, Books, Entry, Facts, Heap, Layer, Method, by_place
from inventory.stock.models import Posting

MONEY_PLACES = 2
PENNY = Decimal("0.01")


@dataclass(frozen=True)
class UnitCost:
    """What one stock unit of an item is worth, and by what: the method, or the standard where it never came."""

    cost: Decimal
    basis: str


@dataclass(frozen=True)
class Worth:
    """What there is of an item and what it is worth.

    `value` is worked in eight places; `values` is its rounding to money, shared by kind of place to the penny.
    `owed` left before its delivery was written down; it is worth nothing until that is.
    """

    item_id: int
    method: Method
    quantity: Decimal
    value: Decimal
    unit_cost: UnitCost
    quantities: dict[str, Decimal] = field(default_factory=dict)
    values: dict[str, Decimal] = field(default_factory=dict)
    owed: Decimal = NOTHING

    @property
    def money(self) -> Decimal:
        return rounded(self.value)


@dataclass(frozen=True)
class Working:
    """How an item's worth came about: what there was at first, what came and left since, the layers at the end."""

    since: datetime | None
    before: Worth
    entries: list[Entry]
    layers: list[Layer]
    worth: Worth


def unit_cost(item_ids: Iterable[int], on: date | None = None) -> dict[int, UnitCost]:
    """What one stock unit of each item is worth at the end of a day (without one, now), before any rounding.

    By the item's method: the average of what there is; where nothing is left the latest cost known; where nothing
    ever came the standard cost. At most fifteen queries, however many items.
    """
    return {item_id: worth.unit_cost for item_id, worth in stock_worth(item_ids, on).items()}


def stock_worth(item_ids: Iterable[int] | None = None, on: date | None = None) -> dict[int, Worth]:
    """The worth of these items (without any named, of all that ever moved) at the end of a day."""
    wanted = None if item_ids is None else set(item_ids)
    over = cost_rows.span(cost_rows.end_of(on))
    ledger, _ = _led(over, wanted)
    keys = ledger.heaps.keys() if wanted is None else wanted
    return {
        key: _worth(key, ledger.heaps.get(key, Heap()), ledger.facts[key])
        for key in keys
        if key in ledger.facts
    }


def working(item_id: int, *, on: date | None = None, since: date | None = None) -> Working:
    """The entries of an item from the beginning of `since` (without it, from its first) to the end of `on`."""
    first = cost_rows.end_of(since - timedelta(days=1)) if since else None
    over = cost_rows.span(cost_rows.end_of(on), since=first)
    if first is None:
        over = cost_rows.whole(over.until)
    needed = cost_rows.with_inputs({item_id}, over)
    ledger = cost_rows.books(over, needed)
    facts = ledger.facts[item_id]
    before = _worth(item_id, ledger.heaps.get(item_id, Heap()), facts)
    entries = []
    for entry in ledger.lead(cost_rows.events(over, needed)):
        if entry.item_id != item_id:
            continue
        if first is None or entry.at >= first:
            entries.append(entry)
        else:
            before = _worth(item_id, ledger.heap(item_id), facts)
    heap = ledger.heap(item_id)
    return Working(first, before, entries, list(heap.layers), _worth(item_id, heap, facts))


def posting_costs(posting_ids: Collection[int]) -> dict[int, list[Entry]]:
    """What each posting brought into the house or took out of it, and at what cost, by item.

    The cost of an issue to work, of a scrapping, of what went to a customer. Carrying about costs nothing and has
    no entry.
    """
    wanted = set(posting_ids)
    found: dict[int, list[Entry]] = {pk: [] for pk in wanted}
    rows = Posting.objects.filter(pk__in=wanted).order_by().values_list("happened_at", "movements__item_id")
    moved = set(rows)
    if not moved:
        return found
    moments = sorted(at for at, _ in moved)
    over = cost_rows.span(cost_rows.end_of(localdate(moments[-1])), since=moments[0])
    items = {item_id for _, item_id in moved}
    _, entries = _led(over, items)
    for entry in entries:
        if entry.posting_id in wanted:
            found[entry.posting_id].append(entry)
    return found


def rounded(value: Decimal) -> Decimal:
    """A value as money, half to even: the one rounding, done where a figure is shown or exported."""
    return value.quantize(PENNY, ROUND_HALF_EVEN)


def _led(over: cost_rows.Span, wanted: set[int] | None) -> tuple[Books, list[Entry]]:
    needed = None if wanted is None else cost_rows.with_inputs(wanted, over)
    ledger = cost_rows.books(over, needed)
    return ledger, list(ledger.lead(cost_rows.events(over, needed)))


def _worth(item_id: int, heap: Heap, facts: Facts) -> Worth:
    lying = {str(kind): heap.by_kind.get(kind, NOTHING) for kind in cost_rows.OURS}
    value = heap.value
    return Worth(
        item_id=item_id,
        method=facts.method,
        quantity=heap.quantity,
        value=value,
        unit_cost=_unit_cost(heap, facts),
        quantities={kind: quantity for kind, quantity in lying.items() if quantity},
        values=by_place(rounded(value), lying, MONEY_PLACES),
        owed=heap.owed,
    )


def _unit_cost(heap: Heap, facts: Facts) -> UnitCost:
    cost = heap.unit_cost
    if cost is None:
        return UnitCost(facts.standard_cost, Basis.STANDARD)
    named = "moving average" if facts.method == Method.AVERAGE else "first in, first out"
    return UnitCost(cost, named if heap.layers else Basis.KNOWN)
