"""What the scheduler is given and what it answers: plain data.

Time is whole minutes since the start of the horizon; nothing lies before 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

MOVED_MIN = 240
"""An operation that begins within so many minutes of its old start has not been moved."""
Window = tuple[int, int]
"""Open from the first minute up to, not with, the second."""


@dataclass(frozen=True)
class Stand:
    """From `start_min` to `end_min` so many units of a work centre do not work."""

    start_min: int
    end_min: int
    units: int


@dataclass(frozen=True)
class WorkCentre:
    """A station with `units` equal machines or bays, open in `windows` (in order, not overlapping).

    A stand takes single units out; what stops the whole station is a gap between windows. No operation is
    begun before a stand and finished after it on the same unit.
    """

    code: str
    units: int
    windows: tuple[Window, ...]
    stands: tuple[Stand, ...] = ()


@dataclass(frozen=True)
class Departure:
    """A lorry leaves with at most `max_kg` and is back at `returns_min`. No piece may be longer than its bath."""

    leaves_min: int
    returns_min: int
    max_kg: float
    max_length_mm: float | None = None


@dataclass(frozen=True)
class Lorry:
    """Runs to the galvaniser. An operation here takes one departure and lasts until its return."""

    code: str
    departures: tuple[Departure, ...]


@dataclass(frozen=True)
class Oven:
    """An oven with possible batches (`slots`, by start), each of one colour and at most `frames` frames.

    Slots may overlap; batches in them may not. Between batches of different colours lie `changes`
    [(from, to)] minutes, else `change_minutes`. `colour` is what it was last used for ("" for nothing).
    """

    code: str
    slots: tuple[Window, ...]
    frames: int
    change_minutes: int = 0
    changes: Mapping[tuple[str, str], int] = field(default_factory=dict)
    colour: str = ""

    def change(self, before: str, after: str) -> int:
        """Minutes to change from one colour to another; nothing before the first."""
        if not before or before == after:
            return 0
        return self.changes.get((before, after), self.change_minutes)


@dataclass(frozen=True)
class Jig:
    """`units` equal jigs; a stand takes some out, for a repair."""

    code: str
    units: int
    stands: tuple[Stand, ...] = ()


@dataclass(frozen=True)
class Person:
    """Somebody who is there in `windows` (shifts without absences) and can do the work of `skills`."""

    code: str
    skills: tuple[str, ...]
    windows: tuple[Window, ...]


@dataclass(frozen=True)
class Operation:
    """One piece of work at a work centre, a lorry or an oven (`work_centre` is its code).

    It begins when all operations `after` have ended and `lag_minutes` more have passed, not before
    `earliest_min` (`waits_for` says what comes then: a part, a drawing). `minutes` are minutes of work; over
    closed time it pauses, unless it may not split: then it runs within one open window. An operation with
    `fixed_start` has begun or is frozen: it takes the first open minute from there, whatever it comes after; only
    another fixed operation can hold it up. `job` is "" for a batch that several jobs share. `mass_kg` and
    `length_mm` count on a lorry, `colour` and `frames` in an oven.

    `held_start` is the minute at which a person wants it to begin: there exactly, and unlike begun work after all
    it comes after. The search is given it fixed there, with what leads up to it.

    At a work centre it may need a `jig`, which it holds from start to end, pauses too, and a `skill`: then it is
    worked on only while somebody with the skill is there, and at every such minute one of them does nothing else.
    People hand over to each other freely, as at a change of shifts.
    """

    id: str
    job: str
    work_centre: str
    minutes: int
    after: tuple[str, ...] = ()
    lag_minutes: int = 0
    earliest_min: int = 0
    waits_for: str = ""
    fixed_start: int | None = None
    can_split: bool = True
    mass_kg: float = 0.0
    length_mm: float = 0.0
    colour: str = ""
    frames: int = 1
    jig: str = ""
    skill: str = ""
    held_start: int | None = None


@dataclass(frozen=True)
class Job:
    """What is late if its last operation ends after `due_min`; a minute late costs `weight` (a whole number)."""

    id: str
    due_min: int
    weight: int = 1


@dataclass(frozen=True)
class Work:
    """The whole question: the stations and what is to be done on them."""

    jobs: tuple[Job, ...]
    operations: tuple[Operation, ...]
    work_centres: tuple[WorkCentre, ...]
    lorries: tuple[Lorry, ...] = ()
    ovens: tuple[Oven, ...] = ()
    jigs: tuple[Jig, ...] = ()
    people: tuple[Person, ...] = ()

    @property
    def places(self) -> tuple[WorkCentre | Lorry | Oven, ...]:
        """Work centres, lorries and ovens: everything an operation can be at."""
        return (*self.work_centres, *self.lorries, *self.ovens)


class ScheduledOperation(NamedTuple):
    """When and where: `unit` counts, from 0, the unit of a work centre, the departure of a lorry, the oven's slot."""

    id: str
    work_centre: str
    unit: int
    start_min: int
    end_min: int


