"""What runs short just now: shelves under their level, and the released plan's shortages with today's promises."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.buying.models import PurchaseOrderLine
from inventory.levels.queries import ShelfAlert, shelf_alerts
from production.orders.models import Order
from production.planning.alert_models import Alert
from production.planning.alerting.news import Standing
from production.planning.models import Plan, Shortage

Key = tuple[str, int, int | None]
"""Kind, item and order: what makes two sightings the same alert."""


@dataclass(frozen=True)
class Fact:
    """One sighting, with the row it was seen in."""

    key: Key
    standing: Standing
    shortage: Shortage | None = None
    shelf: ShelfAlert | None = None

    @property
    def item_id(self) -> int:
        return self.key[1]


def facts(plan: Plan | None) -> list[Fact]:
    """Both kinds, in a constant number of queries."""
    return [*_shortages(plan), *(_shelf(alert) for alert in shelf_alerts())]


def _shortages(plan: Plan | None) -> list[Fact]:
    if plan is None:
        return []
    rows = Shortage.objects.filter(plan=plan, order__state__in=Order.OPEN).select_related(
        "order", "item", "suggestion__purchase_line__order", "purchase_line__order"
    )
    found = []
    for row in rows.order_by("pk"):
        standing = _standing(row)
        if standing is not None:
            key = (Alert.Kind.SHORTAGE.value, row.item_id, row.order_id)
            found.append(Fact(key, standing, shortage=row))
    return found


def _standing(row: Shortage) -> Standing | None:
    """The shortage by what the supplier says today; none once the promise is in time, or the goods have come."""
    line = waits_for(row)
    if line is None or line.order.state == "cancelled":
        return Standing(row.quantity, row.needed_on, row.available_on)
    if line.order.state == "draft":
        return Standing(row.quantity, row.needed_on, max(row.available_on, line.due_on))
    if line.received >= line.quantity or line.due_on <= row.needed_on:
        return None
    return Standing(row.quantity, row.needed_on, line.due_on)


def waits_for(row: Shortage) -> PurchaseOrderLine | None:
    """The purchase line that a shortage waits for: the one it was pegged to, or the one raised since."""
    if row.purchase_line is not None:
        return row.purchase_line
    return row.suggestion.purchase_line if row.suggestion is not None else None


def _shelf(alert: ShelfAlert) -> Fact:
    key = (Alert.Kind.SHELF.value, alert.item.pk, None)
    standing = Standing(alert.quantity, alert.runs_out_on, alert.arrives_on)
    return Fact(key, standing, shelf=alert)
