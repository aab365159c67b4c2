"""What the shelves can give a kit, who holds the rest, and when more comes."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal

from django.db.models import F, Min, Q, QuerySet, Sum

from bom.kernel.quantities import format_quantity
from inventory.buying.models import PurchaseOrderLine
from inventory.stock.models import Balance, Location, Purpose, Reservation


def shelf_supply(picked: Mapping[int, Decimal], purpose: Purpose | None) -> defaultdict[int, Decimal]:
    """How many of each item a picker may still take for `purpose`, when `picked` of it (by item) are in its kit.

    That is what lies on shelves less what others keep there; what others keep in their kits is not on the shelves.
    Two queries.
    """
    supply: defaultdict[int, Decimal] = defaultdict(Decimal)
    for item_id, total in _by_item(
        Balance.objects.filter(
            Q(location__kind=Location.Kind.SHELF) | Q(location__code="KIT"), item_id__in=picked
        )
    ):
        supply[item_id] += total - picked[item_id]
    for item_id, total in _by_item(Reservation.objects.filter(item_id__in=picked).exclude(purpose=purpose)):
        supply[item_id] -= total
    return supply


def _by_item(rows: QuerySet[Balance] | QuerySet[Reservation]) -> Iterable[tuple[int, Decimal]]:
    return rows.order_by().values_list("item_id").annotate(total=Sum("quantity"))


def holders(item_id: int, purpose: Purpose, most: int = 4) -> list[str]:
    """Who else keeps the item: "order 2604 (2)", those who need it first before the others."""
    rows = (
        Reservation.objects.filter(item_id=item_id)
        .exclude(purpose=purpose)
        .select_related("purpose")
        .order_by("purpose__needed_on", "purpose__code")
    )
    return [f"{row.purpose.code} ({format_quantity(row.quantity)})" for row in rows[:most]]


def promised(item_ids: Iterable[int]) -> dict[int, date]:
    """The first day more of each item is due from a supplier. One query."""
    rows = (
        PurchaseOrderLine.objects.filter(
            item_id__in=set(item_ids), order__state="released", is_closed=False, received__lt=F("quantity")
        )
        .values_list("item_id")
        .annotate(first=Min("due_on"))
        .order_by()
    )
    return dict(rows)
