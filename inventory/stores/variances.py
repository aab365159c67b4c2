"""What was counted on a sheet against what the ledger says lay there at that moment."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from inventory.stock.drafts import Spot
from inventory.stock.models import Balance, Movement, Posting
from inventory.stores.count_sheets import spot
from inventory.stores.models import CountEntry, CountLine, CountSheet


@dataclass(frozen=True)
class Variance:
    """What was counted on a line against what the ledger says lay there then, and what the difference is worth."""

    line: CountLine
    entries: tuple[CountEntry, ...]
    book: Decimal
    unit_cost: Decimal

    @property
    def counted(self) -> Decimal:
        return self.entries[-1].quantity

    @property
    def difference(self) -> Decimal:
        return self.counted - self.book

    @property
    def value(self) -> Decimal:
        """The difference at standard cost, in money."""
        return self.difference * self.unit_cost

    @property
    def percent(self) -> Decimal | None:
        """The difference in percent of what the ledger says; none where it says nothing lay there."""
        return abs(self.difference) * 100 / self.book if self.book else None


def variances_of(sheet: CountSheet, *, for_update: bool = False) -> list[Variance]:
    """Every counted line of a sheet with its difference, as the ledger says now. Four queries."""
    lines = list(sheet.lines.select_related("item", "location", "lot"))
    entries: dict[int, list[CountEntry]] = defaultdict(list)
    for entry in CountEntry.objects.filter(line__in=lines).select_related("by").order_by("pk"):
        entries[entry.line_id].append(entry)
    counted = [line for line in lines if entries[line.pk]]
    books = book_at({line.pk: (spot(line), entries[line.pk][-1].counted_at) for line in counted}, for_update)
    return [
        Variance(line, tuple(entries[line.pk]), books[line.pk], line.item.standard_cost) for line in counted
    ]


def book_at(wanted: Mapping[int, tuple[Spot, datetime]], for_update: bool = False) -> dict[int, Decimal]:
    """What the ledger says lay at each spot at a moment: the balance now less what happened since. Two queries.

    What another count put right meanwhile did not happen since: the ledger was wrong before, for this count as well.
    """
    if not wanted:
        return {}
    spots = {one for one, _ in wanted.values()}
    items, places = {one[0] for one in spots}, {one[1] for one in spots}
    rows = Balance.objects.filter(item__in=items, location__in=places).order_by(
        "item_id", "location_id", "lot_id"
    )
    now = {
        (row.item_id, row.location_id, row.lot_id): row.quantity
        for row in (rows.select_for_update() if for_update else rows)
    }
    since: dict[Spot, list[tuple[datetime, Decimal]]] = defaultdict(list)
    moves = Movement.objects.filter(
        item__in=items, location__in=places, happened_at__gt=min(at for _, at in wanted.values())
    ).exclude(posting__kind=Posting.Kind.COUNT)
    moves = moves.exclude(posting__reverses__isnull=False, posting__reverses__kind=Posting.Kind.COUNT)
    for item_id, location_id, lot_id, at, quantity in moves.values_list(
        "item_id", "location_id", "lot_id", "happened_at", "quantity"
    ):
        since[item_id, location_id, lot_id].append((at, quantity))
    return {
        key: now.get(one, Decimal(0))
        - sum((quantity for at, quantity in since[one] if at > moment), Decimal(0))
        for key, (one, moment) in wanted.items()
    }
