"""What a device takes along so that codes are known without the network: places, items, numbers, and what lies where.

Five queries whatever the size.
"""

from __future__ import annotations

from typing import Any

from bom.items.models import Item, ItemIdentifier
from bom.kernel import gs1
from bom.kernel.quantities import format_quantity
from inventory.stock.models import Location
from inventory.stock.queries import ON_HAND_KINDS, on_hand_balances

# The application identifiers that a device reads without the workshop; the rest it leaves to the server.
_AIS = ("00", "01", "02", "10", "11", "13", "15", "17", "21", "30", "37", "240", "241", "400", "414")


def book() -> dict[str, Any]:
    """Short lists instead of rows with names: the answer is fetched by phones."""
    kinds = (*ON_HAND_KINDS, Location.Kind.HOLD)
    places = Location.objects.filter(kind__in=kinds).values_list("code", "name")
    items = Item.objects.filter(is_phantom=False).values_list("code", "name", "unit", "tracking")
    numbers = ItemIdentifier.objects.values_list("code", "item__code", "holds")
    stacks = on_hand_balances().exclude(quantity=0).order_by("location__walk_order", "pk")
    return {
        "places": dict(places),
        "items": {code: rest for code, *rest in items},
        "numbers": [[code, item, format_quantity(holds)] for code, item, holds in numbers],
        "stacks": [
            [item, place, lot or "", format_quantity(quantity)]
            for item, place, lot, quantity in stacks.values_list(
                "item__code", "location__code", "lot__code", "quantity"
            )
        ],
        "ais": {ai: gs1.lengths(ai) for ai in _AIS},
    }
