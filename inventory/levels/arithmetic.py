"""Reorder levels and order quantities: the arithmetic, with its working.

All quantities are in the item's stock unit, all days are working days (Monday to Friday). Nothing here knows
the database.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal
from statistics import NormalDist, fmean, stdev

from inventory.levels.counts import FEW, Counted, counted_point

WEEKEND = (5, 6)
DAYS_A_WEEK = 5
WEIGHING = ("economic", "least_average", "least_total")
"""Lot rules that weigh the cost of orders against that of keeping stock."""

FEWEST_DELIVERIES = 3
"""Fewer deliveries than this say nothing about how reliable a lead time is."""


@dataclass(frozen=True)
class Demand:
    """What is used of an item in a day: mean and standard deviation over `days` working days.

    `weeks` is from how many whole weeks the deviation comes, 0 where it comes from the single days. `method` names
    the forecast that both come from, empty for the history itself.
    """

    days: int
    mean: float
    deviation: float
    weeks: int = 0
    method: str = ""


@dataclass(frozen=True)
class LeadTime:
    """Working days from order to delivery: mean, standard deviation, and from how many deliveries."""

    mean: float
    deviation: float = 0.0
    deliveries: int = 0


@dataclass(frozen=True)
class ReorderPoint:
    """When to buy again, with everything that was put in.

    `point` = `used_meanwhile` + `safety`; `used_meanwhile` = mean × lead time;
    `safety` = z × sqrt(lead time × daily deviation² + mean² × lead time deviation²). Where few pieces are used in a
    lead time they are `counted` instead, and `safety` is what the point leaves above the use.
    """

    demand: Demand
    lead: LeadTime
    service_level: float
    z: float
    used_meanwhile: float
    deviation_meanwhile: float
    safety: float
    point: float
    counted: Counted | None = None

    @property
    def point_rounded(self) -> Decimal:
        """The point as it is kept, to four places."""
        return Decimal(self.point).quantize(Decimal("0.0001"))


@dataclass(frozen=True)
class LotRule:
    """How an item's order quantity is rounded: rule as in `Item.LotRule`, lot size, supplier's pack.

    For the rules that weigh costs, `size` is the quantity they lead to (see `inventory.levels.quantities`).
    """

    rule: str = "as_needed"
    size: Decimal = Decimal(0)
    pack: Decimal = Decimal(0)


def daily_demand(used: Iterable[float], days: int) -> Demand:
    """Mean and sample standard deviation of daily use.

    Args:
        used: what was used on each day with any use; the other days count as nothing.
        days: working days looked at, at least as many as `used` has.

    Raises:
        ValueError: more days with use than days, or a negative number of days.
    """
    history = [float(quantity) for quantity in used]
    if days < len(history):
        raise ValueError(f"{len(history)} days with use cannot lie within {days} days.")
    if days == 0:
        return Demand(0, 0.0, 0.0)
    mean = math.fsum(history) / days
    squares = math.fsum((quantity - mean) ** 2 for quantity in history) + (days - len(history)) * mean**2
    return Demand(days, mean, math.sqrt(squares / (days - 1)) if days > 1 else 0.0)


def lead_time(deliveries: Iterable[int], promised: int) -> LeadTime:
    """The lead time as delivered, or as promised where fewer than three deliveries are known."""
    seen = list(deliveries)
    if len(seen) < FEWEST_DELIVERIES:
        return LeadTime(float(promised), 0.0, len(seen))
    return LeadTime(fmean(seen), stdev(seen), len(seen))


def weekly_demand(weeks: Sequence[float], *, total: float, days: int) -> Demand:
    """Daily use from whole weeks: the mean is `total` over the working `days`; the deviation of a day is that of a
    week over the root of the working days in one, as for days independent of each other. Which weekday things are
    fetched on then makes no difference.

    Raises:
        ValueError: fewer than two weeks, or no days.
    """
    if len(weeks) < 2 or days <= 0:
        raise ValueError("A deviation takes two weeks at least, and days.")
    return Demand(days, total / days, stdev(weeks) / math.sqrt(DAYS_A_WEEK), len(weeks))


def reorder_point(
    *, demand: Demand, lead: LeadTime, service_level: float, in_pieces: bool = False
) -> ReorderPoint:
    """The stock (on the shelf, not kept, and on order) under which to buy again.

    Use in a day and lead time are taken as independent and their sum as normal; then
    R = m·L + z·sqrt(L·s² + m²·s_L²), with z the normal quantile of the service level, the chance of not running
    out in one lead time. Textbook formula; worked examples with their sources stand in
    tests/outside/test_levels.py.

    With `in_pieces`, fewer than ten pieces used in a lead time are counted: R is the least whole number that lasts
    with the service level (`counts.counted_point`), and the point is R + 1, because the shelf is refilled when it
    falls under its level.

    Raises:
        ValueError: the service level is not strictly between 0 and 1, or a figure is negative.
    """
    if not 0 < service_level < 1:
        raise ValueError(f"A service level lies between 0 and 1; {service_level} does not.")
    if min(demand.mean, demand.deviation, lead.mean, lead.deviation) < 0:
        raise ValueError("Use and lead time cannot be negative.")
    z = NormalDist().inv_cdf(service_level)
    used_meanwhile = demand.mean * lead.mean
    deviation = math.sqrt(lead.mean * demand.deviation**2 + demand.mean**2 * lead.deviation**2)
    safety = z * deviation
    if in_pieces and 0 < used_meanwhile < FEW:
        counted = counted_point(mean=used_meanwhile, variance=deviation**2, service_level=service_level)
        safety, point = counted.point - used_meanwhile, float(counted.point + 1)
        return ReorderPoint(demand, lead, service_level, z, used_meanwhile, deviation, safety, point, counted)
    return ReorderPoint(
        demand, lead, service_level, z, used_meanwhile, deviation, safety, max(0.0, used_meanwhile + safety)
    )


def order_quantity(short_by: Decimal, lot: LotRule, *, daily_mean: Decimal = Decimal(0)) -> Decimal:
    """How much to buy when `short_by` is missing: by the lot rule, then up to whole packs.

    With the rule "days of need together" the use of `size` more days is bought along.
    """
    if short_by <= 0:
        return Decimal(0)
    quantity = short_by
    if lot.rule in ("fixed", "multiple") and lot.size > 0:
        quantity = up_to_multiple(short_by, lot.size)
    elif lot.rule in ("minimum", *WEIGHING):
        quantity = max(short_by, lot.size)
    elif lot.rule == "periods":
        quantity = short_by + daily_mean * lot.size
    return up_to_multiple(quantity, lot.pack) if lot.pack > 0 else quantity


def up_to_multiple(quantity: Decimal, step: Decimal) -> Decimal:
    """The smallest multiple of `step` (above zero) that is at least `quantity`."""
    return (quantity / step).to_integral_value(ROUND_CEILING) * step


def working_days(first: date, last: date) -> int:
    """Working days from `first` to `last`, both counted; none where `last` is before `first`. Holidays count."""
    days = (last - first).days + 1
    if days <= 0:
        return 0
    weeks, rest = divmod(days, 7)
    return weeks * 5 + sum((first.weekday() + day) % 7 not in WEEKEND for day in range(rest))


def on_working_day(day: date) -> date:
    """The day itself, or the Friday before a weekend."""
    return day - timedelta(days=max(0, day.weekday() - 4))


def after_working_days(start: date, days: int) -> date:
    """The working day that lies `days` working days after `start`."""
    day = on_working_day(start)
    weeks, rest = divmod(days, 5)
    day += timedelta(weeks=weeks)
    for _ in range(rest):
        day += timedelta(days=3 if day.weekday() == 4 else 1)
    return day
