"""What every open order's kit wants, and sharing the shelves out among them: first needed, first served."""

from collections.abc import Collection
from datetime import date

from django.db.models import OuterRef, Subquery
from django.utils import timezone

from bom.items.models import Item
from bom.people.models import User
from inventory.stock.reassigning import Need, share_out_anew
from production.assembly.contents import kit_contents
from production.assembly.models import KitLine
from production.orders.models import Order
from production.planning.models import Plan
from production.works.models import WorksOperation


def needs(item_ids: Collection[int] | None = None) -> list[Need]:
    """What the kits of open orders want that no bay has begun, soonest needed first. Eight queries.

    An order is needed on the day its assembly begins by the current plan, else on the day it is held to. An order
    that has no kit yet wants what its frozen bill says.
    """
    orders = _waiting_orders()
    found: list[Need] = []
    days = {order.pk: _needed_on(order) for order in orders}
    purposes = {order.pk: order.purpose_id for order in orders}
    with_kit: set[int] = set(orders_with_kits(purposes))
    lines = KitLine.objects.filter(kit__order__in=with_kit, wanted__gt=0)
    if item_ids is not None:
        lines = lines.filter(item__in=item_ids)
    for order_id, item_id, wanted in lines.values_list("kit__order_id", "item_id", "wanted"):
        if (purpose_id := purposes[order_id]) is not None:
            found.append(Need(item_id, purpose_id, wanted, days[order_id]))
    bare = [order for order in orders if order.pk not in with_kit and order.bill_id and order.purpose_id]
    contents = kit_contents({order.bill_id for order in bare if order.bill_id})
    for order in bare:
        for item_id, quantity in contents[order.bill_id or 0].items():
            if order.purpose_id is not None and (item_ids is None or item_id in item_ids):
                found.append(Need(item_id, order.purpose_id, quantity, days[order.pk]))
    return sorted(found, key=lambda need: (need.needed_on or date.max, need.purpose_id, need.item_id))


def share_out(*, by: User | None, item: Item | None = None) -> int:
    """Keep what lies on the shelves for those who need it first, of one item or of all. Returns how many changed.

    What is picked stays picked; what is kept for other things than kits stays theirs.
    """
    return share_out_anew(needs=needs(None if item is None else [item.pk]), by=by)


def orders_with_kits(order_ids: Collection[int]) -> list[int]:
    """Those of the orders that have a kit. One query."""
    return list(Order.objects.filter(pk__in=order_ids, kit__isnull=False).values_list("pk", flat=True))


def _waiting_orders() -> list[Order]:
    plan = Plan.objects.filter(is_current=True).values_list("pk", flat=True).first()
    taken = WorksOperation.objects.filter(process__code="assemble", state__in=["begun", "done"])
    planned = Order.objects.filter(
        pk=OuterRef("pk"),
        planned_operations__plan=plan,
        planned_operations__operation__process__code="assemble",
    ).order_by("planned_operations__starts_at")
    return list(
        Order.objects.filter(state__in=Order.OPEN)
        .exclude(pk__in=taken.values("works_order__order"))
        .annotate(assembled_at=Subquery(planned.values("planned_operations__starts_at")[:1]))
        .order_by("pk")
    )


def _needed_on(order: Order) -> date | None:
    starts_at = getattr(order, "assembled_at", None)
    return timezone.localdate(starts_at) if starts_at else order.due_on
