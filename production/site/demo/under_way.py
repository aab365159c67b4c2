"""Orders that were begun before the first plan: cut, sawn, some of them welded, by the verbs the floor uses.

Their cut parts are counted in as opening stock of the rack. What the verbs refuse (a section has run out) stays
undone: the demonstration shows such orders too.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from bom.kernel.errors import ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Location, Posting
from production.cutting.completing import finish_cut_orders, laser_parts
from production.orders.models import Order
from production.site.demo.floor_times import keep_times
from production.works.card_making import make_cards
from production.works.models import WorksOperation, WorksOrder
from production.works.tracking import begin_operation, finish_operation

# How far the first orders are, the earliest first; after these nothing is begun.
STAGES: tuple[tuple[str, ...], ...] = (
    ("saw", "fold", "weld"),
    ("saw", "fold", "weld"),
    ("saw", "fold", "weld"),
    ("saw", "fold"),
    ("saw", "fold"),
    ("saw",),
    ("saw",),
    (),
)


WORKERS = ("assembly", "coating", "laser")


def orders_begun(count: int) -> int:
    """How many of so many open orders are under way: at most a quarter."""
    return min(len(STAGES), count // 4)


def begin_some(
    orders: Sequence[Order], places: Mapping[str, Location], happened_at: datetime, by: User
) -> list[Order]:
    """Release the first orders and bring them to their stages; returns those begun."""
    begun = list(orders[: orders_begun(len(orders))])
    _count_cut_parts(begun, places, happened_at, by)
    Order.objects.filter(pk__in=[order.pk for order in begun]).update(state=Order.State.RELEASED)
    WorksOrder.objects.filter(order__in=begun).update(state=WorksOrder.State.RELEASED)
    make_cards(works_orders=list(WorksOrder.objects.filter(order__in=begun).values_list("pk", flat=True)))
    finish_cut_orders(order_ids=[order.pk for order in begun], by=by)
    for order, stages in zip(begun, STAGES, strict=False):
        _bring_to(order, stages, by)
    keep_times(begun, list(User.objects.filter(username__in=WORKERS).order_by("username")) or [by])
    return begun


def _count_cut_parts(
    orders: Sequence[Order], places: Mapping[str, Location], happened_at: datetime, by: User
) -> None:
    totals: dict[int, Decimal] = defaultdict(Decimal)
    for parts in laser_parts(orders).values():
        for item_id, quantity in parts.items():
            totals[item_id] += quantity
    lines = [
        line
        for item_id, quantity in sorted(totals.items())
        for line in (
            ledger.Line(item_id, places["COUNT"].pk, -quantity),
            ledger.Line(item_id, places["CUT"].pk, quantity),
        )
    ]
    if lines:
        ledger.post(
            key="demo:rack",
            kind=Posting.Kind.OPENING,
            lines=lines,
            by=by,
            happened_at=happened_at,
            reason="cut parts found on the rack",
        )


def _bring_to(order: Order, stages: Sequence[str], by: User) -> None:
    operations = {
        operation.process.code: operation
        for operation in WorksOperation.objects.filter(works_order__order=order).select_related("process")
    }
    for process in stages:
        if process in operations and not _finished(operations[process], by):
            return
    following = [code for code in ("saw", "fold", "weld") if code in operations and code not in stages]
    if stages and following:
        begin_operation(operation=operations[following[0]], by=by)


def _finished(operation: WorksOperation, by: User) -> bool:
    try:
        with transaction.atomic():
            finish_operation(operation=operation, by=by)
    except ProblemError:
        return False
    return True
