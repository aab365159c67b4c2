"""What a change of the week would do, reckoned at once: nothing is searched, every operation keeps its turn.

Pure. The sequence of the plan is laid again with the change in it: what is moved begins no sooner than asked, what
stood in its way gives way, what it made room for closes up. Times are minutes since the plan's horizon began.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from production.scheduling.solver.decode import Decoder
from production.scheduling.solver.job import (
    Departure,
    Operation,
    Oven,
    Schedule,
    ScheduledOperation,
    Work,
    WorkCentre,
)
from production.scheduling.solver.model import build_model

SLOT_STEP = 30


@dataclass(frozen=True)
class Progress:
    """How far the floor is: what is `done`, minutes `left` of what is begun, what is `away` until a minute (with the
    words for it), and jobs that are `gone` from the order book."""

    done: frozenset[str] = frozenset()
    left: Mapping[str, int] = field(default_factory=dict)
    away: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    gone: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Move:
    """An operation that is to begin at `minute` and no sooner."""

    operation: str
    minute: int


@dataclass(frozen=True)
class Extra:
    """A work centre is open from `start_min` to `end_min` besides its usual hours."""

    work_centre: str
    start_min: int
    end_min: int


@dataclass(frozen=True)
class Hindrance:
    """Why a moved operation does not begin when it was asked to. `kind` is after, material, closed or busy;
    `subject` the operation, part or place it waits for, until `minute`."""

    operation: str
    kind: str
    subject: str
    wanted: int
    minute: int


@dataclass(frozen=True)
class JobChange:
    """A job whose finish or lateness differs."""

    job: str
    due: int
    before: int
    after: int

    @property
    def late_before(self) -> int:
        return max(0, self.before - self.due)

    @property
    def late_after(self) -> int:
        return max(0, self.after - self.due)


@dataclass(frozen=True)
class Effect:
    """What differs between two schedules of the same work; `late_before` and `late_after` in weighted minutes."""

    late_before: int
    late_after: int
    jobs: tuple[JobChange, ...]
    pushed: tuple[tuple[str, int, int], ...]

    @property
    def newly_late(self) -> tuple[JobChange, ...]:
        return tuple(one for one in self.jobs if one.late_after and not one.late_before)

    @property
    def freed(self) -> tuple[JobChange, ...]:
        return tuple(one for one in self.jobs if one.late_before and not one.late_after)


def moved_on(work: Work, progress: Progress, now: int) -> Work:
    """The work as it stands at minute `now`: what is done is left out, what is begun holds its place from now on,
    and nothing else begins before now."""
    left_out = progress.done | progress.away.keys()
    kept = []
    for one in work.operations:
        if one.id in left_out or one.job in progress.gone:
            continue
        back, words = max(
            (progress.away[other] for other in one.after if other in progress.away), default=(0, "")
        )
        after = tuple(other for other in one.after if other not in left_out)
        if one.id in progress.left:
            minutes = max(1, progress.left[one.id])
            kept.append(
                replace(
                    one,
                    after=(),
                    minutes=minutes,
                    earliest_min=0,
                    waits_for="",
                    fixed_start=now,
                    held_start=None,
                )
            )
        else:
            earliest = max(one.earliest_min, back)
            waits_for = words if back > one.earliest_min else one.waits_for
            # What was only frozen for a plan may be moved by a person; what is held is said anew.
            kept.append(
                replace(
                    one,
                    after=after,
                    earliest_min=max(earliest, now),
                    waits_for=waits_for,
                    fixed_start=None,
                    held_start=None,
                )
            )
    names = {one.id for one in kept}
    operations = tuple(
        replace(one, after=tuple(other for other in one.after if other in names)) for one in kept
    )
    jobs = tuple(job for job in work.jobs if job.id not in progress.gone)
    return replace(work, jobs=jobs, operations=operations)


def with_hours(work: Work, extras: Iterable[Extra]) -> Work:
    """The work with stations open longer, all their units."""
    by_centre: dict[str, list[tuple[int, int]]] = {}
    for extra in extras:
        by_centre.setdefault(extra.work_centre, []).append((extra.start_min, extra.end_min))
    if not by_centre:
        return work
    return replace(
        work,
        work_centres=tuple(_opened(centre, by_centre.get(centre.code, ())) for centre in work.work_centres),
        ovens=tuple(_heated(oven, by_centre.get(oven.code, ())) for oven in work.ovens),
    )


def _opened(centre: WorkCentre, more: Sequence[tuple[int, int]]) -> WorkCentre:
    if not more:
        return centre
    merged: list[tuple[int, int]] = []
    for start, end in sorted([*centre.windows, *((max(0, start), end) for start, end in more if end > 0)]):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return replace(centre, windows=tuple(merged))


def _heated(oven: Oven, more: Sequence[tuple[int, int]]) -> Oven:
    """More slots: in the hours themselves, and where they touch the usual ones across the border."""
    if not more or not oven.slots:
        return oven
    minutes = oven.slots[0][1] - oven.slots[0][0]
    slots = set(oven.slots)
    for start, end in more:
        touching = [one for one, finish in oven.slots if 0 <= start - finish < SLOT_STEP]
        begin = max(touching) + SLOT_STEP if touching else start
        slots |= {(one, one + minutes) for one in range(max(0, begin), end - minutes + 1, SLOT_STEP)}
    return replace(oven, slots=tuple(sorted(slots)))


def with_runs(work: Work, runs: Iterable[Departure]) -> Work:
    """The work with more runs of the first lorry."""
    more = tuple(runs)
    if not more or not work.lorries:
        return work
    first = work.lorries[0]
    departures = tuple(sorted({*first.departures, *more}, key=lambda run: (run.leaves_min, run.returns_min)))
    return replace(work, lorries=(replace(first, departures=departures), *work.lorries[1:]))


def with_held(work: Work, moves: Iterable[Move]) -> list[Move]:
    """The moves, and before them one for each held operation that is not among them."""
    own = list(moves)
    moved = {move.operation for move in own}
    held = [
        Move(one.id, one.held_start)
        for one in work.operations
        if one.held_start is not None and one.id not in moved
    ]
    return [*held, *own]


def lay(work: Work, starts: Mapping[str, int], moves: Iterable[Move] = ()) -> Schedule | None:
    """Every operation in the turn that `starts` gives it, as early as its place allows; a moved or held one takes
    its new turn and begins no sooner. None where the work does not fit into the horizon."""
    model = build_model(work)
    number = {one.id: index for index, one in enumerate(work.operations)}
    asked = {
        number[move.operation]: move.minute for move in with_held(work, moves) if move.operation in number
    }
    last = max(starts.values(), default=0) + 1
    keys: list[float] = [starts.get(one.id, last) for one in work.operations]
    for index, minute in asked.items():
        # Just before what is planned for the same minute: who moves something there wants it first.
        keys[index] = minute - 0.5
    decoder = Decoder(model)
    decoded = decoder.decode(keys, asked)
    return None if decoded is None else decoder.schedule(decoded)


def effect_of(work: Work, before: Schedule, after: Schedule) -> Effect:
    """What differs, job by job, the worst first."""
    due = {job.id: job.due_min for job in work.jobs}
    jobs = [
        JobChange(job, due[job], before.finish_min.get(job, 0), finish)
        for job, finish in after.finish_min.items()
        if finish != before.finish_min.get(job, 0)
    ]
    old = {row.id: row for row in before.operations}
    pushed = [
        (row.id, old[row.id].start_min, row.start_min)
        for row in after.operations
        if row.id in old and row.start_min != old[row.id].start_min
    ]
    return Effect(
        before.late_minutes,
        after.late_minutes,
        tuple(sorted(jobs, key=lambda one: (one.late_before - one.late_after, one.job))),
        tuple(pushed),
    )


def hindrances(work: Work, schedule: Schedule, moves: Iterable[Move]) -> list[Hindrance]:
    """For every moved operation that begins later than it was asked to, what it waits for."""
    operations = {one.id: one for one in work.operations}
    rows = {row.id: row for row in schedule.operations}
    found = []
    for move in moves:
        one, row = operations.get(move.operation), rows.get(move.operation)
        if one is not None and row is not None and row.start_min > move.minute:
            kind, subject, until = _reason(work, rows, one, row, move.minute)
            found.append(Hindrance(move.operation, kind, subject, move.minute, until))
    return found


def _reason(
    work: Work, rows: Mapping[str, ScheduledOperation], one: Operation, row: ScheduledOperation, wanted: int
) -> tuple[str, str, int]:
    last = max(one.after, key=lambda other: rows[other].end_min, default=None)
    if last is not None and rows[last].end_min + one.lag_minutes > wanted:
        return "after", last, rows[last].end_min + one.lag_minutes
    if one.earliest_min > wanted:
        return "material", one.waits_for, one.earliest_min
    centre = next((place for place in work.work_centres if place.code == one.work_centre), None)
    if centre is not None and not any(start <= wanted < end for start, end in centre.windows):
        return "closed", centre.code, row.start_min
    others = [
        other
        for other in rows.values()
        if other.work_centre == row.work_centre and other.start_min <= wanted < other.end_min
    ]
    first = min(others, key=lambda other: other.end_min, default=None)
    return "busy", first.id if first is not None else "", row.start_min
