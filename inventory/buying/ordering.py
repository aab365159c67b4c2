"""Purchase orders: raised from wants, released to the supplier, cancelled or closed."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import F, Max
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.limits import reach_of
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier, SupplierItem, SupplierPrice
from inventory.buying.pricing import Break, delivery_day, unit_price
from inventory.buying.queries import order_value
from inventory.levels.arithmetic import after_working_days, up_to_multiple
from inventory.stock.drafts import PLACES


@dataclass(frozen=True)
class Want:
    """So much of an item (in its stock unit) wanted by a day; without a supplier, the preferred one is taken."""

    item_id: int
    supplier_id: int | None
    quantity: Decimal
    due_on: date


@dataclass(frozen=True)
class Raised:
    """The orders drafted, by supplier's code, and for each want (in their order) the line that it stands on."""

    orders: list[PurchaseOrder]
    lines: list[PurchaseOrderLine]


def raise_orders(*, wants: Sequence[Want], by: User | None) -> list[PurchaseOrder]:
    """`raise_for` without its lines."""
    return raise_for(wants=wants, by=by).orders


@transaction.atomic
def raise_for(*, wants: Sequence[Want], by: User | None) -> Raised:
    """Draft one order for each supplier, a line for each item and due day, in whole packs at today's price.

    A supplier with a delivery weekday is asked for his round before the day wanted (see `pricing.delivery_day`).
    Wants of the same item, supplier and day are added before they are rounded up. Orders come in the order of
    the suppliers' codes.

    Raises:
        ProblemError: a want of nothing, or of what the supplier (or anybody) does not sell. Nothing is drafted.
    """
    chosen = _chosen(wants)
    suppliers = {sold.supplier_id: sold.supplier for sold in chosen}
    orders = {
        supplier.pk: new_order(supplier=supplier, by=by)
        for supplier in sorted(suppliers.values(), key=lambda supplier: supplier.code)
    }
    lines = _add(orders, wants, chosen)
    return Raised(list(orders.values()), lines)


@transaction.atomic
def add_wants(*, order: PurchaseOrder, wants: Sequence[Want], by: User | None) -> list[PurchaseOrderLine]:
    """Put wants on a draft of their supplier; the line of each, in their order.

    A want of an item and day that stands on the draft already is added to that line.

    Raises:
        ProblemError: it is no draft, or its supplier does not sell one of them. Nothing is added.
    """
    found = locked(order, PurchaseOrder.State.DRAFT, doing="added to")
    named = [Want(want.item_id, found.supplier_id, want.quantity, want.due_on) for want in wants]
    withdraw_approval(found)
    return _add({found.supplier_id: found}, named, _chosen(named))


def _add(
    orders: Mapping[int, PurchaseOrder], wants: Sequence[Want], chosen: Sequence[SupplierItem]
) -> list[PurchaseOrderLine]:
    """Lines for the wants on their suppliers' drafts, which the caller has locked or just made."""
    today = timezone.localdate()
    places = [(sold, _due_on(want.due_on, sold, today)) for want, sold in zip(wants, chosen, strict=True)]
    sums: dict[tuple[SupplierItem, date], Decimal] = defaultdict(Decimal)
    for want, key in zip(wants, places, strict=True):
        sums[key] += want.quantity
    lines: dict[tuple[SupplierItem, date], PurchaseOrderLine] = {}
    known, last = _known_lines(orders.values())
    breaks = breaks_of(chosen)
    for (sold, day), quantity in sorted(sums.items(), key=lambda row: (row[0][0].item.code, row[0][1])):
        order = orders[sold.supplier_id]
        line = known.get((order.pk, sold.item_id, day))
        if line is None:
            last[order.pk] += 1
            line = PurchaseOrderLine(
                order=order, position=last[order.pk], item=sold.item, quantity=Decimal(0), due_on=day
            )
        line.quantity = up_to_multiple(line.quantity + quantity, sold.pack)
        line.price = unit_price(sold.price, breaks[sold.pk], quantity=line.quantity, day=today)
        lines[sold, day] = line
    PurchaseOrderLine.objects.bulk_update([line for line in lines.values() if line.pk], ["quantity", "price"])
    PurchaseOrderLine.objects.bulk_create([line for line in lines.values() if not line.pk])
    return [lines[key] for key in places]


def _due_on(wanted: date, sold: SupplierItem, today: date) -> date:
    weekday = sold.supplier.delivery_weekday
    if weekday is None:
        return wanted
    return delivery_day(wanted, earliest=after_working_days(today, sold.lead_days), weekday=weekday)


def _known_lines(
    orders: Iterable[PurchaseOrder],
) -> tuple[dict[tuple[int, int, date], PurchaseOrderLine], defaultdict[int, int]]:
    """By order, item and day the line that stands there already; by order its last position."""
    known: dict[tuple[int, int, date], PurchaseOrderLine] = {}
    last: defaultdict[int, int] = defaultdict(int)
    for line in PurchaseOrderLine.objects.filter(order__in=[order.pk for order in orders]):
        known.setdefault((line.order_id, line.item_id, line.due_on), line)
        last[line.order_id] = max(last[line.order_id], line.position)
    return known, last


