"""A kit after its order was changed: what is picked and no longer wanted goes back, new lines are wanted."""

from decimal import Decimal

from django.db import transaction

from bom.people.models import User
from production.assembly.contents import kit_contents
from production.assembly.kits import locked_kit, settle, unpick
from production.assembly.models import Kit, KitLine
from production.orders.models import Order
from production.works.models import Swap


@transaction.atomic
def put_back_surplus(*, order: Order, wanted: dict[int, Decimal], by: User) -> None:
    """Put lines back of which more is picked than `wanted`, which names only items with a surplus, by id.

    Call before the order lets go of them; what is still wanted of them is picked again.

    Raises:
        ProblemError: the kit stands in an assembly bay already.
    """
    kit = Kit.objects.filter(order=order).first()
    if kit is None:
        return
    for line in kit.lines.filter(picked__gt=0, item__in=list(wanted)).select_related("item"):
        if line.picked > wanted[line.item_id]:
            unpick(line=line, by=by)


@transaction.atomic
def refit_kit(*, order: Order) -> None:
    """Bring the kit's lines in line with the order's frozen bill, substitutes counted. Does nothing without a kit."""
    found = Kit.objects.filter(order=order).first()
    if found is None:
        return
    kit, wanted = locked_kit(found.pk), wanted_in_kit(order)
    lines = {line.item_id: line for line in kit.lines.all()}
    for item_id, line in lines.items():
        line.wanted = max(wanted.get(item_id, Decimal(0)), line.picked)
    KitLine.objects.filter(pk__in=[line.pk for line in lines.values() if line.wanted <= 0]).delete()
    KitLine.objects.bulk_update([line for line in lines.values() if line.wanted > 0], ["wanted"])
    KitLine.objects.bulk_create(
        [
            KitLine(kit=kit, item_id=item_id, wanted=quantity)
            for item_id, quantity in sorted(wanted.items())
            if item_id not in lines and quantity > 0
        ]
    )
    settle(kit)


def wanted_in_kit(order: Order) -> dict[int, Decimal]:
    """By item id what the order's kit holds by its frozen bill, with the substitutes that were taken."""
    wanted = dict(kit_contents([order.bill_id or 0]).get(order.bill_id or 0, {}))
    swaps = Swap.objects.filter(order=order).values_list("item_id", "instead_id", "quantity")
    for item_id, instead_id, quantity in swaps:
        moved = min(quantity, wanted.get(item_id, Decimal(0)))
        wanted[item_id] = wanted.get(item_id, Decimal(0)) - moved
        wanted[instead_id] = wanted.get(instead_id, Decimal(0)) + moved
    return wanted
