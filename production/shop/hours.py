"""Opening hours worked out: when a station is open, which days are worked, when the lorry calls and is back.

Plain data in and out. Hours are local; a `Clock` turns them to whole minutes since the start of a horizon, counted
as they really pass, so that a night with a change of the clock is an hour shorter or longer.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

MINUTE = timedelta(minutes=1)
DAY = timedelta(days=1)
# A calendar closed for longer than this has been left without any hours; counting on would never end.
LONGEST_CLOSURE_DAYS = 400


@dataclass(frozen=True)
class Shift:
    """Open from `starts` to `ends` (local time) on a weekday, 0 Monday to 6 Sunday."""

    weekday: int
    starts: time
    ends: time


@dataclass(frozen=True)
class DifferentDay:
    """One date that differs: closed, or (with hours) an extra shift besides the usual ones."""

    date: date
    is_open: bool
    starts: time | None = None
    ends: time | None = None
    reason: str = ""


@dataclass(frozen=True)
class Hours:
    """The hours of one calendar. `extra` is worked besides, also on a day that the calendar closes."""

    shifts: tuple[Shift, ...] = ()
    different: tuple[DifferentDay, ...] = ()
    extra: tuple[DifferentDay, ...] = ()

    def on(self, day: date) -> list[tuple[time, time]]:
        """The open hours of a date, in order, touching and overlapping ones put together."""
        spans = [(shift.starts, shift.ends) for shift in self.shifts if shift.weekday == day.weekday()]
        different = [other for other in self.different if other.date == day]
        if any(not other.is_open for other in different):
            spans, different = [], []
        for other in (*different, *(one for one in self.extra if one.date == day)):
            if other.starts and other.ends and other.starts < other.ends:
                spans.append((other.starts, other.ends))
        return _merged(spans)

    def is_open(self, day: date) -> bool:
        return bool(self.on(day))


@dataclass(frozen=True)
class Stand:
    """Time in which `units` of a work centre stand still; none means all of them."""

    starts_at: datetime
    ends_at: datetime
    units: int | None = None


@dataclass(frozen=True)
class Window:
    """Minutes since the horizon's start in which `units` of a work centre may work."""

    start: int
    end: int
    units: int

    @property
    def minutes(self) -> int:
        """Minutes of work that fit, over all units."""
        return (self.end - self.start) * self.units


@dataclass(frozen=True)
class Clock:
    """Minutes since `starts_at` (aware), and back. `zone` is where the workshop stands."""

    starts_at: datetime
    zone: ZoneInfo

    @property
    def first_day(self) -> date:
        return self.starts_at.astimezone(self.zone).date()

    def minute(self, moment: datetime) -> int:
        """Whole minutes from the start to `moment`, rounded down; below 0 before the start."""
        return _between(self.starts_at, moment) // MINUTE

    def moment(self, minute: int) -> datetime:
        """The aware moment so many minutes after the start, in local time."""
        return (self.starts_at.astimezone(UTC) + minute * MINUTE).astimezone(self.zone)

    def local(self, day: date, at: time) -> datetime:
        """A local time of a date as an aware moment. A time that the clock leaves out counts as the hour after."""
        return datetime.combine(day, at, self.zone).astimezone(UTC).astimezone(self.zone)

    def day_of(self, minute: int) -> date:
        return self.moment(minute).date()

    def start_of(self, day: date) -> int:
        """The minute at which a date begins; below 0 before the horizon."""
        return self.minute(self.local(day, time.min))

    def end_of(self, day: date) -> int:
        """The minute at which a date ends."""
        return self.start_of(day + DAY)


def open_windows(
    hours: Hours, clock: Clock, days: int, units: int = 1, stands: Sequence[Stand] = ()
) -> tuple[Window, ...]:
    """When a work centre is open within `days` days of the horizon's first date, and with how many units.

    Windows come in order and do not overlap; a window ends where the number of units changes.
    """
    found: list[Window] = []
    for day in _dates(clock.first_day, days):
        for starts, ends in hours.on(day):
            start = max(0, clock.minute(clock.local(day, starts)))
            end = clock.minute(clock.local(day, ends))
            if start < end:
                found += _split(start, end, units, stands, clock)
    return tuple(found)


def minutes_by_day(windows: Iterable[Window], clock: Clock) -> dict[date, int]:
    """Minutes of work that fit on each date, over all units."""
    found: dict[date, int] = {}
    for window in windows:
        day = clock.day_of(window.start)
        found[day] = found.get(day, 0) + window.minutes
    return found


def shift_days(day: date, count: int, hours: Hours) -> date:
    """`count` working days after `day` (before, if below 0).

    Nothing is moved by a count of 0, even from a closed day. A calendar with no open day at all counts weekdays
    from Monday to Friday, so that a new workshop gets a date instead of an error.
    """
    step = DAY if count > 0 else -DAY
    left, closed = abs(count), 0
    while left:
        day += step
        if hours.is_open(day) or (closed > LONGEST_CLOSURE_DAYS and day.weekday() < 5):
            left -= 1
        closed = 0 if hours.is_open(day) else closed + 1
    return day


