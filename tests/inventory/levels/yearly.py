"""A year of use for tests: so many used each Monday, fetched in by need."""

import uuid
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from bom.items.models import Item
from inventory.stock import ledger

# A Friday.
TODAY = date(2026, 11, 20)
THIS_MONDAY = date(2026, 11, 16)


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def post(room, item, quantity, source, target, day, kind):
    return ledger.post(
        key=f"test:{uuid.uuid4().hex}",
        kind=kind,
        lines=room.both(item, Decimal(quantity), source, target),
        by=room.keeper,
        happened_at=noon(day),
    )


def use(room, item, weekly, *, stock=10_000, lead_days=10):
    """The weekly quantities, the last one used last week; `stock` was brought the Friday before the first."""
    Item.objects.filter(pk=item.pk).update(lead_days=lead_days)
    first = THIS_MONDAY - timedelta(weeks=len(weekly))
    post(room, item, stock, "SUPPLIER", "A1", first - timedelta(days=3), "receipt")
    return [
        post(room, item, used, "A1", "KIT", first + timedelta(weeks=number), "issue") if used else None
        for number, used in enumerate(weekly)
    ]
