"""Why a job ends when it does: from its end back, link by link, to the material or the start of the plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from production.scheduling.solver.job import (
    Lorry,
    Operation,
    Oven,
    Schedule,
    ScheduledOperation,
    Window,
    Work,
    WorkCentre,
    working_windows,
)


class CauseKind(StrEnum):
    """What a stretch of time was spent on.

    `work` at a station, in an oven or away with the lorry; `closed` time; `busy`: the station had other work;
    `jig`: other work had the jig; `people`: other work had those with the skill; `away`: none of them was there;
    `stands`: units were out; `departure`: waiting for the lorry; `full`: an earlier departure had no room left;
    `batch`: waiting for a batch in the oven; `lag`: a time to wait between two operations; `material` not there;
    `held` there by a person; `fixed`: begun or frozen; `start` of the plan.
    """

    WORK = "work"
    CLOSED = "closed"
    BUSY = "busy"
    JIG = "jig"
    PEOPLE = "people"
    AWAY = "away"
    STANDS = "stands"
    DEPARTURE = "departure"
    FULL = "full"
    BATCH = "batch"
    LAG = "lag"
    MATERIAL = "material"
    HELD = "held"
    FIXED = "fixed"
    START = "start"


HELD_BY_WORK = (CauseKind.BUSY, CauseKind.JIG, CauseKind.PEOPLE)
"""Links whose `subject` is the operation of another job that was in the way; after it comes that one's chain."""


@dataclass(frozen=True)
class Cause:
    """One link: from `start_min` to `end_min` the operation (of `job`, at `work_centre`) was kept by `kind`.

    `subject` says by what: the operation that holds the station, the part waited for, the colour. `minutes`
    is how long that took.
    """

    kind: CauseKind
    operation: str
    job: str
    work_centre: str
    subject: str
    start_min: int
    end_min: int

    @property
    def minutes(self) -> int:
        return self.end_min - self.start_min


def why(work: Work, schedule: Schedule, job: str) -> tuple[Cause, ...]:
    """The chain for a job, its last operation first; each link begins where the next one ends.

    Only links of `HELD_BY_WORK` overlap what follows: the work of the operation that held the station, jig or people.
    Follows what really held each operation: the operation before it, or the other job's operation that
    had the station until then (and then why that one was so late), down to a part that came late or the
    plan's start. Empty for a job without operations.
    """
    return _Walk(work, schedule).chain(job)


