"""What the order book and the order page show, fetched in a constant number of queries."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import DateField, IntegerField, Max, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from bom.templatetags.workshop import day_text, late_text, moment
from production.coating.models import LoadLine, PowderLine
from production.cutting.models import CutPlacement
from production.orders.models import Order
from production.scheduling.models import OrderForecast
from production.works.models import WorksOperation

State = WorksOperation.State
NOT_SHOWN = ("dropped", "proposed")


@dataclass(frozen=True)
class Stop:
    """One station on an order's thread: `stage` is done, now or ahead; `word` says when, in words."""

    code: str
    label: str
    stage: str
    word: str
    problem: str = ""


def book() -> QuerySet[Order]:
    """The order book. Each row carries `due`, and from the released plan `forecast_at` and `days_late`."""
    return (
        with_forecast(Order.objects.all())
        .select_related("customer", "model", "hull")
        .prefetch_related(
            Prefetch(
                "works_order__operations",
                queryset=WorksOperation.objects.select_related("process").order_by("sequence"),
            )
        )
        .order_by(Coalesce("promised_on", "asked_for"), "number")
    )


def with_forecast(orders: QuerySet[Order]) -> QuerySet[Order]:
    """Orders with what the released plan expects of them (none where it does not hold them)."""
    forecast = OrderForecast.objects.filter(order=OuterRef("pk"), plan__is_current=True)
    return orders.annotate(
        due=Coalesce("promised_on", "asked_for", output_field=DateField()),
        forecast_at=Subquery(forecast.values("finishes_at")[:1]),
        parts_on=Subquery(forecast.values("parts_on")[:1]),
        days_late=Subquery(forecast.values("days_late")[:1], output_field=IntegerField()),
    )


def with_batches(orders: QuerySet[Order]) -> QuerySet[Order]:
    """Orders with when their cut batches, lorry load and powder batch are planned."""
    placed = (
        CutPlacement.objects.filter(order=OuterRef("pk"))
        .exclude(sheet__batch__state__in=NOT_SHOWN)
        .order_by()
        .values("order")
        .annotate(last=Max("sheet__batch__ends_at"))
    )
    load = (
        LoadLine.objects.filter(order=OuterRef("pk"))
        .exclude(load__state__in=NOT_SHOWN)
        .order_by("-load__leaves_at")
    )
    powder = (
        PowderLine.objects.filter(order=OuterRef("pk"))
        .exclude(batch__state__in=NOT_SHOWN)
        .order_by("-batch__starts_at")
    )
    return orders.annotate(
        cut_at=Subquery(placed.values("last")[:1]),
        load_number=Subquery(load.values("load__number")[:1]),
        load_leaves_at=Subquery(load.values("load__leaves_at")[:1]),
        load_back_at=Subquery(load.values("load__back_at")[:1]),
        powder_at=Subquery(powder.values("batch__ends_at")[:1]),
    )


def operations_of(order: Order) -> list[WorksOperation]:
    """The order's operations in the way of the metal, with `planned_start` and `planned_end` of the released plan."""
    current = Q(planned__plan__is_current=True)
    return list(
        WorksOperation.objects.filter(works_order__order=order)
        .select_related("process", "by")
        .annotate(
            planned_start=Max("planned__starts_at", filter=current),
            planned_end=Max("planned__ends_at", filter=current),
        )
        .order_by("sequence")
    )


def days_behind(order: Order, today: date) -> int:
    """By how many days an open order is late: as the plan expects, or because its day has passed."""
    if order.state not in Order.OPEN:
        return 0
    expected = getattr(order, "days_late", None) or 0
    return max(expected, (today - order.due_on).days, 0)


def late_filter(orders: QuerySet[Order], today: date) -> QuerySet[Order]:
    """Only open orders that are late: the same rule as `days_behind`."""
    return orders.filter(Q(days_late__gt=0) | Q(due__lt=today), state__in=Order.OPEN)


def thread(order: Order, operations: Iterable[WorksOperation]) -> list[Stop]:
    """The order through its stations, and at last the gate."""
    stops = [_stop(order, operation) for operation in operations]
    stops.append(_gate(order))
    return stops


def late_words(order: Order, today: date) -> str:
    return late_text(days_behind(order, today))


def _stop(order: Order, operation: WorksOperation) -> Stop:
    process = operation.process
    if operation.state == State.DONE:
        return Stop(process.code, process.name, "done", f"done {_day(operation.finished_at)}".strip())
    if operation.state == State.CANCELLED:
        return Stop(process.code, process.name, "ahead", "cancelled")
    if operation.state == State.BEGUN:
        return Stop(process.code, process.name, "now", _begun(order, operation), operation.problem)
    return Stop(process.code, process.name, "ahead", _planned(order, operation), operation.problem)


def _begun(order: Order, operation: WorksOperation) -> str:
    back = getattr(order, "load_back_at", None)
    if operation.process.code == "galvanise" and back:
        return f"away, back {_day(back)}"
    return f"begun {moment(operation.began_at)}".strip()


def _planned(order: Order, operation: WorksOperation) -> str:
    code = operation.process.code
    if code == "laser" and getattr(order, "cut_at", None):
        return f"cut by {_day(_value(order, 'cut_at'))}"
    if code == "galvanise" and getattr(order, "load_leaves_at", None):
        leaves, back = _day(_value(order, "load_leaves_at")), _day(_value(order, "load_back_at"))
        return f"lorry {leaves}, load {_value(order, 'load_number')}, back {back}"
    if code == "powder" and getattr(order, "powder_at", None):
        return f"oven {_day(_value(order, 'powder_at'))}"
    start = getattr(operation, "planned_start", None)
    return f"planned {moment(start)}" if start else "not planned yet"


def _gate(order: Order) -> Stop:
    forecast = getattr(order, "forecast_at", None)
    if order.state == Order.State.GONE:
        return Stop("gate", "Gate", "done", "gone")
    if order.state == Order.State.DONE:
        return Stop("gate", "Gate", "now", "ready to go")
    return Stop("gate", "Gate", "ahead", _day(forecast) if forecast else "not planned yet")


def _value(order: Order, name: str) -> Any:
    return getattr(order, name, None)


def _day(value: datetime | None) -> str:
    return day_text(value).split(",")[0]
