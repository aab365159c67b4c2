"""The frozen bill of an order as a tree: how many, where each part is, what it weighs and costs."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from django.db.models import OuterRef, Subquery, Sum
from django.urls import reverse

from bom.items.models import Item
from bom.kernel.quantities import format_quantity
from bom.structure.models import Operation
from bom.templatetags.workshop import day_text
from inventory.stock.models import Balance, Location, Movement, Reservation
from production.orders.models import FrozenLine, FrozenTotal, Order
from production.planning.models import Peg, Shortage
from production.works.models import WorksOperation

NOTHING = Decimal(0)
ANY_CODE = "any-code"
"""Stands for an item's code in the address of its card: the address is worked out once for all lines."""

SHOWN = ("code", "name", "kind", "unit", "mass_kg", "standard_cost")
"""The fields of an item that its line shows."""

RAW = (Item.Kind.SHEET, Item.Kind.SECTION)


@dataclass(frozen=True)
class Where:
    """Where a part is, in words; `is_short` when it will be missing."""

    words: str
    is_short: bool = False


@dataclass
class Row:
    """One line of the tree. `mass_kg` and `cost` are of the whole `quantity`; `working` says how they came about."""

    item: Item
    quantity: Decimal
    revision: str
    where: Where
    mass_kg: Decimal
    cost: Decimal
    mass_working: str
    cost_working: str
    card: str
    children: list["Row"] = field(default_factory=list)


@dataclass(frozen=True)
class Facts:
    """Everything known about the items of one bill, by item id."""

    totals: Mapping[int, Decimal]
    letters: Mapping[int, str]
    first: Mapping[int, str]
    states: Mapping[str, WorksOperation]
    shortages: Mapping[int, Shortage]
    pegs: Mapping[int, Sequence[Peg]]
    kept: Mapping[int, Decimal]
    picked: Mapping[int, Decimal]
    lying: Mapping[int, Sequence[tuple[str, Decimal]]]
    card: str


def bill_rows(order: Order, operations: Iterable[WorksOperation]) -> list[Row]:
    """The top rows of the order's bill. Six queries whatever the size of the bill."""
    if order.bill_id is None:
        return []
    lines = _lines(order.bill_id)
    below: dict[int, list[FrozenLine]] = defaultdict(list)
    for line in lines:
        below[line.parent_id].append(line)
    facts = _facts(order, operations, lines)
    top = order.model.item_id
    return [_row(line, Decimal(1), below, facts, order) for line in below[top]]


def _lines(bill_id: int) -> list[Any]:
    """The bill's lines, each with the total of its item, the revision used and the process that makes it."""
    total = FrozenTotal.objects.filter(bill=OuterRef("bill"), item=OuterRef("item"))
    first = Operation.objects.order_by("sequence").values("process__code")
    made = first.filter(revision__frozen_totals__bill=OuterRef("bill"))
    return list(
        FrozenLine.objects.filter(bill=bill_id)
        .select_related("item")
        .only("bill", "parent", "position", "quantity_per", *(f"item__{name}" for name in SHOWN))
        .annotate(
            wanted=Subquery(total.values("quantity")[:1]),
            letter=Subquery(total.values("revision__letter")[:1]),
            first=Subquery(made.filter(revision__item=OuterRef("item"))[:1]),
            parent_first=Subquery(made.filter(revision__item=OuterRef("parent"))[:1]),
        )
        .order_by("parent_id", "position")
    )


def _facts(order: Order, operations: Iterable[WorksOperation], lines: Sequence[Any]) -> Facts:
    pegs: dict[int, list[Peg]] = defaultdict(list)
    for peg in (
        order.pegs.filter(plan__is_current=True)
        .select_related("purchase_line__order", "suggestion")
        .order_by("available_on")
    ):
        pegs[peg.item_id].append(peg)
    shortages = order.shortages.filter(plan__is_current=True).select_related("purchase_line__order")
    makers = {line.item_id: line.first for line in lines} | {
        line.parent_id: line.parent_first for line in lines
    }
    return Facts(
        totals={line.item_id: line.wanted for line in lines},
        letters={line.item_id: line.letter or "" for line in lines},
        first={item: process for item, process in makers.items() if process},
        states={operation.process.code: operation for operation in operations},
        shortages={shortage.item_id: shortage for shortage in shortages},
        pegs=pegs,
        kept=dict(
            Reservation.objects.filter(purpose=order.purpose_id or 0).values_list("item_id", "quantity")
        ),
        picked=_picked(order),
        lying=_lying(line.item_id for line in lines),
        card=reverse("planning:card", args=[ANY_CODE]),
    )


def _picked(order: Order) -> dict[int, Decimal]:
    rows = Movement.objects.filter(posting__purpose=order.purpose, location__code="KIT").order_by()
    return dict(rows.values_list("item_id").annotate(Sum("quantity")))


def _lying(items: Iterable[int]) -> dict[int, list[tuple[str, Decimal]]]:
    found: dict[int, list[tuple[str, Decimal]]] = defaultdict(list)
    for item_id, code, quantity in (
        Balance.objects.filter(
            item_id__in=set(items),
            quantity__gt=0,
            location__kind__in=[Location.Kind.SHELF, Location.Kind.WORK, Location.Kind.OUTSIDE],
        )
        .order_by("location__walk_order", "location__code")
        .values_list("item_id", "location__code", "quantity")
    ):
        found[item_id].append((code, quantity))
    return found