class _Walk:
    def __init__(self, work: Work, schedule: Schedule) -> None:
        self.places = {place.code: place for place in work.places}
        self.people = work.people
        self.operations: Mapping[str, Operation] = {one.id: one for one in work.operations}
        self.rows = {row.id: row for row in schedule.operations}
        self.at: dict[str, list[ScheduledOperation]] = {}
        for row in schedule.operations:
            self.at.setdefault(row.work_centre, []).append(row)
        self.links: list[Cause] = []

    def chain(self, job: str) -> tuple[Cause, ...]:
        own = [self.rows[one.id] for one in self.operations.values() if one.job == job]
        step: str | None = max(own, key=lambda row: (row.end_min, row.id)).id if own else None
        seen: set[str] = set()
        while step is not None and step not in seen:
            seen.add(step)
            step = self._back_from(step)
        return tuple(self.links)

    def _back_from(self, name: str) -> str | None:
        """Note what held the operation; answers the operation to ask next, None at the end of the chain."""
        one, row = self.operations[name], self.rows[name]
        self._work(one, row)
        if one.fixed_start is not None:
            self._note(CauseKind.FIXED, one, "", row.start_min, row.start_min)
            return None
        ready, earlier = self._ready(one)
        if ready < row.start_min and one.held_start == row.start_min:
            self._note(CauseKind.HELD, one, "", ready, row.start_min)
        elif ready < row.start_min:
            blocker = self._waited(one, row, ready)
            if blocker is not None:
                return blocker
        return self._readiness(one, ready, earlier)

    def _work(self, one: Operation, row: ScheduledOperation) -> None:
        """The time at the place itself: minutes of work, and the closed minutes among them as a link of their own."""
        place = self.places[one.work_centre]
        end = row.end_min
        if isinstance(place, WorkCentre):
            end = min(end, row.start_min + one.minutes)
            if end < row.end_min:
                self._note(CauseKind.CLOSED, one, one.work_centre, end, row.end_min)
        self._note(CauseKind.WORK, one, one.colour, row.start_min, end)

    def _ready(self, one: Operation) -> tuple[int, str | None]:
        """When the operation could begin by what it comes after and its material; the operation that decides."""
        ready, decides = one.earliest_min, None
        for other in one.after:
            end = self.rows[other].end_min + one.lag_minutes
            if end > ready or (end == ready and decides is None):
                ready, decides = end, other
        return ready, decides

    def _waited(self, one: Operation, row: ScheduledOperation, ready: int) -> str | None:
        """Ready, but begun later: why. Answers the other job's operation that held the place, if one did."""
        place = self.places[one.work_centre]
        if isinstance(place, Lorry):
            missed = any(ready <= run.leaves_min < row.start_min for run in place.departures)
            self._note(
                CauseKind.FULL if missed else CauseKind.DEPARTURE, one, place.code, ready, row.start_min
            )
            return None
        if isinstance(place, Oven):
            self._note(CauseKind.BATCH, one, one.colour, ready, row.start_min)
            return None
        return self._held(one, row, ready, place)

    def _held(self, one: Operation, row: ScheduledOperation, ready: int, centre: WorkCentre) -> str | None:
        """At a work centre: work always begins where something ends, so look at what ended last."""
        start = row.start_min
        windows = working_windows(one, centre.windows, self.people)
        earlier = [
            (other.end_min, kind, other)
            for kind, other in self._rivals(one, row)
            if ready < other.end_min <= start and other.start_min < other.end_min
        ]
        if earlier:
            end, kind, blocker = max(earlier, key=lambda rival: (rival[0], rival[1] != CauseKind.BUSY))
            if not _open_minutes(windows, end, start):
                self._note(CauseKind.CLOSED, one, centre.code, end, start)
                self._note(kind, one, blocker.id, ready, end)
                return blocker.id
        self._note(self._absence(one, centre, ready, start), one, one.skill or centre.code, ready, start)
        return None

    def _rivals(
        self, one: Operation, row: ScheduledOperation
    ) -> Iterator[tuple[CauseKind, ScheduledOperation]]:
        """What else used its unit, its jig, or people with its skill."""
        yield from ((CauseKind.BUSY, other) for other in self.at[one.work_centre] if other.unit == row.unit)
        if not one.jig and not one.skill:
            return
        for other in self.operations.values():
            if other.id != one.id and one.jig and other.jig == one.jig:
                yield CauseKind.JIG, self.rows[other.id]
            elif other.id != one.id and one.skill and other.skill == one.skill:
                yield CauseKind.PEOPLE, self.rows[other.id]

    def _absence(self, one: Operation, centre: WorkCentre, ready: int, start: int) -> CauseKind:
        """Nothing was in the way: units stood, nobody was there, or it was closed."""
        windows = working_windows(one, centre.windows, self.people)
        for stand in centre.stands:
            met = stand.start_min < start and stand.end_min > ready
            if met and not _open_minutes(windows, stand.end_min, start):
                return CauseKind.STANDS
        nobody = one.skill and _open_minutes(centre.windows, ready, start) > _open_minutes(
            windows, ready, start
        )
        return CauseKind.AWAY if nobody else CauseKind.CLOSED

    def _readiness(self, one: Operation, ready: int, decides: str | None) -> str | None:
        """What made the operation ready no earlier."""
        if decides is not None:
            if one.lag_minutes:
                self._note(CauseKind.LAG, one, decides, ready - one.lag_minutes, ready)
            return decides
        if ready:
            self._note(CauseKind.MATERIAL, one, one.waits_for, 0, ready)
        else:
            self._note(CauseKind.START, one, "", 0, 0)
        return None

    def _note(self, kind: CauseKind, one: Operation, subject: str, start: int, end: int) -> None:
        if end > start or kind in (CauseKind.FIXED, CauseKind.START):
            self.links.append(Cause(kind, one.id, one.job, one.work_centre, subject, start, end))


def _open_minutes(windows: Iterable[Window], first: int, last: int) -> int:
    return sum(max(0, min(last, end) - max(first, start)) for start, end in windows)
