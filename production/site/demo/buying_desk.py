"""The buyer's desk: our address, limits, price breaks, promises and chases, and orders in every state."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.contrib.auth.models import Group
from django.utils import timezone

from bom.people.models import User
from inventory.buying import approving, ordering, receiving
from inventory.buying.models import (
    BuyingLimit,
    Chase,
    Confirmation,
    PurchaseOrder,
    PurchaseOrderLine,
    Supplier,
    SupplierItem,
    SupplierPrice,
)
from inventory.buying.paper_models import Letterhead, OrderPaper
from inventory.buying.papers.making import make_paper
from inventory.buying.queries import usual_place
from inventory.levels.arithmetic import after_working_days
from inventory.stock.models import Location
from production.planning.alert_models import DigestWish
from production.site.roles import MANAGER, OFFICE

# From so many packs on the price is so much lower. Invented.
_BREAKS = (("ROLLERS", 10, Decimal("0.92")), ("POWDER", 5, Decimal("0.95")), ("FIXINGS", 10, Decimal("0.90")))
_SILENT = ("FIXINGS", "GEAR")
_PAPERS_DRAWN = 3


def furnish_buying(
    coming: Sequence[PurchaseOrder],
    suppliers: Mapping[str, Supplier],
    works_name: str,
    today: date,
    by: User,
) -> None:
    """Everything beside the orders on their way, and what was said of those."""
    Letterhead.objects.create(
        name=works_name,
        address="Dyke End\nTiddersleigh Fen",
        telephone="00000 000000",
        email="buying@tiddersleigh.example",
        terms="Deliveries Monday to Friday, 7 to 15 h, by the east gate.",
    )
    BuyingLimit.objects.create(role=Group.objects.get(name=MANAGER), releases_up_to=5000)
    BuyingLimit.objects.create(role=Group.objects.get(name=OFFICE), releases_up_to=0)
    DigestWish.objects.create(role=Group.objects.get(name=MANAGER))
    _add_breaks(suppliers, today)
    silent = {suppliers[firm].pk for firm in _SILENT}
    _confirm([order for order in coming if order.supplier_id not in silent], by)
    _chase_what_is_late(today, by)
    _receive_half(coming, suppliers["ROLLERS"], by)
    _draw_papers(coming, by)
    _drafts(suppliers, today, by)
    for supplier in suppliers.values():
        supplier.address = f"{supplier.name}\nWharf Road\nTiddersleigh Fen"
        supplier.email = f"orders@{supplier.code.lower()}.example"
        supplier.save(update_fields=["address", "email"])


def _add_breaks(suppliers: Mapping[str, Supplier], today: date) -> None:
    rows = []
    for firm, packs, factor in _BREAKS:
        for sold in SupplierItem.objects.filter(supplier=suppliers[firm], is_preferred=True):
            price = (sold.price * factor).quantize(Decimal("0.0001"))
            begins = today - timedelta(days=120)
            rows.append(
                SupplierPrice(sold=sold, from_quantity=sold.pack * packs, price=price, valid_from=begins)
            )
    SupplierPrice.objects.bulk_create(rows)


def _confirm(orders: Sequence[PurchaseOrder], by: User) -> None:
    """As ordered, two working days after it went out. The demonstration writes the past; verbs write today."""
    lines = list(PurchaseOrderLine.objects.filter(order__in=orders).select_related("order").order_by("pk"))
    for line in lines:
        line.confirmed_on = line.due_on
    PurchaseOrderLine.objects.bulk_update(lines, ["confirmed_on"], batch_size=500)
    Confirmation.objects.bulk_create(
        Confirmation(
            line=line,
            key=f"demo:{line.pk}",
            promised_on=line.due_on,
            quantity=line.quantity,
            before_on=line.due_on,
            before_quantity=line.quantity,
            by=by,
            at=_noon(after_working_days(line.order.ordered_on or line.due_on, 2)),
        )
        for line in lines
    )


def _chase_what_is_late(today: date, by: User) -> None:
    late = PurchaseOrderLine.objects.filter(
        order__state=PurchaseOrder.State.RELEASED, due_on__lt=today, is_closed=False
    )
    answers = (
        "their galvaniser is behind; they ring back",
        "no answer, line engaged",
        "on the lorry, they say",
    )
    Chase.objects.bulk_create(
        Chase(
            line=line,
            key=f"demo:{line.pk}",
            by=by,
            at=_noon(today - timedelta(days=1)),
            answer=answers[number % len(answers)],
            again_on=today,
        )
        for number, line in enumerate(late.order_by("pk"))
    )


def _receive_half(coming: Sequence[PurchaseOrder], supplier: Supplier, by: User) -> None:
    """Half of the first line of a later order has come: an order that is begun."""
    order = next((one for one in reversed(coming) if one.supplier_id == supplier.pk), None)
    line = order.lines.select_related("item").order_by("position").first() if order else None
    shelf = usual_place(line.item) if line else None
    half = (line.quantity / 2).to_integral_value() if line else Decimal(0)
    if line is None or shelf is None or half <= 0 or line.item.tracking != "none":
        return
    receiving.receive_line(
        line=line, quantity=half, location=Location.objects.get(pk=shelf), by=by, key=f"demo:half:{line.pk}"
    )


def _draw_papers(coming: Sequence[PurchaseOrder], by: User) -> None:
    """The papers of some orders as they went out; taken by hand, so that no letter is written."""
    for order in coming[:_PAPERS_DRAWN]:
        paper = OrderPaper.objects.create(order=order, copy=1, key=f"demo:{order.pk}", asked_by=by)
        make_paper(paper.pk)


def _drafts(suppliers: Mapping[str, Supplier], today: date, by: User) -> None:
    """One that waits for approval, one short of the minimum, and one that was cancelled."""
    due_on = after_working_days(today, 45)
    dear = SupplierItem.objects.filter(supplier=suppliers["AXLES"]).order_by("-price", "pk")[:2]
    wants = [ordering.Want(sold.item_id, sold.supplier_id, Decimal(8), due_on) for sold in dear]
    for order in ordering.raise_orders(wants=wants, by=by):
        approving.ask_approval(order=order, by=by)
    for firm, cancelled in (("FIXINGS", False), ("LIGHTS", True)):
        sold = SupplierItem.objects.filter(supplier=suppliers[firm]).order_by("price", "pk").first()
        if sold is None:
            continue
        want = ordering.Want(sold.item_id, sold.supplier_id, sold.pack * 2, due_on)
        (order,) = ordering.raise_orders(wants=[want], by=by)
        if cancelled:
            ordering.cancel_order(order=order, by=by, reason="ordered by telephone already")


def _noon(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time(12)))
