"""An order that is coated otherwise than planned leaves the loads and batches that have not begun."""

from django.db import transaction

from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch, PowderLine
from production.orders.models import Order

NOT_GONE = (GalvanisingLoad.State.PROPOSED, GalvanisingLoad.State.RELEASED)
NOT_BEGUN = (PowderBatch.State.PROPOSED, PowderBatch.State.RELEASED)


@transaction.atomic
def leave_batches(*, order: Order, galvanised: bool, powder: str) -> list[str]:
    """Take the order off loads that have not left where it is not `galvanised` any more, and out of powder batches
    of another colour than `powder` (its code; empty for none). Returns the numbers of what it left.
    """
    loads = LoadLine.objects.filter(order=order, load__state__in=NOT_GONE)
    batches = PowderLine.objects.filter(order=order, batch__state__in=NOT_BEGUN).exclude(
        batch__colour__code=powder
    )
    left = [] if galvanised else list(loads.values_list("load__number", flat=True).distinct())
    left += batches.values_list("batch__number", flat=True)
    if not galvanised:
        loads.delete()
    batches.delete()
    return left
