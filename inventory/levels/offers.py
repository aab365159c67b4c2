"""Who would sell us an item, and how."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bom.items.models import Item
from inventory.levels.arithmetic import after_working_days


@dataclass(frozen=True)
class Offer:
    """What a supplier asks for an item: price of one stock unit, pack, working days to deliver."""

    supplier_id: int
    supplier_name: str
    price: Decimal
    pack: Decimal
    lead_days: int
    their_code: str = ""

    def arrives_on(self, today: date) -> date:
        return after_working_days(today, self.lead_days)


def offers(item_ids: Iterable[int]) -> dict[int, Offer]:
    """The supplier we would choose for each item: the preferred one, else the cheapest. One query."""
    rows = (
        Item.objects.filter(pk__in=set(item_ids), suppliers__isnull=False)
        .order_by("suppliers__is_preferred", "-suppliers__price", "-suppliers__pk")
        .values_list(
            "pk",
            "suppliers__supplier_id",
            "suppliers__supplier__name",
            "suppliers__price",
            "suppliers__pack",
            "suppliers__lead_days",
            "suppliers__their_code",
        )
    )
    # The last one written stays: preferred before not preferred, cheap before dear.
    return {row[0]: Offer(*row[1:]) for row in rows}


def whole(item: Item) -> Decimal:
    """Pieces and sets are bought whole even where no pack is known."""
    return Decimal(1) if item.unit in (Item.Unit.PIECE, Item.Unit.SET) else Decimal(0)