def next_open(day: date, hours: Hours) -> date:
    """`day` itself if it is worked, else the first working day after it."""
    return day if hours.is_open(day) else shift_days(day, 1, hours)


def days_between(first: date, last: date, hours: Hours) -> int:
    """Working days after `first` up to and with `last`; 0 where `last` is not later."""
    return sum(hours.is_open(day) for day in _dates(first + DAY, (last - first).days))


class WorkingDays:
    """Working days of a stretch of time as ordinals, for counting many times; beyond its ends five days a week."""

    def __init__(self, hours: Hours, first: date, last: date) -> None:
        self._open = [
            day.toordinal() for day in _dates(first, (last - first).days + 1) if hours.is_open(day)
        ] or [day.toordinal() for day in _dates(first, (last - first).days + 7) if day.weekday() < 5]

    def shift(self, day: int, count: int) -> int:
        """The ordinal `count` working days after `day` (before, if below 0); `day` itself for 0."""
        if not count:
            return day
        index = bisect_right(self._open, day) - 1 if count > 0 else bisect_left(self._open, day)
        index += count
        if index < 0:
            return self._open[0] + index * 7 // 5
        if index >= len(self._open):
            return self._open[-1] + -(-(index - len(self._open) + 1) * 7 // 5)
        return self._open[index]

    def before(self, day: int, lead_days: int) -> int:
        """The day that lies `lead_days` before `day`; after it where they are below 0."""
        return self.shift(day, -lead_days)

    def between(self, first: int, last: int) -> int:
        """Working days after `first` up to and with `last`; 0 where `last` is not later."""
        return max(0, bisect_right(self._open, last) - bisect_right(self._open, first))


@dataclass(frozen=True)
class LorryCall:
    """A weekday on which the galvaniser's lorry calls, and what it may take."""

    weekday: int
    leaves_at: time
    back_after_days: int
    max_kg: int
    bath_length_mm: int
    minimum_charge_kg: int = 0


@dataclass(frozen=True)
class Departure:
    """One run of the lorry: it leaves, and its load is back when the shop opens on the day of return."""

    leaves_at: datetime
    back_at: datetime
    call: LorryCall


def departures(
    calls: Sequence[LorryCall], hours: Hours, clock: Clock, days: int, extra: Collection[date] = ()
) -> list[Departure]:
    """Every run within the horizon, in order. The lorry does not call on a day that is not worked.

    On a day of `extra` it calls besides, as on the first of its usual weekdays.
    """
    found = []
    for day in _dates(clock.first_day, days):
        usual = [call for call in calls if call.weekday == day.weekday()] if hours.is_open(day) else []
        for call in usual or (calls[:1] if day in extra else ()):
            leaves = clock.local(day, call.leaves_at)
            if leaves >= clock.starts_at:
                found.append(Departure(leaves, _back_at(day, call, hours, clock), call))
    return sorted(found, key=lambda departure: departure.leaves_at)


def oven_slots(windows: Iterable[Window], batch_minutes: int) -> list[tuple[int, int]]:
    """Start and end of every oven batch that fits into the open windows one after the other, without changes."""
    return [
        (start, start + batch_minutes)
        for window in windows
        for start in range(window.start, window.end - batch_minutes + 1, batch_minutes)
    ]


def _between(first: datetime, last: datetime) -> timedelta:
    """Time that really passes. Moments of one zone are subtracted by their wall clocks, so both go to UTC first."""
    return last.astimezone(UTC) - first.astimezone(UTC)


def _back_at(day: date, call: LorryCall, hours: Hours, clock: Clock) -> datetime:
    returns = shift_days(day, call.back_after_days, hours)
    opened = hours.on(returns)
    return clock.local(returns, opened[0][0] if opened else call.leaves_at)


def _dates(first: date, count: int) -> Iterator[date]:
    return (first + index * DAY for index in range(count))


def _merged(spans: Iterable[tuple[time, time]]) -> list[tuple[time, time]]:
    merged: list[tuple[time, time]] = []
    for starts, ends in sorted(spans):
        if merged and starts <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(ends, merged[-1][1]))
        else:
            merged.append((starts, ends))
    return merged


def _split(start: int, end: int, units: int, stands: Sequence[Stand], clock: Clock) -> Iterator[Window]:
    """The window cut where stands begin and end, without the stretches in which nothing works."""
    stood = [
        (clock.minute(stand.starts_at), -(_between(stand.ends_at, clock.starts_at) // MINUTE), stand.units)
        for stand in stands
    ]
    cuts = {start, end, *(cut for begins, ends, _ in stood for cut in (begins, ends) if start < cut < end)}
    edges = sorted(cuts)
    for left, right in pairwise(edges):
        standing = [count for begins, ends, count in stood if begins < right and ends > left]
        lost = sum(units if count is None else count for count in standing)
        if right > left and units > lost:
            yield Window(left, right, units - lost)
