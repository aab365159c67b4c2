"""Is a schedule right? An independent checker: it shares only the data of `job` with the solver."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from bom.kernel.errors import Problem
from production.scheduling.solver.check_shared import (
    AGAIN,
    Rows,
    jig_problems,
    people_problems,
)
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

Windows = Mapping[str, Sequence[Window]]


def check_schedule(work: Work, schedule: Schedule) -> list[Problem]:
    """Every way in which the schedule breaks the work; an empty list means that it may be released.

    Checked: every operation is there once and in its place; open windows and minutes of work; units of work
    centres with their stands; sequence, lags, earliest, fixed and held starts; departures with mass and length;
    oven batches with frames, one colour and the time to change it; jigs; people of the skill asked for; the
    finishes and the lateness given.
    """
    rows = {row.id: row for row in schedule.operations}
    problems = list(_presence_problems(work, schedule))
    if problems:
        return problems
    by_place: dict[str, list[Operation]] = defaultdict(list)
    for one in work.operations:
        by_place[one.work_centre].append(one)
    windows = _windows(work, by_place)
    places = [
        problem
        for place in work.places
        for problem in _place_problems(place, by_place[place.code], rows, windows)
    ]
    shared = [*jig_problems(work, rows), *people_problems(work, rows, windows)]
    return [*_sequence_problems(work, rows), *places, *shared, *_figure_problems(work, schedule, rows)]


def _windows(work: Work, by_place: Mapping[str, list[Operation]]) -> dict[str, Sequence[Window]]:
    """By operation of a work centre, when it can be worked on."""
    return {
        one.id: working_windows(one, centre.windows, work.people) if one.skill else centre.windows
        for centre in work.work_centres
        for one in by_place.get(centre.code, ())
    }


def _presence_problems(work: Work, schedule: Schedule) -> Iterator[Problem]:
    wanted = {one.id: one.work_centre for one in work.operations}
    seen: set[str] = set()
    for row in schedule.operations:
        if wanted.get(row.id) != row.work_centre or row.id in seen:
            yield _problem(
                row.id, f"It is scheduled at {row.work_centre}, where it does not belong, or twice"
            )
        seen.add(row.id)
    for missing in wanted.keys() - seen:
        yield _problem(missing, "It is not scheduled")


def _sequence_problems(work: Work, rows: Rows) -> Iterator[Problem]:
    for one in work.operations:
        start = rows[one.id].start_min
        if one.held_start is not None and start != one.held_start:
            yield _problem(one.id, f"It is held at {one.held_start} but begins at {start}")
        if one.fixed_start is not None and start < one.fixed_start:
            yield _problem(one.id, f"It begins at {start}, before its fixed start {one.fixed_start}")
        # What has begun had its turn; what a person holds still comes after what it needs.
        if one.fixed_start is not None and one.held_start is None:
            continue
        if start < one.earliest_min:
            yield _problem(one.id, f"It begins at {start}, before {one.earliest_min}")
        for other in one.after:
            if start < rows[other].end_min + one.lag_minutes:
                yield _problem(one.id, f"It begins at {start}, too early after {other}")


def _place_problems(
    place: WorkCentre | Lorry | Oven, operations: list[Operation], rows: Rows, windows: Windows
) -> Iterable[Problem]:
    if isinstance(place, WorkCentre):
        return [
            *_window_problems(place, operations, rows, windows),
            *_unit_problems(place, operations, rows, windows),
        ]
    if isinstance(place, Lorry):
        return _lorry_problems(place, operations, rows)
    return _oven_problems(place, operations, rows)


def _open_minutes(windows: Iterable[Window], start: int, end: int) -> int:
    return sum(max(0, min(end, closes) - max(start, opens)) for opens, closes in windows)


def _window_problems(
    centre: WorkCentre, operations: list[Operation], rows: Rows, windows: Windows
) -> Iterator[Problem]:
    for one in operations:
        row = rows[one.id]
        if not one.minutes:
            if row.start_min != row.end_min:
                yield _problem(one.id, "It has no minutes of work but takes time")
            continue
        own = windows[one.id]
        closed = f"{centre.code} is closed" + (f" or nobody for {one.skill} is there" if one.skill else "")
        if not any(opens <= row.start_min < closes for opens, closes in own):
            yield _problem(one.id, f"It begins at {row.start_min}, when {closed}")
        if not any(opens < row.end_min <= closes for opens, closes in own):
            yield _problem(one.id, f"It ends at {row.end_min}, when {closed}")
        worked = _open_minutes(own, row.start_min, row.end_min)
        if worked != one.minutes:
            yield _problem(one.id, f"It gets {worked} minutes of work instead of {one.minutes}")
        if not one.can_split and row.end_min - row.start_min != one.minutes:
            yield _problem(one.id, "It pauses over closed time but may not")


def _unit_problems(
    centre: WorkCentre, operations: list[Operation], rows: Rows, windows: Windows
) -> Iterator[Problem]:
    """No unit does two things at once, units and stands together stay within what there is, fixed work keeps."""
    busy = [one for one in operations if one.minutes]
    by_unit: dict[int, list[ScheduledOperation]] = defaultdict(list)
    for one in busy:
        by_unit[rows[one.id].unit].append(rows[one.id])
    for unit, own in by_unit.items():
        if not 0 <= unit < centre.units:
            yield _problem(own[0].id, f"{centre.code} has no unit {unit + 1}")
        for first, second in pairwise(sorted(own, key=lambda row: row.start_min)):
            if second.start_min < first.end_min:
                yield _problem(second.id, f"It begins while {first.id} is on the same unit of {centre.code}")
    taken = [(rows[one.id].start_min, rows[one.id].end_min, 1) for one in busy]
    taken += [(stand.start_min, stand.end_min, stand.units) for stand in centre.stands]
    for minute in sorted({start for start, _, _ in taken}):
        units = sum(count for start, end, count in taken if start <= minute < end)
        standing = sum(stand.units for stand in centre.stands if stand.start_min <= minute < stand.end_min)
        if units > max(centre.units, standing) and _is_open(centre, minute):
            yield Problem(
                f"{units} units are taken of {centre.units}", f"{centre.code}, minute {minute}", AGAIN
            )
    yield from _fixed_problems(centre, busy, rows, windows)


def _is_open(centre: WorkCentre, minute: int) -> bool:
    return any(opens <= minute < closes for opens, closes in centre.windows)


def _fixed_problems(
    centre: WorkCentre, busy: list[Operation], rows: Rows, windows: Windows
) -> Iterator[Problem]:
    """Fixed work begins at its first open minute, unless stands and other fixed work are in the way on every unit.

    Where it needs a jig or a skill, fixed work anywhere may have had that before it.
    """
    fixed = [one for one in busy if one.fixed_start is not None]
    for one in fixed:
        start, end = _undelayed(windows[one.id], one)
        row = rows[one.id]
        if row.start_min == start or one.jig or one.skill:
            continue
        others = [rows[other.id] for other in fixed if other is not one]
        held = len({other.unit for other in others if other.start_min < end and other.end_min > start})
        held += sum(stand.units for stand in centre.stands if stand.start_min < end and stand.end_min > start)
        if held < centre.units:
            yield _problem(one.id, f"It is fixed at {one.fixed_start} but begins at {row.start_min}")


def _undelayed(windows: Sequence[Window], one: Operation) -> tuple[int, int]:
    """Where the work would stand if only opening hours counted."""
    left, start = one.minutes, -1
    for opens, closes in windows:
        begin = max(opens, one.fixed_start or 0)
        if begin >= closes or (not one.can_split and closes - begin < one.minutes):
            continue
        start = begin if start < 0 else start
        if closes - begin >= left:
            return start, begin + left
        left -= closes - begin
    return start, 1 << 60


def _lorry_problems(lorry: Lorry, operations: list[Operation], rows: Rows) -> Iterator[Problem]:
    loads: dict[int, float] = defaultdict(float)
    for one in operations:
        row = rows[one.id]
        if not 0 <= row.unit < len(lorry.departures):
            yield _problem(one.id, f"{lorry.code} has no departure {row.unit}")
            continue
        run = lorry.departures[row.unit]
        loads[row.unit] += one.mass_kg
        if (row.start_min, row.end_min) != (run.leaves_min, run.returns_min):
            yield _problem(one.id, "Its times are not those of its departure")
        if one.fixed_start is not None and row.start_min != one.fixed_start:
            yield _problem(one.id, f"It is fixed at {one.fixed_start} but leaves at {row.start_min}")
        if run.max_length_mm is not None and one.length_mm > run.max_length_mm:
            yield _problem(one.id, f"{one.length_mm:g} mm are too long for {lorry.code}")
    for number, load in loads.items():
        run = lorry.departures[number]
        if load > run.max_kg + 1e-6:
            what = f"{load:g} kg are loaded, {run.max_kg:g} kg may be"
            yield Problem(what, f"{lorry.code}, departure at {run.leaves_min}", AGAIN)


def _oven_problems(oven: Oven, operations: list[Operation], rows: Rows) -> Iterator[Problem]:
    batches: dict[int, list[Operation]] = defaultdict(list)
    for one in operations:
        row = rows[one.id]
        if not 0 <= row.unit < len(oven.slots) or (row.start_min, row.end_min) != oven.slots[row.unit]:
            yield _problem(one.id, f"Its times are not those of a batch of {oven.code}")
            return
        if one.fixed_start is not None and row.start_min != one.fixed_start:
            yield _problem(one.id, f"It is fixed at {one.fixed_start} but begins at {row.start_min}")
        batches[row.unit].append(one)
    last_end, last_colour = 0, oven.colour
    for number, content in sorted(batches.items()):
        start, end = oven.slots[number]
        where = f"{oven.code}, batch at {start}"
        colours = sorted({one.colour for one in content})
        if len(colours) > 1:
            yield Problem(f"Colours {', '.join(colours)} are in one batch", where, AGAIN)
        frames = sum(one.frames for one in content)
        if frames > oven.frames:
            yield Problem(f"{frames} frames are in a batch of {oven.frames}", where, AGAIN)
        if start < last_end + oven.change(last_colour, colours[0]):
            yield Problem(f"There is no time to change from {last_colour} to {colours[0]}", where, AGAIN)
        last_end, last_colour = end, colours[0]


def _figure_problems(work: Work, schedule: Schedule, rows: Rows) -> Iterator[Problem]:
    late = 0
    for job in work.jobs:
        finish = max((rows[one.id].end_min for one in work.operations if one.job == job.id), default=0)
        late += job.weight * max(0, finish - job.due_min)
        if schedule.finish_min.get(job.id) != finish:
            said = schedule.finish_min.get(job.id)
            yield Problem(f"Its finish is given as {said} but is {finish}", f"job {job.id}", AGAIN)
    if late != schedule.late_minutes:
        yield Problem(
            f"The lateness is given as {schedule.late_minutes} but is {late}", "the whole schedule", AGAIN
        )


def _problem(operation: str, what: str) -> Problem:
    return Problem(what, f"operation {operation}", AGAIN)
