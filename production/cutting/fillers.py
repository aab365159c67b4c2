"""Parts for the shelf that fill the gaps of sheets: cut parts with a reorder level, only as many as are wanted."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal

from django.db.models import Count

from inventory.levels.models import ItemLevel
from inventory.stock.queries import availability
from production.cutting.batching import Batch, Flat, Owed
from production.cutting.models import CutBatch, CutPlacement, CutSheet

# A shelf takes so many days' use above its reorder level without harm: common practice, no source.
COVER_DAYS = 20


def shelf_wants(flats: Mapping[int, Flat], owed: Iterable[Owed] = ()) -> dict[int, int]:
    """By item how many more the shelf may take, up to its reorder level and the use of `COVER_DAYS` above it.

    What is free, on order, still on open sheets for the shelf, or owed to the shelf already is taken off. Five queries.
    """
    levels = {
        level.item_id: level for level in ItemLevel.objects.filter(item_id__in=flats, reorder_point__gt=0)
    }
    free = availability(levels)
    coming: Counter[int] = Counter(_on_open_sheets(levels))
    for one in owed:
        if one.order_id is None:
            coming[one.item_id] += one.quantity
    wants = {}
    for item_id, level in levels.items():
        most = level.reorder_point + COVER_DAYS * level.daily_mean
        have = free[item_id].available + free[item_id].on_order + Decimal(coming[item_id])
        count = math.floor(most - have)
        if count > 0:
            wants[item_id] = count
    return wants


def filled_with(batch: Batch) -> Counter[int]:
    """How many of each flat part (by its key) fill the sheets of a batch."""
    return Counter(spot.part_id for sheet in batch.sheets for spot in sheet.spots if spot.is_filler)


def wants_left(
    wants: Mapping[int, int], batches: Iterable[Batch], flats: Mapping[int, Flat]
) -> dict[int, int]:
    """What is still wanted when those batches are cut."""
    taken = sum((filled_with(batch) for batch in batches), Counter[int]())
    return {item_id: count - taken[flats[item_id].pk] for item_id, count in wants.items()}


def _on_open_sheets(item_ids: Iterable[int]) -> dict[int, int]:
    """Parts for the shelf that begun batches still cut: batches nobody has begun are planned anew."""
    rows = (
        CutPlacement.objects.filter(
            part__item_id__in=list(item_ids),
            order__isnull=True,
            state=CutPlacement.State.WAITING,
            sheet__state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN],
            sheet__batch__state=CutBatch.State.BEGUN,
        )
        .values_list("part__item_id")
        .annotate(count=Count("id"))
        .order_by()
    )
    return dict(rows)
