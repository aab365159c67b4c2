"""Cut parts of an order that no longer wants them: they are cut all the same and go to the rack, free for others."""

from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction
from django.db.models import QuerySet

from production.cutting.models import CutBatch, CutPlacement, CutSheet
from production.orders.models import Order

State = CutPlacement.State


@transaction.atomic
def free_placements(*, order: Order, wanted: Mapping[int, Decimal]) -> dict[int, int]:
    """Take the order's name off waiting placements beyond `wanted` (by item id), the last to be cut first.

    Returns by item id how many were freed.
    """
    left = {item_id: int(quantity) for item_id, quantity in wanted.items()}
    freed: dict[int, int] = {}
    rows = (
        waiting_for(order).select_related("part").order_by("sheet__batch__starts_at", "sheet__number", "pk")
    )
    over = []
    for placement in rows:
        item_id = placement.part.item_id
        left[item_id] = left.get(item_id, 0) - 1
        if left[item_id] < 0:
            over.append(placement.pk)
            freed[item_id] = freed.get(item_id, 0) + 1
    CutPlacement.objects.filter(pk__in=over).update(order=None)
    return freed


def waiting_for(order: Order) -> QuerySet[CutPlacement]:
    """Placements of the order that are still to be cut."""
    return CutPlacement.objects.filter(
        order=order,
        state=State.WAITING,
        sheet__state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN],
        sheet__batch__state__in=CutBatch.OPEN,
    )
