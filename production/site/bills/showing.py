"""What the pages of bills show: a bill with its lines, what differs, where an item is used."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Sum

from bom.items.models import Item
from bom.structure.differing import QuantityChange, quantity_changes
from bom.structure.expansion import BillLine as Line
from bom.structure.models import BillLine, Revision
from bom.structure.where_used import Above, Usage
from production.orders.models import FrozenTotal, Order


@dataclass(frozen=True)
class UseRow:
    """One place above, in reading order: how deep, how many of the item by this way, and the line that brings it."""

    depth: int
    code: str
    name: str
    quantity: Decimal | None
    usage: Usage
    is_model: bool


@dataclass(frozen=True)
class ChangeRow:
    """A part of which more or fewer are wanted, with what its difference is worth at its standard cost."""

    item: Item
    change: QuantityChange
    worth: Decimal


def plain_lines(revision: Revision) -> list[Line]:
    """A revision's lines as plain data. One query."""
    rows = revision.lines.order_by("position").values_list(
        "position", "component__code", "family__code", "colour_of", "hand_of", "quantity", "condition"
    )
    return [Line(*row) for row in rows]


def shown_lines(revision: Revision) -> list[BillLine]:
    """A revision's lines with what they bring. One query."""
    return list(revision.lines.select_related("component", "family").order_by("position"))


def use_rows(ways: Iterable[Above], names: Mapping[str, str], models: Mapping[str, str]) -> list[UseRow]:
    """Every way up, each place under the one it is reached from."""
    rows: list[UseRow] = []

    def walk(found: Iterable[Above], depth: int) -> None:
        for one in found:
            rows.append(
                UseRow(depth, one.item, names.get(one.item, ""), one.quantity, one.usage, one.item in models)
            )
            walk(one.above, depth + 1)

    walk(ways, 0)
    return rows


def orders_needing(item: Item) -> list[tuple[str, str, Decimal]]:
    """Open orders whose frozen bill holds the item: number, model, how many. One query."""
    rows = FrozenTotal.objects.filter(item=item, bill__orders__state__in=Order.OPEN).order_by(
        "bill__orders__number"
    )
    return list(rows.values_list("bill__orders__number", "bill__orders__model__code", "quantity"))


def totals_of(order: Order) -> dict[str, Decimal]:
    """How many of each item the order's frozen bill holds. One query."""
    return dict(
        FrozenTotal.objects.filter(bill=order.bill_id)
        .values("item__code")
        .annotate(all=Sum("quantity"))
        .values_list("item__code", "all")
    )


def change_rows(before: Mapping[str, Decimal], after: Mapping[str, Decimal]) -> list[ChangeRow]:
    """What differs, with the items. One query."""
    changes = quantity_changes(before, after)
    items = Item.objects.in_bulk([one.code for one in changes], field_name="code")
    return [
        ChangeRow(items[one.code], one, one.more * items[one.code].standard_cost)
        for one in changes
        if one.code in items
    ]


def worth_of(rows: Sequence[ChangeRow]) -> Decimal:
    """What the bought parts and raw material among the changes cost more; made ones stand in it by their parts."""
    return sum((row.worth for row in rows if not row.item.is_made), Decimal(0))