def _row(
    line: FrozenLine, parents: Decimal, below: Mapping[int, list[FrozenLine]], facts: Facts, order: Order
) -> Row:
    item, quantity = line.item, parents * line.quantity_per
    children = [_row(one, quantity, below, facts, order) for one in below.get(item.pk, [])]
    mass, mass_working = _mass(item, quantity, children)
    cost, cost_working = _cost(item, quantity, children)
    return Row(
        item,
        quantity,
        facts.letters.get(item.pk, ""),
        _where(item, line.parent_id, facts, order),
        mass,
        cost,
        mass_working,
        cost_working,
        facts.card.replace(ANY_CODE, quote(item.code)),
        children,
    )


def _mass(item: Item, quantity: Decimal, children: Sequence[Row]) -> tuple[Decimal, str]:
    """kg of the whole quantity, and how it came about; the rule is that of `production.orders.masses`."""
    is_cut = item.mass_kg > 0 and all(child.item.kind in RAW for child in children)
    if children and not is_cut:
        working = f"Sum of its {len(children)} lines below, each quantity × mass of one."
        return sum((child.mass_kg for child in children), NOTHING), working
    one = format_quantity(item.mass_kg)
    return (
        quantity * item.mass_kg,
        f"{format_quantity(quantity)} {item.unit} × {one} kg of one, from the item's card.",
    )


def _cost(item: Item, quantity: Decimal, children: Sequence[Row]) -> tuple[Decimal, str]:
    """Standard cost of what is bought for it, without work, and how it came about."""
    if children:
        working = f"Sum of its {len(children)} lines below: bought parts and raw material, without work."
        return sum((child.cost for child in children), NOTHING), working
    one = format_quantity(item.standard_cost)
    working = f"{format_quantity(quantity)} {item.unit} × {one} standard cost of one, from the item's card."
    return quantity * item.standard_cost, working


def _where(item: Item, parent_id: int, facts: Facts, order: Order) -> Where:
    """The nearest truth first: used up, picked, short, kept, as the plan says, as it lies."""
    if order.state in (Order.State.DONE, Order.State.GONE):
        return Where("in the trailer")
    if (made := _done(parent_id, facts)) is not None:
        return Where(f"used {_day(made.finished_at)} in {made.process.name.lower()}")
    own = _done(item.pk, facts)
    if own is not None:
        return Where(f"made {_day(own.finished_at)}{_at(item.pk, facts)}")
    if order.state == Order.State.CANCELLED:
        return Where("not wanted any more")
    wanted = facts.totals.get(item.pk, NOTHING)
    if facts.picked.get(item.pk, NOTHING) >= wanted:
        return Where("in the kit")
    if shortage := facts.shortages.get(item.pk):
        return _short(shortage)
    if facts.kept.get(item.pk, NOTHING) >= wanted:
        return Where(f"on the shelf{_at(item.pk, facts)}, kept for this order")
    if pegs := facts.pegs.get(item.pk):
        return _pegged(pegs, item, facts)
    return _as_it_lies(item, wanted, facts)


def _done(item_id: int, facts: Facts) -> WorksOperation | None:
    """The operation that made the item, if it is done; a cut part is made when its order's laser work is done."""
    operation = facts.states.get(facts.first.get(item_id, ""))
    return operation if operation is not None and operation.state == WorksOperation.State.DONE else None


def _short(shortage: Shortage) -> Where:
    words = f"{format_quantity(shortage.quantity)} short, needed {_day(shortage.needed_on)}"
    if shortage.purchase_line is not None:
        line = shortage.purchase_line
        return Where(f"{words}, coming {_day(shortage.available_on)} with {line.order.number}", is_short=True)
    return Where(f"{words}, can be there {_day(shortage.available_on)} if begun now", is_short=True)


def _pegged(pegs: Sequence[Peg], item: Item, facts: Facts) -> Where:
    """What the plan has found for it: the latest supply says when all of it is there."""
    last = pegs[-1]
    if last.source == Peg.Source.SHELF:
        return Where(f"on the shelf{_at(item.pk, facts)}")
    if last.source == Peg.Source.RECEIPT and last.purchase_line is not None:
        return Where(f"coming {_day(last.available_on)} with {last.purchase_line.order.number}")
    word = "to be made" if item.is_made else "to be ordered"
    return Where(f"{word}, there {_day(last.available_on)}")


def _as_it_lies(item: Item, wanted: Decimal, facts: Facts) -> Where:
    """No released plan covers it: what is known is only what lies there now."""
    if facts.first.get(item.pk):
        return Where("to be made")
    there = sum((quantity for _, quantity in facts.lying.get(item.pk, [])), NOTHING)
    if there >= wanted:
        return Where(f"on the shelf{_at(item.pk, facts)}")
    return Where(
        f"{format_quantity(wanted - there)} short on the shelves; no plan covers it yet", is_short=True
    )


def _at(item_id: int, facts: Facts) -> str:
    places = list(dict.fromkeys(code for code, _ in facts.lying.get(item_id, [])))[:2]
    return f", {' and '.join(places)}" if places else ""


def _day(value: Any) -> str:
    return day_text(value).split(",")[0]