def breaks_of(sold: Iterable[SupplierItem]) -> dict[int, list[Break]]:
    """The price breaks of what suppliers sell, by the row's id. One query."""
    ids = {row.pk for row in sold}
    found: dict[int, list[Break]] = {pk: [] for pk in ids}
    for row in SupplierPrice.objects.filter(sold_id__in=ids):
        found[row.sold_id].append(Break(row.from_quantity, row.price, row.valid_from, row.valid_until))
    return found


@transaction.atomic
def new_order(*, supplier: Supplier, by: User | None) -> PurchaseOrder:
    """An empty draft to the supplier. Its number follows its row, so that no two orders share one."""
    order = PurchaseOrder.objects.create(number=uuid.uuid4().hex[:20], supplier=supplier, made_by=by)
    order.number = f"PO-{order.pk:05d}"
    order.save(update_fields=["number"])
    return order


@transaction.atomic
def add_line(
    *, order: PurchaseOrder, item: Item, quantity: Decimal, due_on: date, by: User | None
) -> PurchaseOrderLine:
    """Add an item to a draft, in whole packs at the supplier's price."""
    found = locked(order, PurchaseOrder.State.DRAFT, doing="added to")
    sold = _chosen([Want(item.pk, found.supplier_id, quantity, due_on)])[0]
    last = found.lines.aggregate(last=Max("position"))["last"] or 0
    packed = up_to_multiple(quantity, sold.pack)
    withdraw_approval(found)
    return PurchaseOrderLine.objects.create(
        order=found,
        position=last + 1,
        item=item,
        quantity=packed,
        price=unit_price(sold.price, breaks_of([sold])[sold.pk], quantity=packed, day=timezone.localdate()),
        due_on=due_on,
    )


@transaction.atomic
def change_line(
    *,
    line: PurchaseOrderLine,
    quantity: Decimal,
    due_on: date,
    by: User | None,
    price: Decimal | None = None,
) -> PurchaseOrderLine:
    """Change quantity and day of a line while its order is a draft; its price follows the supplier's breaks.

    `price` is one agreed for this order alone.
    """
    order = locked(line.order, PurchaseOrder.State.DRAFT, doing="changed")
    line.quantity = _above_zero(quantity, line.item.code)
    line.due_on = due_on
    line.price = _agreed(price, line.item.code) if price is not None else _price_now(line)
    line.save(update_fields=["quantity", "due_on", "price"])
    withdraw_approval(order)
    return line


def _agreed(price: Decimal, code: str) -> Decimal:
    if not price.is_finite() or price < 0:
        raise ProblemError(Problem(f"{price} is not a price for {code}", "", "Write zero or more."))
    return price.quantize(PLACES)


def _price_now(line: PurchaseOrderLine) -> Decimal:
    """Today's price of a line's quantity; what the supplier no longer lists keeps its price."""
    sold = SupplierItem.objects.filter(supplier=line.order.supplier_id, item=line.item_id).first()
    if sold is None:
        return line.price
    return unit_price(
        sold.price, breaks_of([sold])[sold.pk], quantity=line.quantity, day=timezone.localdate()
    )


@transaction.atomic
def remove_line(*, line: PurchaseOrderLine, by: User | None) -> None:
    """Take a line off a draft."""
    order = locked(line.order, PurchaseOrder.State.DRAFT, doing="changed")
    line.delete()
    withdraw_approval(order)


@transaction.atomic
def release_order(*, order: PurchaseOrder, by: User | None) -> PurchaseOrder:
    """The order goes to the supplier today; from now on it counts as on order.

    What was asked for and for when is kept with each line. `by` None is the system, which has no limit.

    Raises:
        ProblemError: it is not a draft, has no lines, or its value is above the person's limit and nobody else has
            approved it.
    """
    found = locked(order, PurchaseOrder.State.DRAFT, doing="released")
    refuse_without_lines(found)
    _refuse_above_limit(found, by)
    found.lines.update(asked_quantity=F("quantity"), wanted_on=F("due_on"))
    found.state = PurchaseOrder.State.RELEASED
    found.ordered_on = timezone.localdate()
    found.released_by = by
    found.save(update_fields=["state", "ordered_on", "released_by"])
    return found


def _refuse_above_limit(order: PurchaseOrder, by: User | None) -> None:
    value = order_value(order).value
    is_approved = order.approved_value is not None and value <= order.approved_value
    if by is None or is_approved or reach_of(by).may_release(value):
        return
    limit = reach_of(by).releases_up_to
    raise ProblemError(
        Problem(
            f"{value} is above your limit of {limit}",
            order.number,
            "Ask for an approval; another person has to give it.",
        )
    )


