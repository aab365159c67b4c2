"""Suggestions to buy, gathered by supplier, with what to add where the order falls short of his minimum."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q
from django.utils import timezone

from inventory.buying.models import PurchaseOrder, Supplier, SupplierItem
from inventory.buying.ordering import breaks_of
from inventory.buying.pricing import Break, delivery_day, unit_price, value
from inventory.levels.arithmetic import after_working_days, up_to_multiple
from production.planning.models import Plan, Suggestion

MOST_LATER = 6


@dataclass(frozen=True)
class Row:
    """A suggestion as it would stand on an order: whole packs, today's price, and why it is ticked.

    `is_due` says that it begins by the day asked for; `fills` that it is proposed to reach the minimum value.
    """

    suggestion: Suggestion
    quantity: Decimal
    price: Decimal
    value: Decimal
    is_due: bool
    fills: bool

    @property
    def is_ticked(self) -> bool:
        return self.is_due or self.fills


@dataclass(frozen=True)
class Gathered:
    """One supplier's rows, the soonest to begin first; `short` is what the due ones lack to his minimum.

    Of what comes later only the next few are shown; `left_out` counts the others.
    """

    supplier: Supplier
    rows: list[Row]
    due_value: Decimal
    short: Decimal
    filled_value: Decimal
    next_round: date | None
    left_out: int

    @property
    def is_reached(self) -> bool:
        return self.filled_value >= self.supplier.minimum_value


def unbought(plan: Plan | None) -> list[Suggestion]:
    """Suggestions to buy that stand on no open purchase order, the soonest to begin first. One query."""
    open_line = Q(purchase_line__isnull=False) & ~Q(purchase_line__order__state=PurchaseOrder.State.CANCELLED)
    rows = Suggestion.objects.filter(plan=plan, kind=Suggestion.Kind.BUY).exclude(open_line)
    return list(rows.select_related("item").order_by("begin_on", "number"))


def by_supplier(plan: Plan | None, *, until: date) -> list[Gathered]:
    """By the supplier we would choose, those with something to begin by `until`. Three queries."""
    rows = unbought(plan)
    sold = _chosen(rows)
    breaks = breaks_of(sold.values())
    groups: dict[Supplier, list[Suggestion]] = defaultdict(list)
    for row in rows:
        if row.item_id in sold:
            groups[sold[row.item_id].supplier].append(row)
    found = [
        _gathered(supplier, group, sold, breaks, until=until, already=Decimal(0))
        for supplier, group in groups.items()
    ]
    due = [one for one in found if any(row.is_due for row in one.rows)]
    return sorted(due, key=lambda one: one.supplier.name)


def for_order(order: PurchaseOrder, plan: Plan | None, worth: Decimal) -> Gathered:
    """What could be added to a draft worth so much, ticked until the minimum is reached. Three queries."""
    rows = unbought(plan)
    sold = {
        row.item_id: row
        for row in SupplierItem.objects.filter(
            supplier=order.supplier_id, item_id__in=[row.item_id for row in rows]
        ).select_related("supplier", "item")
    }
    group = [row for row in rows if row.item_id in sold]
    nothing_due = date.min
    return _gathered(order.supplier, group, sold, breaks_of(sold.values()), until=nothing_due, already=worth)


def _chosen(rows: Iterable[Suggestion]) -> dict[int, SupplierItem]:
    """By item the preferred supplier's row, else the cheapest, as an order would choose."""
    sold: dict[int, SupplierItem] = {}
    offers = SupplierItem.objects.filter(item_id__in={row.item_id for row in rows})
    for offer in offers.select_related("supplier").order_by("-is_preferred", "price", "pk"):
        sold.setdefault(offer.item_id, offer)
    return sold


def _gathered(
    supplier: Supplier,
    group: Sequence[Suggestion],
    sold: Mapping[int, SupplierItem],
    breaks: Mapping[int, list[Break]],
    *,
    until: date,
    already: Decimal,
) -> Gathered:
    today = timezone.localdate()
    priced = []
    for row in group:
        offer = sold[row.item_id]
        quantity = up_to_multiple(row.quantity, offer.pack)
        price = unit_price(offer.price, breaks[offer.pk], quantity=quantity, day=today)
        priced.append((row, quantity, price, value(quantity, price)))
    due_value = already + sum((worth for row, _, _, worth in priced if row.begin_on <= until), Decimal(0))
    filled, rows = due_value, []
    for row, quantity, price, worth in priced:
        is_due = row.begin_on <= until
        fills = not is_due and filled < supplier.minimum_value
        filled += worth if fills else Decimal(0)
        rows.append(Row(row, quantity, price, worth, is_due, fills))
    short = max(Decimal(0), supplier.minimum_value - due_value)
    later = [row for row in rows if not row.is_ticked]
    shown = [row for row in rows if row.is_ticked] + later[:MOST_LATER]
    left_out = len(later) - len(later[:MOST_LATER])
    return Gathered(supplier, shown, due_value, short, filled, _next_round(supplier, today), left_out)


def _next_round(supplier: Supplier, today: date) -> date | None:
    """The first of the supplier's rounds that something ordered today could come with."""
    if supplier.delivery_weekday is None:
        return None
    earliest = after_working_days(today, supplier.lead_days)
    return delivery_day(earliest, earliest=earliest, weekday=supplier.delivery_weekday)
