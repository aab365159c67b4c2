"""Sending goods back to the supplier, from a shelf or from hold."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier, SupplierReturn
from inventory.buying.ordering import close_when_complete
from inventory.buying.receiving import SUPPLIER
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.models import Location, Lot, Posting, ReasonCode
from inventory.stock.queries import place
from inventory.stores.handling import carry, refuse_no_reason, refuse_other_kinds
from inventory.stores.reasons import said

KEY = "sent-back"


@dataclass(frozen=True)
class Parcel:
    """What goes back: how much of an item (in its stock unit), from where, of which lot."""

    item: Item
    quantity: Decimal
    source: Location
    lot: Lot | None = None


@transaction.atomic
def send_back(
    *,
    parcel: Parcel,
    supplier: Supplier,
    by: User | None,
    key: str,
    code: ReasonCode | None = None,
    remark: str = "",
    line: PurchaseOrderLine | None = None,
    is_replaced: bool = False,
) -> Posting:
    """Goods go back to the supplier; say why. Where others are to come in their place the line is open again.

    Raises:
        ProblemError: no reason, another supplier's line, more than came on it, or too little lies there.
    """
    done = SupplierReturn.objects.filter(posting__key=key).select_related("posting").first()
    if done is not None:
        return done.posting
    if parcel.source.kind != Location.Kind.HOLD:
        refuse_other_kinds(parcel.source)
    words = said(code, remark)
    refuse_no_reason(words, "Choose why, or say it in your own words.")
    quantity = parcel.quantity.quantize(PLACES) if parcel.quantity.is_finite() else parcel.quantity
    locked = _locked(line, supplier, parcel.item, quantity)
    if is_replaced and locked is None:
        raise ProblemError(
            Problem(
                "Nothing says on which order others are to come", "line", "Choose the purchase order's line."
            )
        )
    posting = carry(
        parcel.item,
        quantity,
        parcel.source,
        place(SUPPLIER),
        parcel.lot,
        Posting.Kind.SEND_BACK,
        by,
        key,
        words,
        code,
    )
    SupplierReturn.objects.create(
        supplier=supplier, line=locked, posting=posting, quantity=quantity, is_replaced=is_replaced
    )
    if locked is not None and is_replaced:
        _reopen(locked, quantity)
    return posting


@transaction.atomic
def take_back_return(*, posting: Posting, by: User | None, reason: str) -> Posting:
    """Goods were not sent after all: the posting is reversed and the line is as it was."""
    row = SupplierReturn.objects.select_related("line__order").get(posting=posting)
    if row.line is not None:
        PurchaseOrder.objects.select_for_update().get(pk=row.line.order_id)
    mirror = ledger.reverse(posting=posting, by=by, reason=reason)
    if row.line is not None and row.is_replaced:
        line = PurchaseOrderLine.objects.select_related("order").get(pk=row.line.pk)
        line.received += row.quantity
        line.save(update_fields=["received"])
        if line.order.state == PurchaseOrder.State.RELEASED:
            close_when_complete(line.order)
    return mirror


def is_return(posting: Posting) -> bool:
    return posting.kind == Posting.Kind.SEND_BACK and SupplierReturn.objects.filter(posting=posting).exists()


def _locked(
    line: PurchaseOrderLine | None, supplier: Supplier, item: Item, quantity: Decimal
) -> PurchaseOrderLine | None:
    if line is None:
        return None
    PurchaseOrder.objects.select_for_update().get(pk=line.order_id)
    found = PurchaseOrderLine.objects.select_related("order", "item").get(pk=line.pk)
    where = f"{found.order.number}, line {found.position}"
    if found.order.supplier_id != supplier.pk or found.item_id != item.pk:
        raise ProblemError(
            Problem(f"This line is not {item.code} from {supplier}", where, "Choose the line it came on.")
        )
    if quantity.is_finite() and quantity > found.received:
        raise ProblemError(
            Problem(
                f"{found.received.normalize():f} came on this line and {quantity.normalize():f} are to go back",
                where,
                "Send no more back than came, or send the rest back on its own line.",
            )
        )
    return found


def _reopen(line: PurchaseOrderLine, quantity: Decimal) -> None:
    """So much is to come again: the line waits for it, and so does its order."""
    line.received -= quantity
    line.is_closed = False
    line.save(update_fields=["received", "is_closed"])
    if line.order.state == PurchaseOrder.State.DONE:
        line.order.state = PurchaseOrder.State.RELEASED
        line.order.save(update_fields=["state"])
