"""The netting's answer as rows of a plan: suggestions, which supply serves which order, and dated shortages."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from production.planning.models import Peg, Plan, Shortage, Suggestion
from production.planning.needs import BUFFER_DAYS, Needs
from production.planning.netting import data
from production.planning.netting.plan import NetPlan

ROWS_AT_ONCE = 1000
PLACES = Decimal("0.0001")
SOURCES: Mapping[data.SupplyKind, Peg.Source] = {
    data.SupplyKind.STOCK: Peg.Source.SHELF,
    data.SupplyKind.RECEIPT: Peg.Source.RECEIPT,
    data.SupplyKind.PLANNED: Peg.Source.SUGGESTION,
}


@dataclass
class _Merged:
    """Planned supplies of one item that begin together, and become one suggestion."""

    item: str
    make: bool
    begin: int
    needed: int
    past_due: int
    quantity: Decimal = Decimal(0)
    numbers: list[str] = field(default_factory=list)


def store_parts(plan: Plan, needs: Needs, net: NetPlan) -> None:
    """Write suggestions, pegs and shortages of a plan. Call inside a transaction."""
    merged = _merge(needs, net)
    suggestions = Suggestion.objects.bulk_create(
        [_suggestion(plan, number, one, needs) for number, one in enumerate(merged, start=1)],
        batch_size=ROWS_AT_ONCE,
    )
    by_number = {
        number: suggestion
        for one, suggestion in zip(merged, suggestions, strict=True)
        for number in one.numbers
    }
    Peg.objects.bulk_create(_pegs(plan, needs, net.pegs, by_number), batch_size=ROWS_AT_ONCE)
    Shortage.objects.bulk_create(_shortages(plan, needs, net.shortages, by_number), batch_size=ROWS_AT_ONCE)


def _merge(needs: Needs, net: NetPlan) -> list[_Merged]:
    """What is bought on one day is one suggestion; so is what is made of an item in one week.

    The trailers themselves are left out: their works orders stand already.
    """
    tops = {order.model.item.code for order in needs.orders.values()}
    found: dict[tuple[str, int], _Merged] = {}
    for supply in net.supplies:
        if supply.item in tops:
            continue
        begin = max(supply.release_day, needs.today)
        # Ordinals begin on a Monday, so whole sevens are calendar weeks.
        key = (supply.item, (begin - 1) // 7 if supply.make else begin)
        one = found.setdefault(
            key, _Merged(supply.item, supply.make, begin, supply.due_day, supply.past_due_days)
        )
        one.begin, one.needed = min(one.begin, begin), min(one.needed, supply.due_day)
        one.past_due = max(one.past_due, supply.past_due_days)
        one.quantity += supply.quantity
        one.numbers.append(str(supply.number))
    return sorted(found.values(), key=lambda one: (one.begin, one.needed, one.item))


def _suggestion(plan: Plan, number: int, one: _Merged, needs: Needs) -> Suggestion:
    return Suggestion(
        plan=plan,
        number=number,
        item=needs.items[one.item],
        kind=Suggestion.Kind.MAKE if one.make else Suggestion.Kind.BUY,
        quantity=one.quantity.quantize(PLACES),
        begin_on=date.fromordinal(one.begin),
        needed_on=date.fromordinal(one.needed - _late(one)),
        days_past=max(0, needs.days.between(needs.today - one.past_due, needs.today) - BUFFER_DAYS),
    )


def _late(one: _Merged) -> int:
    """A lot that cannot be there in time is due when it can be there; it was needed that much earlier."""
    return one.past_due


def _pegs(
    plan: Plan, needs: Needs, pegs: Iterable[data.Peg], suggestions: Mapping[str, Suggestion]
) -> list[Peg]:
    """One row for each order, item and supply."""
    found: dict[tuple[str, str, str, str], Peg] = {}
    for peg in pegs:
        # What an order asks for without a parent is its trailer, or a substitute it takes beside its bill.
        if not peg.order or (not peg.parent and peg.item == needs.orders[peg.order].model.item.code):
            continue
        key = (peg.order, peg.item, peg.kind, peg.reference)
        row = found.get(key)
        needed = date.fromordinal(needs.stops_on(peg.needed_day))
        there = date.fromordinal(peg.available_day)
        if row is None:
            found[key] = Peg(
                plan=plan,
                order=needs.orders[peg.order],
                item=needs.items[peg.item],
                source=SOURCES[peg.kind],
                suggestion=suggestions[peg.reference] if peg.kind == data.SupplyKind.PLANNED else None,
                purchase_line_id=int(peg.reference) if peg.kind == data.SupplyKind.RECEIPT else None,
                quantity=peg.quantity,
                needed_on=needed,
                available_on=there,
            )
        else:
            row.quantity += peg.quantity
            row.needed_on, row.available_on = min(row.needed_on, needed), max(row.available_on, there)
    for row in found.values():
        row.quantity = row.quantity.quantize(PLACES)
    return list(found.values())


def _shortages(
    plan: Plan, needs: Needs, shortages: Iterable[data.Shortage], suggestions: Mapping[str, Suggestion]
) -> list[Shortage]:
    """What has to come from outside and comes too late; what the shop makes late is the schedule's to say."""
    found: dict[tuple[str, str], Shortage] = {}
    for short in sorted(shortages, key=lambda row: -row.available_day):
        item = needs.items[short.item]
        needed = needs.stops_on(short.needed_day)
        if item.is_made or not short.order or short.available_day <= needed:
            continue
        row = found.get((short.order, short.item))
        if row is None:
            is_planned = short.kind == data.SupplyKind.PLANNED
            found[short.order, short.item] = Shortage(
                plan=plan,
                order=needs.orders[short.order],
                item=item,
                quantity=short.quantity,
                needed_on=date.fromordinal(needed),
                available_on=date.fromordinal(short.available_day),
                days_short=0,
                suggestion=suggestions[short.reference] if is_planned else None,
                purchase_line_id=int(short.reference) if short.kind == data.SupplyKind.RECEIPT else None,
            )
        else:
            row.quantity += short.quantity
            row.needed_on = min(row.needed_on, date.fromordinal(needed))
    for row in found.values():
        row.quantity = row.quantity.quantize(PLACES)
        row.days_short = needs.days.between(row.needed_on.toordinal(), row.available_on.toordinal())
    return list(found.values())
