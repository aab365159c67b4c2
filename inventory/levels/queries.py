"""Shelf alerts: what will fall under its level, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from bom.items.models import Item
from inventory.levels.arithmetic import (
    Demand,
    LeadTime,
    LotRule,
    ReorderPoint,
    after_working_days,
    order_quantity,
    reorder_point,
)
from inventory.levels.costs import weighed_sizes
from inventory.levels.models import ItemLevel
from inventory.levels.offers import Offer, offers, whole
from inventory.stock.queries import Availability, availability

__all__ = ["Offer", "ShelfAlert", "offers", "shelf_alerts", "working"]


@dataclass(frozen=True)
class ShelfAlert:
    """An item whose available stock and what is on order together lie under its reorder level.

    `order_by` is the day to order so that the shelf does not run empty at the mean rate of use; today where
    that day has passed. `offer` is None where nobody sells the item.
    """

    item: Item
    level: ItemLevel
    stock: Availability
    short_by: Decimal
    quantity: Decimal
    offer: Offer | None
    order_by: date
    arrives_on: date | None
    runs_out_on: date | None

    @property
    def value(self) -> Decimal | None:
        """What the suggested quantity costs."""
        return None if self.offer is None else self.offer.price * self.quantity

    @property
    def comes_too_late(self) -> bool:
        """Even ordered today it comes after the shelf has run empty."""
        return bool(self.runs_out_on and self.arrives_on and self.arrives_on > self.runs_out_on)


def shelf_alerts(item_ids: Iterable[int] | None = None, *, today: date | None = None) -> list[ShelfAlert]:
    """Items under their level, the most pressing first. Five queries whatever the number of items,
    eight where an item's lot rule weighs costs."""
    today = today or timezone.localdate()
    levels = ItemLevel.objects.filter(reorder_point__gt=0, item__is_active=True).select_related("item")
    if item_ids is not None:
        levels = levels.filter(item_id__in=set(item_ids))
    watched = {level.item_id: level for level in levels}
    stocks = availability(watched)
    low = {
        item_id: level
        for item_id, level in watched.items()
        if stocks[item_id].available + stocks[item_id].on_order < level.reorder_point
    }
    found = offers(low)
    sizes = weighed_sizes(low.values(), found, today=today)
    alerts = [
        _alert(level, stocks[item_id], found.get(item_id), today, sizes.get(item_id))
        for item_id, level in low.items()
    ]
    return sorted(alerts, key=lambda alert: (alert.order_by, alert.runs_out_on or date.max, alert.item.code))


def working(level: ItemLevel) -> ReorderPoint:
    """The working of a level, from the figures kept beside it."""
    return reorder_point(
        demand=Demand(
            level.days_seen,
            float(level.daily_mean),
            float(level.daily_deviation),
            level.weeks_seen,
            level.method,
        ),
        lead=LeadTime(float(level.lead_days), float(level.lead_deviation_days), level.deliveries_seen),
        service_level=float(level.service_level),
        in_pieces=level.is_counted,
    )


def _alert(
    level: ItemLevel, stock: Availability, offer: Offer | None, today: date, size: Decimal | None
) -> ShelfAlert:
    item = level.item
    coming = stock.available + stock.on_order
    short_by = level.reorder_point - coming
    rule = LotRule(
        item.lot_rule, item.lot_size if size is None else size, offer.pack if offer else whole(item)
    )
    lead_days = offer.lead_days if offer else item.lead_days
    empty = _days_left(coming, level.daily_mean)
    return ShelfAlert(
        item=item,
        level=level,
        stock=stock,
        short_by=short_by,
        quantity=order_quantity(short_by, rule, daily_mean=level.daily_mean),
        offer=offer,
        order_by=today if empty is None else after_working_days(today, max(0, empty - lead_days)),
        arrives_on=offer.arrives_on(today) if offer else None,
        runs_out_on=None if empty is None else after_working_days(today, empty),
    )


def _days_left(coming: Decimal, daily_mean: Decimal) -> int | None:
    """Whole working days until the shelf is empty at the mean rate; none where nothing is used."""
    if coming <= 0:
        return 0
    return int(coming / daily_mean) if daily_mean > 0 else None
