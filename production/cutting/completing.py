"""When an order's laser work is complete: every cut part it needs is there and is kept for it."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Count, QuerySet

from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.models import Reservation
from inventory.stock.queries import availability
from production.cutting.models import CutBatch, CutPlacement, CutSheet
from production.orders.models import Order
from production.works import tracking
from production.works.first_process import made_items
from production.works.made_again import open_pieces
from production.works.models import WorksOperation

# An order that no released plan holds is not worked on, even when its parts happen to be there.
ON_THE_FLOOR = (Order.State.RELEASED, Order.State.BEGUN)

NOTHING = Decimal(0)
Wanted = dict[int, dict[int, Decimal]]


def laser_parts(orders: Iterable[Order]) -> Wanted:
    """By order, how many of each laser-cut item its trailer needs, or those of parts made again. Four queries."""
    orders = [order for order in orders if order.bill_id]
    again = open_pieces(orders)
    bills = made_items(order.bill_id for order in orders if order.bill_id)
    return {
        order.pk: {
            made.item_id: again[order.pk].get(made.item_id, NOTHING) if order.pk in again else made.quantity
            for made in bills.get(order.bill_id or 0, {}).values()
            if made.first == "laser"
        }
        for order in orders
    }


def owed_parts(orders: Iterable[Order]) -> Wanted:
    """By order, what is neither kept for it nor still waiting on an open sheet: the next plan must cut it.

    A scrapped or lost part shows up here, because its placement is neither good nor waiting. Orders whose laser
    work is done owe nothing. Five queries.
    """
    orders = list(orders)
    done = set(
        _laser_states(orders, WorksOperation.State.DONE).values_list("works_order__order_id", flat=True)
    )
    orders = [order for order in orders if order.pk not in done]
    waiting = _waiting(orders)
    kept = kept_parts(orders)
    owed: Wanted = {}
    for order_id, parts in laser_parts(orders).items():
        short = {
            item_id: quantity - kept[order_id, item_id] - waiting[order_id, item_id]
            for item_id, quantity in parts.items()
        }
        owed[order_id] = {item_id: quantity for item_id, quantity in short.items() if quantity > 0}
    return owed


def finish_cut_orders(*, order_ids: Iterable[int], by: User) -> list[Order]:
    """Finish the laser operation of every order whose cut parts are all there, and keep them for it.

    What an order does not have from its own sheets it may take from free cut parts on the rack, as long as none of
    its own placements is still waiting to be cut. Returns the orders finished.
    """
    operations = {
        operation.works_order.order_id or 0: operation
        for operation in _laser_states(
            Order.objects.filter(pk__in=set(order_ids)),
            WorksOperation.State.WAITING,
            WorksOperation.State.BEGUN,
        )
    }
    orders = list(
        Order.objects.filter(pk__in=operations, state__in=ON_THE_FLOOR)
        .select_related("purpose")
        .order_by("pk")
    )
    wanted, kept, waiting = laser_parts(orders), kept_parts(orders), _waiting(orders)
    still = {order_id for order_id, _ in waiting}
    finished = []
    for order in orders:
        short = {
            item_id: quantity - kept[order.pk, item_id]
            for item_id, quantity in wanted[order.pk].items()
            if quantity > kept[order.pk, item_id]
        }
        if order.pk not in still and _take_free(order, short, by):
            tracking.finish_operation(operation=operations[order.pk], by=by)
            finished.append(order)
    return finished


def reopen_laser(*, order_ids: Iterable[int], by: User) -> None:
    """After a count is undone: laser work of its orders that was done is unfinished again."""
    for operation in _laser_states(Order.objects.filter(pk__in=set(order_ids)), WorksOperation.State.DONE):
        tracking.undo_finish(operation=operation, by=by)


def _take_free(order: Order, short: dict[int, Decimal], by: User) -> bool:
    """Keep free parts for what the order lacks; nothing is kept unless all of it is there."""
    if not short:
        return True
    free = availability(short)
    if order.purpose is None or any(
        item_id not in free or free[item_id].available < quantity for item_id, quantity in short.items()
    ):
        return False
    wants = [
        reserving.Want(item_id, order.purpose.pk, quantity) for item_id, quantity in sorted(short.items())
    ]
    reserving.reserve_many(wants=wants, by=by)
    return True


def kept_parts(orders: Iterable[Order]) -> defaultdict[tuple[int, int], Decimal]:
    """What is kept by (order, item)."""
    by_purpose = {order.purpose_id: order.pk for order in orders if order.purpose_id}
    kept: defaultdict[tuple[int, int], Decimal] = defaultdict(Decimal)
    for row in Reservation.objects.filter(purpose_id__in=by_purpose):
        kept[by_purpose[row.purpose_id], row.item_id] += row.quantity
    return kept


def _waiting(orders: Iterable[Order]) -> defaultdict[tuple[int, int], Decimal]:
    """Parts still to be cut on sheets of open batches, by (order, item)."""
    rows = (
        CutPlacement.objects.filter(
            order__in=[order.pk for order in orders],
            state=CutPlacement.State.WAITING,
            sheet__state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN],
            sheet__batch__state__in=CutBatch.OPEN,
        )
        .values_list("order_id", "part__item_id")
        .annotate(count=Count("id"))
        .order_by()
    )
    return defaultdict(
        Decimal, {(order_id, item_id): Decimal(count) for order_id, item_id, count in rows if order_id}
    )


def _laser_states(orders: Iterable[Order], *states: str) -> QuerySet[WorksOperation]:
    return WorksOperation.objects.select_related("works_order__order", "process").filter(
        works_order__order__in=orders, process__code="laser", state__in=states
    )
