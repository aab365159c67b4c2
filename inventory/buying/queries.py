"""Questions about purchase orders."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import (
    Count,
    DecimalField,
    ExpressionWrapper,
    F,
    Field,
    IntegerField,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
)
from django.db.models.functions import Coalesce

from bom.items.models import Item
from bom.templatetags.workshop import day_text, quantity_text
from inventory.buying.models import (
    Chase,
    Confirmation,
    PurchaseOrder,
    PurchaseOrderLine,
    Receipt,
    SupplierItem,
)
from inventory.buying.outside_models import OutsideAnswer, OutsideLine
from inventory.stock.models import Balance, Location, Movement
from inventory.stock.sums import less, summed

_MONEY: DecimalField[Decimal, Decimal] = DecimalField(max_digits=16, decimal_places=2)
_TO_COME = Q(lines__is_closed=False, lines__quantity__gt=F("lines__received"))


@dataclass(frozen=True)
class OrderValue:
    """What an order is worth, and how much is missing to the supplier's minimum value (nothing, mostly)."""

    value: Decimal
    short_of_minimum: Decimal


def order_list() -> QuerySet[PurchaseOrder]:
    """Purchase orders with `value`, `line_count`, `lines_to_come`, `lines_confirmed`, `lines_begun`, `next_due`."""
    worth = ExpressionWrapper(F("lines__quantity") * F("lines__price"), output_field=_MONEY)
    away = OutsideLine.objects.filter(order=OuterRef("pk"))
    still_away = away.filter(is_closed=False)
    return PurchaseOrder.objects.select_related("supplier").annotate(
        value=Coalesce(Sum(worth), Value(Decimal(0)), output_field=_MONEY)
        + _of_work(away, Sum("value"), _MONEY),
        line_count=Count("lines") + _of_work(away, Count("pk")),
        lines_to_come=Count("lines", filter=_TO_COME) + _of_work(still_away, Count("pk")),
        next_due=Coalesce(
            Min("lines__due_on", filter=_TO_COME),
            Subquery(still_away.order_by("due_on").values("due_on")[:1]),
        ),
        lines_confirmed=Count("lines", filter=_TO_COME & Q(lines__confirmed_on__isnull=False))
        + _of_work(still_away.filter(confirmed_on__isnull=False), Count("pk")),
        lines_begun=Count("lines", filter=Q(lines__received__gt=0))
        + _of_work(away.filter(came_at__isnull=False), Count("pk")),
    )


def _of_work(
    rows: QuerySet[OutsideLine], total: Sum | Count, field: Field[Any, Any] | None = None
) -> Coalesce:
    """A total over an order's lines of outside work, apart from the join with its lines of goods."""
    field = field or IntegerField()
    found = rows.order_by().values("order").annotate(total=total).values("total")
    return Coalesce(Subquery(found, output_field=field), Value(0), output_field=field)


def lines(order: PurchaseOrder) -> QuerySet[PurchaseOrderLine, Any]:
    """The order's lines with `value`, `to_come` and the supplier's own code for the item. One query."""
    theirs = SupplierItem.objects.filter(supplier=order.supplier_id, item=OuterRef("item"))
    return (
        order.lines.select_related("item")
        .annotate(
            value=ExpressionWrapper(F("quantity") * F("price"), output_field=_MONEY),
            to_come=less("quantity", "received"),
            their_code=Subquery(theirs.values("their_code")[:1]),
        )
        .order_by("position")
    )


def order_value(order: PurchaseOrder) -> OrderValue:
    """Value of the order's lines, of goods and of outside work, to the penny."""
    goods = sum((line.quantity * line.price for line in order.lines.all()), Decimal(0))
    work = sum((line.value for line in order.outside_lines.all()), Decimal(0))
    value = (goods + work).quantize(Decimal("0.01"))
    return OrderValue(value, max(Decimal(0), order.supplier.minimum_value - value))


def expected_lines(*, until: date | None = None) -> QuerySet[PurchaseOrderLine]:
    """Lines of released orders that have something to come, soonest first, with `to_come`."""
    lines = PurchaseOrderLine.objects.filter(
        order__state=PurchaseOrder.State.RELEASED, is_closed=False, quantity__gt=F("received")
    )
    if until is not None:
        lines = lines.filter(due_on__lte=until)
    return (
        lines.annotate(to_come=less("quantity", "received"))
        .select_related("order__supplier", "item__colour")
        .order_by("due_on", "order__number", "position")
    )


def deliveries(order: PurchaseOrder) -> list[Receipt]:
    """What has come on an order, latest first. One query."""
    return list(
        Receipt.objects.filter(line__order=order)
        .select_related("line__item", "posting__by", "posting__reversed_by")
        .order_by("-posting__happened_at", "-pk")
    )


@dataclass(frozen=True)
class Said:
    """Something heard of a line: a confirmation or the answer to a chase."""

    at: datetime
    position: int
    item_code: str
    is_promise: bool
    words: str
    by: str


def said(order: PurchaseOrder) -> list[Said]:
    """Everything heard of an order's lines, latest first. Three queries."""
    promises = Confirmation.objects.filter(line__order=order).select_related("line__item", "by")
    chases = Chase.objects.filter(line__order=order).select_related("line__item", "by")
    heard = [
        Said(row.at, row.line.position, row.line.item.code, True, _promise_text(row), str(row.by or ""))
        for row in promises
    ]
    heard += [
        Said(
            row.at,
            row.line.position,
            row.line.item.code,
            False,
            f"{row.answer} (ask again {day_text(row.again_on)})",
            str(row.by or ""),
        )
        for row in chases
    ]
    answers = OutsideAnswer.objects.filter(line__order=order).select_related("line", "by")
    heard += [
        Said(
            row.at,
            row.line.position,
            row.line.reference,
            row.promised_on is not None,
            answer_text(row),
            str(row.by or ""),
        )
        for row in answers
    ]
    return sorted(heard, key=lambda one: (one.at, one.position), reverse=True)


def answer_text(row: OutsideAnswer) -> str:
    """What was said of a load, in words."""
    if row.promised_on is None:
        return f"{row.words} (ask again {day_text(row.again_on)})"
    text = f"back on {day_text(row.promised_on)}"
    if row.before_on and row.promised_on != row.before_on:
        text += f", not on {day_text(row.before_on)}"
    return f"{text}; {row.words}" if row.words else text


def _promise_text(row: Confirmation) -> str:
    text = f"{quantity_text(row.quantity)} on {day_text(row.promised_on)}"
    if row.promised_on != row.before_on:
        text += f", not on {day_text(row.before_on)}"
    if row.quantity != row.before_quantity:
        text += f", not {quantity_text(row.before_quantity)}"
    return f"{text}; {row.note}" if row.note else text


def usual_place(item: Item) -> int | None:
    """The shelf where goods-in proposes to put an item: where most of it lies, else where it last lay."""
    shelves = Balance.objects.filter(item=item, location__kind=Location.Kind.SHELF)
    fullest = shelves.filter(quantity__gt=0).order_by().values_list("location_id").annotate(total=summed())
    found = fullest.order_by("-total").first()
    if found is not None:
        return int(found[0])
    last = Movement.objects.filter(item=item, location__kind=Location.Kind.SHELF, quantity__gt=0)
    latest: int | None = (
        last.order_by("-happened_at", "-posting_id", "-pk").values_list("location_id", flat=True).first()
    )
    return latest
