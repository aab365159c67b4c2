"""What a quantity costs, and on which day a supplier comes: the arithmetic. Nothing here knows the database."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_EVEN, Decimal

PENNY = Decimal("0.01")


@dataclass(frozen=True)
class Break:
    """One stock unit costs `price` from `from_quantity` on, from the first to the last day (none: open end)."""

    from_quantity: Decimal
    price: Decimal
    valid_from: date
    valid_until: date | None = None

    def holds(self, quantity: Decimal, day: date) -> bool:
        is_valid = self.valid_from <= day and (self.valid_until is None or day <= self.valid_until)
        return is_valid and quantity >= self.from_quantity


def unit_price(base: Decimal, breaks: Iterable[Break], *, quantity: Decimal, day: date) -> Decimal:
    """The price of one stock unit when so many are ordered on a day.

    Of the breaks that hold, the one with the largest quantity counts; of two for the same quantity, the one that
    began last. Without any, the base price.
    """
    holding = [one for one in breaks if one.holds(quantity, day)]
    if not holding:
        return base
    return max(holding, key=lambda one: (one.from_quantity, one.valid_from)).price


def next_break(
    base: Decimal, breaks: Iterable[Break], *, quantity: Decimal, day: date
) -> tuple[Decimal, Decimal] | None:
    """The next larger quantity whose whole value is not above what `quantity` costs now, with its price.

    That is a quantity for which more goods cost no more money; none where there is no such break.
    """
    rows = list(breaks)
    now = value(quantity, unit_price(base, rows, quantity=quantity, day=day))
    larger = sorted({one.from_quantity for one in rows if one.from_quantity > quantity})
    for step in larger:
        price = unit_price(base, rows, quantity=step, day=day)
        if value(step, price) <= now:
            return step, price
    return None


def value(quantity: Decimal, price: Decimal) -> Decimal:
    """What a line comes to, rounded to the penny, half to even."""
    return (quantity * price).quantize(PENNY, rounding=ROUND_HALF_EVEN)


def delivery_day(wanted: date, *, earliest: date, weekday: int | None) -> date:
    """The day to ask for: the supplier's last round on or before the day wanted, if he can make that one.

    `earliest` is when he could come at all; where the round before the day wanted lies earlier, his first round
    from `earliest` on is taken. A supplier without a weekday (0 Monday … 6 Sunday) is asked for the day wanted, or
    for the earliest.
    """
    if weekday is None:
        return max(wanted, earliest)
    before = wanted - timedelta(days=(wanted.weekday() - weekday) % 7)
    if before >= earliest:
        return before
    return earliest + timedelta(days=(weekday - earliest.weekday()) % 7)
