"""How long deliveries took and whether they kept their day: the arithmetic. Nothing here knows the database.

Days are working days (Monday to Friday), counted from the day of the order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean, stdev

from inventory.levels.arithmetic import working_days


@dataclass(frozen=True)
class LineRecord:
    """One purchase line as it went: ordered, promised, first seen, complete (none: still out).

    `days` is the lead time, from the order to the first delivery; `is_on_time` whether all of it was there by the
    day promised; none where that day has not come yet. A load sent out for work has no item.
    """

    line_id: int
    order_number: str
    position: int
    item_id: int | None
    supplier_id: int
    ordered_on: date
    promised_on: date
    came_on: date | None
    complete_on: date | None
    days: int | None
    is_on_time: bool | None

    @property
    def days_late(self) -> int:
        """Calendar days by which the last of it came after its day; none where it did not."""
        return max(0, (self.complete_on - self.promised_on).days) if self.complete_on else 0


@dataclass(frozen=True)
class Record:
    """Mean and sample standard deviation of the lead times, and how many of those due came by their day.

    `deviation` is 0 for fewer than two deliveries; `lines` are the rows behind every figure, latest order first.
    """

    deliveries: int
    mean: float
    deviation: float
    due: int
    on_time: int
    lines: tuple[LineRecord, ...]

    @property
    def share_on_time(self) -> float | None:
        return self.on_time / self.due if self.due else None

    @property
    def lead_days(self) -> list[int]:
        """The lead times, the shortest first."""
        return sorted(line.days for line in self.lines if line.days is not None)


def lead_days(ordered_on: date, came_on: date) -> int:
    """Working days from the order to the delivery; 0 for the same day, and never below."""
    return max(0, working_days(ordered_on, came_on) - 1)


def line_record(
    *,
    line_id: int,
    order_number: str,
    position: int,
    item_id: int | None,
    supplier_id: int,
    ordered_on: date,
    promised_on: date,
    came_on: date | None,
    complete_on: date | None,
    today: date,
) -> LineRecord:
    """A line's record as of `today`. What is still out after its day counts as not on time."""
    on_time: bool | None = None
    if complete_on is not None:
        on_time = complete_on <= promised_on
    elif promised_on < today:
        on_time = False
    days = None if came_on is None else lead_days(ordered_on, came_on)
    return LineRecord(
        line_id,
        order_number,
        position,
        item_id,
        supplier_id,
        ordered_on,
        promised_on,
        came_on,
        complete_on,
        days,
        on_time,
    )


def summarise(lines: Iterable[LineRecord]) -> Record:
    """The record of some lines."""
    rows = tuple(sorted(lines, key=lambda line: (line.ordered_on, line.line_id), reverse=True))
    days = [line.days for line in rows if line.days is not None]
    judged = [line.is_on_time for line in rows if line.is_on_time is not None]
    return Record(
        deliveries=len(days),
        mean=fmean(days) if days else 0.0,
        deviation=stdev(days) if len(days) > 1 else 0.0,
        due=len(judged),
        on_time=sum(judged),
        lines=rows,
    )


def percentile(values: Sequence[int], percent: int) -> int:
    """The nearest-rank percentile: the least value with at least `percent` of 100 values at or below it.

    No value is made up between two: the answer is a lead time that was really seen. Definition by nearest rank as
    in Hyndman and Fan, "Sample Quantiles in Statistical Packages", The American Statistician 50 (1996), type 1.

    Raises:
        ValueError: no values, or a percentage outside 1 to 100.
    """
    if not values or not 1 <= percent <= 100:
        raise ValueError(f"There is no {percent}th percentile of {len(values)} values.")
    ordered = sorted(values)
    return ordered[math.ceil(len(ordered) * percent / 100) - 1]


@dataclass(frozen=True)
class PlanningLead:
    """The lead time to plan by, in working days, and why: measured where enough deliveries are known, else stated."""

    days: int
    stated_days: int
    is_measured: bool
    percent: int
    fewest: int
    record: Record


def planning_lead(record: Record, *, stated_days: int, percent: int, fewest: int) -> PlanningLead:
    """Plan by the `percent` percentile of what was measured if at least `fewest` deliveries are known."""
    is_measured = record.deliveries >= max(1, fewest)
    days = percentile(record.lead_days, percent) if is_measured else stated_days
    return PlanningLead(days, stated_days, is_measured, percent, fewest, record)