@transaction.atomic
def cancel_order(*, order: PurchaseOrder, by: User | None, reason: str = "") -> PurchaseOrder:
    """Nothing of the order is wanted any more. A draft needs no reason; what the supplier has been told does.

    Raises:
        ProblemError: it is done or cancelled, some of it has come, or the reason is missing.
    """
    found = locked(order, PurchaseOrder.State.DRAFT, PurchaseOrder.State.RELEASED, doing="cancelled")
    if found.outside_lines.exists():
        raise ProblemError(
            Problem(
                "Its load has left for outside work", found.number, "Count it back, or claim what is lost."
            )
        )
    if found.lines.filter(received__gt=0).exists():
        raise ProblemError(
            Problem(
                "Some of it has already come", found.number, "Close the lines that will not come instead."
            )
        )
    if found.state == PurchaseOrder.State.RELEASED and not reason.strip():
        raise ProblemError(
            Problem("The supplier has this order already", found.number, "Say why it is cancelled.")
        )
    found.state = PurchaseOrder.State.CANCELLED
    found.cancelled_by, found.cancelled_at, found.cancel_reason = by, timezone.now(), reason.strip()[:200]
    found.save(update_fields=["state", "cancelled_by", "cancelled_at", "cancel_reason"])
    return found


@transaction.atomic
def close_line(*, line: PurchaseOrderLine, by: User | None) -> PurchaseOrderLine:
    """No more of this line will come, whatever was ordered. The last open line closes the order."""
    order = locked(line.order, PurchaseOrder.State.RELEASED, doing="closed in part")
    line.is_closed = True
    line.save(update_fields=["is_closed"])
    close_when_complete(order)
    return line


def close_when_complete(order: PurchaseOrder) -> None:
    """Set a released order done once no line has anything to come and none of its loads lies outside.

    The caller holds its lock.
    """
    lines = order.lines.all()
    if order.outside_lines.filter(is_closed=False).exists():
        return
    if all(line.is_closed or line.received >= line.quantity for line in lines):
        order.state = PurchaseOrder.State.DONE
        order.save(update_fields=["state"])


def withdraw_approval(order: PurchaseOrder) -> None:
    """What was approved is no longer what stands there: ask again. The caller holds the order's lock."""
    if order.asked_at is None:
        return
    order.asked_by = order.asked_at = order.approved_by = order.approved_at = order.approved_value = None
    order.save(update_fields=["asked_by", "asked_at", "approved_by", "approved_at", "approved_value"])


def refuse_without_lines(order: PurchaseOrder) -> None:
    """Raises ProblemError where an order asks for nothing."""
    if not order.lines.exists():
        raise ProblemError(
            Problem("This purchase order has no lines", order.number, "Add what is wanted, then release it.")
        )


def locked(order: PurchaseOrder, *states: PurchaseOrder.State, doing: str) -> PurchaseOrder:
    """The order, locked until the transaction ends, if it is in one of the states; else ProblemError."""
    found = PurchaseOrder.objects.select_for_update().get(pk=order.pk)
    if found.state not in states:
        raise ProblemError(
            Problem(
                f"It is {found.get_state_display()} and cannot be {doing}",
                found.number,
                f"Only one that is {' or '.join(state.label for state in states)} can.",
            )
        )
    return found


def _above_zero(quantity: Decimal, code: str) -> Decimal:
    if not quantity.is_finite() or quantity.quantize(PLACES) <= 0:
        raise ProblemError(
            Problem(f"{quantity} of {code} cannot be bought", "", "Write a quantity above zero.")
        )
    return quantity.quantize(PLACES)


def _chosen(wants: Sequence[Want]) -> list[SupplierItem]:
    """For each want the price row to buy by; every want that nobody sells is named."""
    sold: dict[int, list[SupplierItem]] = defaultdict(list)
    rows = SupplierItem.objects.filter(item_id__in={want.item_id for want in wants})
    for row in rows.select_related("item", "supplier").order_by("-is_preferred", "price", "pk"):
        sold[row.item_id].append(row)
    codes = dict(Item.objects.filter(pk__in={want.item_id for want in wants}).values_list("pk", "code"))
    chosen: list[SupplierItem] = []
    problems: list[Problem] = []
    for want in wants:
        code = codes.get(want.item_id, f"item {want.item_id}")
        _above_zero(want.quantity, code)
        fitting = [row for row in sold[want.item_id] if want.supplier_id in (None, row.supplier_id)]
        if fitting:
            chosen.append(fitting[0])
        else:
            problems.append(_nobody(want, code, sold))
    if problems:
        raise ProblemError(*problems)
    return chosen


def _nobody(want: Want, code: str, sold: Mapping[int, Sequence[SupplierItem]]) -> Problem:
    others = ", ".join(row.supplier.name for row in sold.get(want.item_id, ()))
    if others:
        return Problem(f"That supplier does not sell {code}", "", f"Buy it from {others}.")
    return Problem(f"No supplier sells {code}", "", "Enter a supplier and a price for it first.")
