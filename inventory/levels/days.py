"""Working days as the levels count them. Pure: the days that are worked come from outside.

Weeks are ISO weeks, named by their Monday.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

DAY = timedelta(days=1)
WEEK = timedelta(days=7)


class WorkDays:
    """The days worked between `first` and `last`, both counted; beyond them Monday to Friday."""

    def __init__(self, first: date, last: date, worked: Iterable[date]) -> None:
        inside = {day.toordinal() for day in worked if first <= day <= last}
        margin = 3 * 366
        self._open = [
            *(day.toordinal() for day in _weekdays(first - margin * DAY, first - DAY)),
            *sorted(inside),
            *(day.toordinal() for day in _weekdays(last + DAY, last + margin * DAY)),
        ]

    def is_worked(self, day: date) -> bool:
        at = bisect_left(self._open, day.toordinal())
        return at < len(self._open) and self._open[at] == day.toordinal()

    def on_or_before(self, day: date) -> date:
        """The day itself where it is worked, else the last worked day before it."""
        return date.fromordinal(self._open[max(0, bisect_right(self._open, day.toordinal()) - 1)])

    def count(self, first: date, last: date) -> int:
        """Days worked from `first` to `last`, both counted; none where `last` is before `first`."""
        return max(0, bisect_right(self._open, last.toordinal()) - bisect_left(self._open, first.toordinal()))

    def after(self, start: date, days: int) -> date:
        """The day worked that lies `days` working days after `start` (or the worked day before it)."""
        at = max(0, bisect_right(self._open, start.toordinal()) - 1) + days
        return date.fromordinal(self._open[min(at, len(self._open) - 1)])


def five_day_week(first: date, last: date) -> WorkDays:
    """Monday to Friday, where no calendar has been entered."""
    return WorkDays(first, last, _weekdays(first, last))


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def mondays(first: date, last: date) -> list[date]:
    """The Mondays of the weeks that lie wholly from `first` to `last`."""
    start = monday_of(first + timedelta(days=6))
    count = ((last - start).days + 1) // 7
    return [start + number * WEEK for number in range(max(0, count))]


def _weekdays(first: date, last: date) -> Iterator[date]:
    for ordinal in range(first.toordinal(), last.toordinal() + 1):
        if (ordinal - 1) % 7 < 5:  # ordinal 1 was a Monday
            yield date.fromordinal(ordinal)
