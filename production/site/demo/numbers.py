"""Article numbers on the invented suppliers' boxes.

They begin with 29, which GS1 keeps for numbers that circulate inside a firm only: they belong to no real one.
"""

from collections.abc import Sequence
from decimal import Decimal

from bom.items.models import Item, ItemIdentifier
from bom.kernel.gs1 import check_digit, gtin

_BOX_OF_TEN = {"rollers", "lights"}


def add_numbers(items: Sequence[Item]) -> list[ItemIdentifier]:
    """A GTIN for each bought item, and one for the box of ten where it comes so; by the order of their codes."""
    bought = sorted((item for item in items if item.kind == Item.Kind.BOUGHT), key=lambda item: item.code)
    rows = [
        ItemIdentifier(item=item, kind=ItemIdentifier.Kind.GTIN, code=_number(place * 2), holds=Decimal(1))
        for place, item in enumerate(bought, start=1)
    ]
    rows += [
        ItemIdentifier(
            item=item, kind=ItemIdentifier.Kind.GTIN, code=_number(place * 2 + 1), holds=Decimal(10)
        )
        for place, item in enumerate(bought, start=1)
        if item.group in _BOX_OF_TEN
    ]
    return ItemIdentifier.objects.bulk_create(rows)


def _number(place: int) -> str:
    body = f"29{place:010d}"
    return gtin(f"{body}{check_digit(body)}")
