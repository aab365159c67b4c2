"""Purchase orders on their way: most in time, some late, with axles among them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal
from itertools import islice

from bom.items.models import Item
from bom.people.models import User
from inventory.buying.models import PurchaseOrder, Supplier
from inventory.buying.ordering import Want, raise_orders, release_order
from production.site.demo.history import HELD_BACK, Simulated
from production.site.demo.shop import working_days
from production.site.demo.suppliers import FIRMS, seller

_WEEKS_BEYOND_LEAD = 4
_MOST_LINES = 14


@dataclass(frozen=True)
class Coming:
    """One purchase order: from whom, which of what is short, how many working days from today it is due.

    `share` of the shortfall is on it; a negative number of days is a delivery that has not come.
    """

    firm: str
    held_back: bool
    due_in: int
    share: Decimal


COMING = (
    Coming("AXLES", True, -3, Decimal("0.5")),
    Coming("AXLES", False, 9, Decimal("0.5")),
    Coming("AXLES", False, 24, Decimal("0.6")),
    Coming("ROLLERS", True, -2, Decimal("0.8")),
    Coming("ROLLERS", False, 6, Decimal("0.7")),
    Coming("STEEL", False, 4, Decimal("0.6")),
    Coming("WHEELS", False, 7, Decimal("0.7")),
    Coming("GEAR", True, 5, Decimal("0.9")),
    Coming("GEAR", False, 8, Decimal("0.5")),
    Coming("LIGHTS", False, 3, Decimal("0.6")),
    Coming("FIXINGS", False, 2, Decimal("0.7")),
    Coming("POWDER", False, 6, Decimal("0.7")),
)


@dataclass(frozen=True)
class Purchased:
    suppliers: int
    orders: int
    coming: Sequence[PurchaseOrder] = ()


def add_purchases(
    simulated: Sequence[Simulated],
    weekly: Mapping[str, Decimal],
    suppliers: Mapping[str, Supplier],
    items: Mapping[str, Item],
    today: date,
    by: User,
) -> Purchased:
    """Release a purchase order for each of `COMING` of which anything is short."""
    made: list[PurchaseOrder] = []
    for coming in COMING:
        due_on = in_working_days(today, coming.due_in)
        wants = [
            Want(items[code].pk, suppliers[coming.firm].pk, quantity, due_on)
            for code, quantity in islice(_short(coming, simulated, weekly), _MOST_LINES)
        ]
        for order in raise_orders(wants=wants, by=by):
            release_order(order=order, by=None)
            # Asked for on that very day, whatever the supplier's round: the demonstration needs late ones too.
            order.lines.update(due_on=due_on, wanted_on=due_on)
            # It went out so long ago that the supplier's lead time ends on the due day.
            ordered_on = in_working_days(due_on, -_lead_days(coming.firm))
            PurchaseOrder.objects.filter(pk=order.pk).update(ordered_on=min(ordered_on, today))
            made.append(order)
    return Purchased(len(suppliers), len(made), made)


def in_working_days(today: date, days: int) -> date:
    """The working day so many working days from today, back or forth."""
    if days < 0:
        return working_days(today - timedelta(days=150), today - timedelta(days=1))[days]
    return working_days(today + timedelta(days=1), today + timedelta(days=120))[max(days, 1) - 1]


def _short(
    coming: Coming, simulated: Sequence[Simulated], weekly: Mapping[str, Decimal]
) -> Iterator[tuple[str, Decimal]]:
    """The codes that run short of what the next weeks need, and how many of each are on their way."""
    for one in simulated:
        code = one.thing.code
        if seller(one.thing) != coming.firm or (code in HELD_BACK) != coming.held_back:
            continue
        weeks = Decimal(one.thing.lead_days) / 5 + _WEEKS_BEYOND_LEAD
        short = weekly.get(code, Decimal(0)) * weeks - one.ending
        if short > 0:
            yield code, (short * coming.share).to_integral_value(ROUND_CEILING)


def _lead_days(firm: str) -> int:
    return next(one.lead_days for one in FIRMS if one.key == firm)
