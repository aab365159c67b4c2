"""Blind counts from the phone, one thing at a time. Each goes on a count sheet with the moment it was counted; what
differs is posted only when somebody has approved the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Q

from bom.items.models import Item
from bom.people.models import User
from inventory.stock.models import Location, Lot
from inventory.stores import count_sheets, stocktaking
from inventory.stores.models import CountLine, CountSheet

NOTE = "counted by hand"
COUNTING = CountSheet.State.COUNTING


@dataclass(frozen=True)
class HandCount:
    """Where a count was written down, and whether it is to be made again."""

    line: CountLine
    is_to_be_counted_again: bool


@transaction.atomic
def count_by_hand(
    *,
    item: Item,
    location: Location,
    lot: Lot | None,
    counted: Decimal,
    counted_at: datetime,
    by: User | None,
    key: str,
) -> HandCount:
    """Write a count down: on the open sheet that asks for it, else on the place's, else on the counter's own.

    Raises:
        ProblemError: the place is not in the house, a lot is missing, or the quantity cannot be.
    """
    line = (
        CountLine.objects.filter(sheet__state=COUNTING, item=item, location=location, lot=lot)
        .select_related("sheet")
        .order_by("sheet_id")
        .first()
    )
    if line is None:
        sheet = _sheet_for(location, by, key)
        line = count_sheets.add_line(sheet=sheet, item=item, location=location, lot=lot, by=by)
    finding = stocktaking.Finding(line, counted, counted_at)
    again = stocktaking.record(sheet=line.sheet, findings=[finding], by=by, key=key)
    return HandCount(line, bool(again))


def still_to_count(limit: int) -> list[CountLine]:
    """Lines of open sheets that nobody has counted, or that are to be counted again, in walking order. One query."""
    wanted = Q(entries=None) | Q(is_recount_asked=True)
    rows = CountLine.objects.filter(wanted, sheet__state=COUNTING).distinct()
    return list(rows.select_related("sheet", "item__colour", "location", "lot")[:limit])


def _sheet_for(location: Location, by: User | None, key: str) -> CountSheet:
    open_sheets = CountSheet.objects.filter(state=COUNTING).order_by("pk")
    own = open_sheets.filter(location=None, made_by=by, note=NOTE)
    return (
        open_sheets.filter(location=location).first()
        or own.first()
        or count_sheets.begin_bare(by=by, key=f"{key}:sheet", note=NOTE)
    )
