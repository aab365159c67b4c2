"""When an order's work at the saw is complete: every sawn part it needs is there and is kept for it."""

from collections.abc import Iterable

from bom.people.models import User
from production.cutting.completing import ON_THE_FLOOR, kept_parts
from production.cutting.saw.models import BarBatch, SawCut
from production.cutting.saw.owed import sawn_parts
from production.orders.models import Order
from production.works import tracking
from production.works.models import WorksOperation

State = WorksOperation.State


def saw_operations(order_ids: Iterable[int], *states: str) -> list[WorksOperation]:
    """The saw's operations of these orders in these states."""
    return list(
        WorksOperation.objects.select_related("works_order__order", "process").filter(
            works_order__order__in=set(order_ids), process__code="saw", state__in=states
        )
    )


def finish_sawn_orders(*, order_ids: Iterable[int], by: User) -> list[Order]:
    """Finish the saw's work of every order whose sawn parts are all kept for it. Returns the orders finished."""
    operations = {
        one.works_order.order_id or 0: one for one in saw_operations(order_ids, State.WAITING, State.BEGUN)
    }
    orders = list(
        Order.objects.filter(pk__in=operations, state__in=ON_THE_FLOOR)
        .select_related("purpose")
        .order_by("pk")
    )
    waiting = set(
        SawCut.objects.filter(
            order__in=operations, state=SawCut.State.WAITING, bar__batch__state__in=BarBatch.OPEN
        ).values_list("order_id", flat=True)
    )
    kept, wanted = kept_parts(orders), sawn_parts(orders)
    finished = []
    for order in orders:
        has_all = all(kept[order.pk, sawn.item_id] >= quantity for sawn, quantity in wanted[order.pk])
        if has_all and order.pk not in waiting:
            tracking.finish_operation(operation=operations[order.pk], by=by)
            finished.append(order)
    return finished


def begin_sawn_orders(*, order_ids: Iterable[int], by: User) -> None:
    """A bar is begun: so is the saw's work of its orders that are on the floor."""
    for one in saw_operations(order_ids, State.WAITING):
        if one.works_order.order is not None and one.works_order.order.state in ON_THE_FLOOR:
            tracking.begin_operation(operation=one, by=by)


def reopen_sawn_orders(*, order_ids: Iterable[int], by: User) -> None:
    """After a count is undone: saw work that was done is unfinished again."""
    for one in saw_operations(order_ids, State.DONE):
        tracking.undo_finish(operation=one, by=by)
