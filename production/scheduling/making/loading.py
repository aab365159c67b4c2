"""How full each work centre is each day: what is open, what the schedule puts there, what due dates alone would ask."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from production.scheduling.making.timetable import Planned
from production.shop.hours import Clock, Window, WorkingDays, minutes_by_day

# Working days before the due date on which each stage would best stand: common practice, no source.
DAYS_BEFORE_DUE: Mapping[str, int] = {
    "inspect": 0,
    "assemble": 1,
    "powder": 2,
    "weld": 4,
    "fold": 5,
    "saw": 5,
    "laser": 6,
}


@dataclass(frozen=True)
class Wish:
    """Minutes that an order wants of a process; with galvanising all that comes before it is earlier."""

    process: str
    minutes: float
    due: date
    galvanising_days: int


def day_loads(
    centres: Mapping[int, tuple[str, Sequence[Window]]],
    planned: Iterable[Planned],
    wishes: Iterable[Wish],
    clock: Clock,
    days: WorkingDays,
) -> list[tuple[int, date, int, int, int]]:
    """Rows of (work centre, date, minutes open, planned, wanted) for every day on which one of them is not 0.

    `centres` gives the process and the open windows of each work centre.
    """
    opens = {pk: minutes_by_day(windows, clock) for pk, (_, windows) in centres.items()}
    puts: dict[tuple[int, date], float] = defaultdict(float)
    for one in planned:
        for day, minutes in _spread(one, centres[one.centre_id][1], clock):
            puts[one.centre_id, day] += minutes
    wants = _wants({process: pk for pk, (process, _) in centres.items()}, wishes, clock, days)
    keys = {(pk, day) for pk, by_day in opens.items() for day in by_day} | set(puts) | set(wants)
    return [
        (pk, day, opens[pk].get(day, 0), round(puts[pk, day]), round(wants[pk, day]))
        for pk, day in sorted(keys)
    ]


def _spread(one: Planned, windows: Sequence[Window], clock: Clock) -> Iterable[tuple[date, float]]:
    """The minutes of an operation over the open days it lies on; outside them, all on its first day."""
    parts = [
        (clock.day_of(window.start), min(one.end, window.end) - max(one.start, window.start))
        for window in windows
        if window.start < one.end and window.end > one.start
    ]
    whole = sum(minutes for _, minutes in parts)
    if not whole:
        return [(clock.day_of(one.start), one.minutes)]
    return [(day, one.minutes * minutes / whole) for day, minutes in parts]


def _wants(
    centre_of: Mapping[str, int], wishes: Iterable[Wish], clock: Clock, days: WorkingDays
) -> dict[tuple[int, date], float]:
    today = clock.first_day.toordinal()
    wants: dict[tuple[int, date], float] = defaultdict(float)
    for wish in wishes:
        if wish.process not in centre_of:
            continue
        before = DAYS_BEFORE_DUE.get(wish.process, 0)
        before += wish.galvanising_days if before >= DAYS_BEFORE_DUE["weld"] else 0
        day = max(today, days.before(wish.due.toordinal(), before))
        wants[centre_of[wish.process], date.fromordinal(days.shift(day - 1, 1))] += wish.minutes
    return wants
