"""The purchase orders behind a year of deliveries, so that lead times and kept days can be measured."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from random import Random

from bom.items.models import Item
from bom.people.models import User
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Receipt, Supplier, SupplierItem
from inventory.stock.models import Posting
from production.site.demo.history import Arrival
from production.site.demo.suppliers import seller

# By how many working days a firm's deliveries slip; each has the same chance. Invented.
_SLIPS: Mapping[str, tuple[int, ...]] = {
    "AXLES": (0, 0, -1, 2, 3, 5),
    "ROLLERS": (0, 0, 0, 1, 2),
    "STEEL": (0,),
}
_USUAL_SLIPS = (0, 0, 0, 0, -1, 1)
_ROWS_AT_ONCE = 500


def add_orders_before(
    arrivals: Sequence[Arrival], suppliers: Mapping[str, Supplier], items: Mapping[str, Item], by: User
) -> int:
    """An order, done, for what a firm brought on a day after the same lead time; returns how many."""
    groups: dict[tuple[date, str, int], list[Arrival]] = defaultdict(list)
    for arrival in arrivals:
        groups[arrival.day, seller(arrival.thing), arrival.thing.lead_days].append(arrival)
    random = Random("deliveries")
    orders, rows = [], []
    for number, ((day, firm, lead_days), group) in enumerate(sorted(groups.items()), start=1):
        slip = max(random.choice(_SLIPS.get(firm, _USUAL_SLIPS)), -lead_days)
        wanted_on = _shifted(day, -slip)
        order = PurchaseOrder(
            number=f"PO-{number:05d}",
            supplier=suppliers[firm],
            state=PurchaseOrder.State.DONE,
            ordered_on=_shifted(wanted_on, -lead_days),
            made_by=by,
        )
        orders.append(order)
        rows.append((order, wanted_on, group))
    PurchaseOrder.objects.bulk_create(orders, batch_size=_ROWS_AT_ONCE)
    _write_lines(rows, items)
    return len(orders)


def _write_lines(
    rows: Sequence[tuple[PurchaseOrder, date, Sequence[Arrival]]], items: Mapping[str, Item]
) -> None:
    prices = {
        (supplier, item): price
        for supplier, item, price in SupplierItem.objects.values_list("supplier_id", "item_id", "price")
    }
    lines, keys = [], []
    for order, wanted_on, group in rows:
        for position, arrival in enumerate(group, start=1):
            item = items[arrival.thing.code]
            lines.append(
                PurchaseOrderLine(
                    order=order,
                    position=position,
                    item=item,
                    quantity=arrival.quantity,
                    asked_quantity=arrival.quantity,
                    received=arrival.quantity,
                    price=prices.get((order.supplier_id, item.pk), Decimal(0)),
                    due_on=wanted_on,
                    wanted_on=wanted_on,
                    confirmed_on=wanted_on,
                )
            )
            keys.append(arrival.key)
    lines = PurchaseOrderLine.objects.bulk_create(lines, batch_size=_ROWS_AT_ONCE)
    postings = dict(Posting.objects.filter(key__startswith="demo:receipt:").values_list("key", "pk"))
    Receipt.objects.bulk_create(
        [
            Receipt(line=line, posting_id=postings[key], quantity=line.quantity)
            for line, key in zip(lines, keys, strict=True)
        ],
        batch_size=_ROWS_AT_ONCE,
    )


def _shifted(day: date, working_days: int) -> date:
    """The day so many working days later, or earlier."""
    step = timedelta(days=1 if working_days > 0 else -1)
    left = abs(working_days)
    while left:
        day += step
        left -= day.weekday() < 5
    return day
