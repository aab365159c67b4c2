"""Goods-in: what came against a purchase line goes on a shelf, by the ledger."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.models import BuyingRules, PurchaseOrder, PurchaseOrderLine, Receipt, Supplier
from inventory.buying.ordering import close_when_complete
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.ledger import Line
from inventory.stock.models import Location, Lot, Posting
from inventory.stock.queries import place

SUPPLIER = "SUPPLIER"


@dataclass(frozen=True)
class Delivery:
    """What came: how much (in the stock unit), where it was put, and its lots.

    `lot_code` is needed for items tracked by lot or by serial number; several serial numbers are separated by
    spaces, commas or lines. `over_agreed` says with whom it was agreed to keep more than the supplier's tolerance
    allows; empty, such a delivery is refused. `is_last` closes the line: the rest will not come.
    """

    line: PurchaseOrderLine
    quantity: Decimal
    location: Location
    key: str
    lot_code: str = ""
    happened_at: datetime | None = None
    over_agreed: str = ""
    is_last: bool = False


def receive_line(
    *,
    line: PurchaseOrderLine,
    quantity: Decimal,
    location: Location,
    by: User | None,
    lot_code: str = "",
    key: str,
    happened_at: datetime | None = None,
    over_agreed: str = "",
    is_last: bool = False,
) -> Posting:
    """Book a delivery in. Part deliveries leave the rest to come; a little more than ordered is taken and said so.

    A repeat of the key returns the first posting. `posting.reason` says what was remarkable.

    Raises:
        ProblemError: the order is not released, the line is closed, the place is neither shelf nor hold, more came
            than the supplier's tolerance allows and nobody agreed to it, or a lot or serial number is missing,
            doubled or not needed.
    """
    return receive(
        delivery=Delivery(
            line, quantity, location, key, lot_code.strip(), happened_at, over_agreed.strip(), is_last
        ),
        by=by,
    )


@transaction.atomic
def receive(*, delivery: Delivery, by: User | None) -> Posting:
    """`receive_line` for a delivery already gathered in one value."""
    orders = PurchaseOrder.objects.select_for_update(of=("self",)).select_related("supplier")
    order = orders.get(pk=delivery.line.order_id)
    line = PurchaseOrderLine.objects.select_related("item").get(pk=delivery.line.pk)
    before = Receipt.objects.filter(posting__key=delivery.key).select_related("posting").first()
    if before is not None:
        return _same(before, delivery)
    quantity = _acceptable(delivery, order, line)
    posting = ledger.post(
        key=delivery.key,
        kind=Posting.Kind.RECEIPT,
        lines=_lines(delivery, line.item, quantity),
        by=by,
        happened_at=delivery.happened_at,
        reason=_remark(order, line, quantity, delivery.over_agreed),
    )
    Receipt.objects.create(line=line, posting=posting, quantity=quantity)
    line.received += quantity
    line.is_closed = line.is_closed or delivery.is_last
    line.save(update_fields=["received", "is_closed"])
    close_when_complete(order)
    return posting


@transaction.atomic
def take_back(*, receipt: Receipt, by: User | None, reason: str) -> Posting:
    """A delivery booked by mistake: its posting is reversed and the line is open again for so much.

    Raises:
        ProblemError: already taken back, no reason, or the goods have left the shelf.
    """
    order = PurchaseOrder.objects.select_for_update().get(pk=receipt.line.order_id)
    line = PurchaseOrderLine.objects.get(pk=receipt.line_id)
    mirror = ledger.reverse(posting=receipt.posting, by=by, reason=reason)
    line.received -= receipt.quantity
    line.save(update_fields=["received"])
    if order.state == PurchaseOrder.State.DONE and not line.is_closed:
        order.state = PurchaseOrder.State.RELEASED
        order.save(update_fields=["state"])
    return mirror


def is_receipt(posting: Posting) -> bool:
    return posting.kind == Posting.Kind.RECEIPT and Receipt.objects.filter(posting=posting).exists()


def take_back_posting(*, posting: Posting, by: User | None, reason: str) -> Posting:
    """`take_back` for the posting of a delivery."""
    receipt = Receipt.objects.select_related("line", "posting").get(posting=posting)
    return take_back(receipt=receipt, by=by, reason=reason)


def _same(receipt: Receipt, delivery: Delivery) -> Posting:
    if receipt.line_id != delivery.line.pk or receipt.quantity != delivery.quantity.quantize(PLACES):
        raise ProblemError(
            Problem(
                "This form has already booked another delivery",
                delivery.line.item.code,
                "Load the page again and enter what came now.",
            )
        )
    return receipt.posting


def _acceptable(delivery: Delivery, order: PurchaseOrder, line: PurchaseOrderLine) -> Decimal:
    where = f"{order.number}, line {line.position}"
    if order.state != PurchaseOrder.State.RELEASED:
        raise ProblemError(
            Problem(
                f"The purchase order is {order.get_state_display()}; nothing can be booked in on it",
                where,
                "Release it first, or book on another order.",
            )
        )
    if line.is_closed:
        raise ProblemError(
            Problem("The line is closed; no more was to come", where, "Ask whoever closed it.")
        )
    if not delivery.quantity.is_finite() or delivery.quantity.quantize(PLACES) <= 0:
        raise ProblemError(
            Problem(f"{delivery.quantity} of {line.item.code} cannot come in", where, "Write how much came.")
        )
    if delivery.location.kind not in (Location.Kind.SHELF, Location.Kind.HOLD):
        raise ProblemError(
            Problem(
                f"{delivery.location.code} is not a shelf", where, "Choose the shelf it was put on, or hold."
            )
        )
    quantity = delivery.quantity.quantize(PLACES)
    if not delivery.over_agreed:
        _refuse_far_over(order, line, quantity, where)
    return quantity


def tolerance(supplier: Supplier) -> Decimal:
    """How many percent more than ordered this supplier may bring: his own term, else that of the house."""
    own = supplier.over_percent
    return BuyingRules.current().over_percent if own is None else own


def most_taken(line: PurchaseOrderLine, over_percent: Decimal) -> Decimal:
    """How much may come in on a line in all without asking: what was ordered and the tolerance in percent."""
    return (line.quantity * (1 + over_percent / 100)).quantize(PLACES)


def _refuse_far_over(order: PurchaseOrder, line: PurchaseOrderLine, quantity: Decimal, where: str) -> None:
    percent = tolerance(order.supplier)
    most = most_taken(line, percent)
    together = line.received + quantity
    if together > most:
        raise ProblemError(
            Problem(
                f"With these {together.normalize():f} of {line.item.code} have come, {line.quantity.normalize():f} "
                f"were ordered, and {order.supplier} may bring {percent.normalize():f} % more "
                f"({most.normalize():f})",
                where,
                "Book in what was ordered and leave the rest on the lorry, or say with whom it was agreed to "
                "keep it.",
            )
        )


def _remark(order: PurchaseOrder, line: PurchaseOrderLine, quantity: Decimal, agreed: str) -> str:
    over = line.received + quantity - line.quantity
    text = f"{order.number} line {line.position}"
    if over <= 0:
        return text
    more = f"{text}; {over.normalize():f} more than ordered"
    return f"{more}, agreed with {agreed}"[:200] if agreed else more


def _lines(delivery: Delivery, item: Item, quantity: Decimal) -> list[Line]:
    supplier = place(SUPPLIER)
    lots = _lots(delivery, item, quantity)
    each = Decimal(1) if len(lots) > 1 else quantity
    return [
        line
        for lot in lots
        for line in (
            Line(item.pk, supplier.pk, -each, lot.pk if lot else None),
            Line(item.pk, delivery.location.pk, each, lot.pk if lot else None),
        )
    ]


def _lots(delivery: Delivery, item: Item, quantity: Decimal) -> list[Lot | None]:
    """One lot for lot-tracked items, one for each piece of serial-numbered ones, else none."""
    if item.tracking == Item.Tracking.SERIAL:
        return [_lot(item, code, Lot.Kind.SERIAL) for code in _serials(delivery.lot_code, item, quantity)]
    if item.tracking == Item.Tracking.LOT:
        if not delivery.lot_code:
            raise ProblemError(
                Problem(
                    f"{item.code} is kept by lot or cast and none was given", "lot", "Read it off the label."
                )
            )
        is_steel = item.kind in (Item.Kind.SHEET, Item.Kind.SECTION)
        return [_lot(item, delivery.lot_code, Lot.Kind.CAST if is_steel else Lot.Kind.LOT)]
    if delivery.lot_code:
        raise ProblemError(
            Problem(f"{item.code} is counted only; it has no lots", "lot", "Leave the lot empty.")
        )
    return [None]


def _serials(text: str, item: Item, quantity: Decimal) -> list[str]:
    codes = [code for code in re.split(r"[\s,;]+", text) if code]
    if quantity != quantity.to_integral_value() or len(codes) != quantity:
        raise ProblemError(
            Problem(
                f"{quantity.normalize():f} of {item.code} came and {len(codes)} serial numbers were given",
                "serial numbers",
                "Give one for each piece, separated by spaces or commas.",
            )
        )
    doubled = sorted({code for code in codes if codes.count(code) > 1})
    if doubled:
        raise ProblemError(
            Problem(f"Serial number {doubled[0]} is given twice", "serial numbers", "Read the plates again.")
        )
    known = Lot.objects.filter(item=item, code__in=codes, balances__quantity__gt=0).values_list(
        "code", flat=True
    )
    if known:
        raise ProblemError(
            Problem(
                f"Serial number {sorted(known)[0]} of {item.code} is already here",
                "serial numbers",
                "Read the plate again.",
            )
        )
    return codes


def _lot(item: Item, code: str, kind: Lot.Kind) -> Lot:
    if len(code) > 60:
        raise ProblemError(Problem(f"The lot {code[:20]}… is too long", "lot", "Use at most 60 characters."))
    cast = code if kind == Lot.Kind.CAST else ""
    lot, _ = Lot.objects.get_or_create(
        item=item, code=code, defaults={"kind": kind, "cast": cast, "received_on": timezone.localdate()}
    )
    return lot
