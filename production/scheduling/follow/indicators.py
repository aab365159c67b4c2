"""Indicators of making, as plain arithmetic. Pure.

Throughput rate, allocation ratio and set-up ratio are those of ISO 22400-2:2014 (formulas from memory: the standard
itself was not at hand). On time, schedule adherence and work in progress are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median


@dataclass(frozen=True)
class Execution:
    """One finished order: when it was begun and finished, the day it was held to, and minutes its work took."""

    order: str
    begun_at: datetime
    finished_at: datetime
    due_on: date
    busy_minutes: float

    @property
    def execution_minutes(self) -> float:
        """Actual order execution time (AOET): from the first beginning to the last end, closed hours with it."""
        return (self.finished_at - self.begun_at).total_seconds() / 60

    def is_on_time(self, finished_on: date) -> bool:
        return finished_on <= self.due_on


def throughput_rate(produced: float, execution_minutes: float) -> float | None:
    """Throughput rate = produced quantity ÷ actual order execution time, here pieces an hour."""
    return produced / (execution_minutes / 60) if execution_minutes > 0 else None


def allocation_ratio(busy_minutes: float, execution_minutes: float) -> float | None:
    """Allocation ratio = sum of actual unit busy times of an order ÷ its actual order execution time."""
    return busy_minutes / execution_minutes if execution_minutes > 0 else None


def setup_ratio(setup_minutes: float, processing_minutes: float) -> float | None:
    """Set-up ratio = actual unit set-up time ÷ actual unit processing time, which has the set-up in it."""
    return setup_minutes / processing_minutes if processing_minutes > 0 else None


def share(part: int, whole: int) -> float | None:
    """On time: orders finished by their day ÷ finished. Adherence: operations begun on the planned day ÷ begun."""
    return part / whole if whole else None


@dataclass(frozen=True)
class Correction:
    """What finished operations of one process say of its standard times."""

    process: str
    operations: int
    planned_minutes: float
    actual_minutes: float
    middle: float

    @property
    def factor(self) -> float:
        """Actual ÷ planned over all of them."""
        return self.actual_minutes / self.planned_minutes

    @property
    def is_worth_it(self) -> bool:
        """Off by more than one in twenty, and half of the operations on that side too: not a few that went wrong."""
        return abs(self.factor - 1) > 0.05 and (self.middle - 1) * (self.factor - 1) > 0


def correction_of(process: str, times: Sequence[tuple[float, float]], fewest: int) -> Correction | None:
    """From (planned, actual) minutes; none for fewer than `fewest` operations."""
    if len(times) < fewest:
        return None
    return Correction(
        process,
        len(times),
        sum(planned for planned, _ in times),
        sum(actual for _, actual in times),
        median(actual / planned for planned, actual in times),
    )