@dataclass(frozen=True)
class Schedule:
    """Every operation in its place, by start; `finish_min` by job is the end of its last operation.

    `late_minutes` adds up, over all jobs, weight × minutes late.
    """

    operations: tuple[ScheduledOperation, ...]
    finish_min: Mapping[str, int]
    late_minutes: int


@dataclass(frozen=True)
class RuleValue:
    """What a simple rule of dispatching would reach: its name, weight × minutes late, and the sum of finishes."""

    name: str
    late_minutes: int
    finish_minutes: int


@dataclass(frozen=True)
class Solution:
    """The best schedule found, what simple rules reach, and how far a better one could possibly go.

    No schedule has fewer `late_minutes` than `bound_late_minutes`. `proven` says that none is better in
    lateness. `first_seconds` is how long it took until a first schedule stood; `moved` counts operations that
    begin more than `MOVED_MIN` minutes away from where the earlier plan had them.
    """

    schedule: Schedule
    rules: tuple[RuleValue, ...]
    bound_late_minutes: int
    proven: bool
    seconds: float
    schedules_tried: int
    windows_solved: int
    stopped: bool = False
    first_seconds: float = 0.0
    moved: int = 0

    @property
    def gap(self) -> float | None:
        """(late − bound) / late; 0 when nothing better is possible, None when nothing is late."""
        late = self.schedule.late_minutes
        return (late - self.bound_late_minutes) / late if late else None


def work_centre_of(code: str, units: int, windows: Iterable[tuple[int, int, int]]) -> WorkCentre:
    """A work centre from windows (start, end, units that work): fewer than `units` is a stand of the others."""
    merged: list[Window] = []
    stands = []
    for start, end, working in sorted(windows):
        if merged and merged[-1][1] == start:
            merged[-1] = (merged[-1][0], end)
        else:
            merged.append((start, end))
        if working < units:
            stands.append(Stand(start, end, units - working))
    return WorkCentre(code, units, tuple(merged), tuple(stands))


def working_windows(one: Operation, windows: Sequence[Window], people: Iterable[Person]) -> list[Window]:
    """When the operation can be worked on: its station is open, and somebody with its skill is there."""
    if not one.skill:
        return list(windows)
    there = _united(window for person in people if one.skill in person.skills for window in person.windows)
    found = [
        (max(opens, begins), min(closes, ends))
        for opens, closes in windows
        for begins, ends in there
        if max(opens, begins) < min(closes, ends)
    ]
    return sorted(found)


def _united(windows: Iterable[Window]) -> list[Window]:
    """The same time as windows that neither overlap nor touch."""
    found: list[Window] = []
    for begins, ends in sorted(windows):
        if found and begins <= found[-1][1]:
            found[-1] = (found[-1][0], max(ends, found[-1][1]))
        else:
            found.append((begins, ends))
    return found
