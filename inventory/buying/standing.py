"""How an order stands, in one or two plain words; and what to look at on a draft before it goes out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, SupplierItem
from inventory.buying.ordering import breaks_of
from inventory.buying.outside_models import OutsideLine
from inventory.buying.pricing import next_break, unit_price

State = PurchaseOrder.State


def standing_text(order: PurchaseOrder, *, to_come: int, confirmed: int, begun: int) -> str:
    """*draft, waits for approval, approved, released, confirmed, begun, done* or *cancelled*.

    Args:
        order: the order.
        to_come: how many of its lines have something to come.
        confirmed: how many of those the supplier has confirmed.
        begun: on how many lines something has come.
    """
    if order.state == State.DRAFT and order.asked_at:
        return "approved" if order.approved_at else "waits for approval"
    if order.state == State.RELEASED and begun:
        return "begun"
    if order.state == State.RELEASED and to_come and confirmed == to_come:
        return "confirmed"
    return str(State(order.state).label)


def standing_of(
    order: PurchaseOrder, lines: Sequence[PurchaseOrderLine], away: Sequence[OutsideLine] = ()
) -> str:
    """`standing_text` for an order whose lines, of goods and of outside work, are at hand."""
    open_lines = [line for line in lines if not line.is_closed and line.quantity > line.received]
    still_away = [line for line in away if not line.is_closed]
    return standing_text(
        order,
        to_come=len(open_lines) + len(still_away),
        confirmed=sum(line.confirmed_on is not None for line in open_lines)
        + sum(line.confirmed_on is not None for line in still_away),
        begun=sum(line.received > 0 for line in lines) + sum(line.came_at is not None for line in away),
    )


@dataclass(frozen=True)
class Advice:
    """Of a draft's line: the price listed today, where it is another than the line's, and a larger quantity that
    costs no more money, with its price."""

    listed_price: Decimal | None
    more_quantity: Decimal | None
    more_price: Decimal | None


def advice(order: PurchaseOrder, lines: Sequence[PurchaseOrderLine]) -> dict[int, Advice]:
    """By line, where there is something to say. Two queries."""
    sold = {
        row.item_id: row
        for row in SupplierItem.objects.filter(
            supplier=order.supplier_id, item_id__in=[line.item_id for line in lines]
        )
    }
    breaks = breaks_of(sold.values())
    today = timezone.localdate()
    found: dict[int, Advice] = {}
    for line in lines:
        row = sold.get(line.item_id)
        if row is None:
            continue
        listed = unit_price(row.price, breaks[row.pk], quantity=line.quantity, day=today)
        more = next_break(row.price, breaks[row.pk], quantity=line.quantity, day=today)
        if more or listed != line.price:
            found[line.pk] = Advice(listed if listed != line.price else None, *(more or (None, None)))
    return found
