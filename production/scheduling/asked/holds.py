"""Operations that a person holds at a time, put in their places before anything is searched.

Pure. A held operation begins at its minute and no other; what leads up to it is put in time for that. Where that
cannot be, the hold is not kept, and what is in its way is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from production.scheduling.asked.trying import Hindrance, Move, hindrances
from production.scheduling.solver.decode import Decoder
from production.scheduling.solver.job import Schedule, Work
from production.scheduling.solver.model import build_model

PASSED, FULL = "passed", "full"


@dataclass(frozen=True)
class Placed:
    """`work` says what is held where it could be kept; `pinned` is the same with that, and all that leads up to it,
    fixed for the search; `broken` says of each hold that could not be kept what is in its way."""

    work: Work
    pinned: Work
    broken: tuple[Hindrance, ...] = ()


def leading_up_to(work: Work, names: Iterable[str]) -> set[str]:
    """The operations named and all that must be done before them."""
    after = {one.id: one.after for one in work.operations}
    found: set[str] = set()
    ask = [name for name in names if name in after]
    while ask:
        name = ask.pop()
        if name not in found:
            found.add(name)
            ask += after[name]
    return found


def held_in_place(work: Work, schedule: Schedule, moved: Iterable[str]) -> Work:
    """The work with what was moved or is held, and all that leads up to it, fixed where the schedule has it."""
    held = [one.id for one in work.operations if one.held_start is not None]
    pinned = leading_up_to(work, [*moved, *held])
    starts = {row.id: row.start_min for row in schedule.operations}
    return replace(
        work,
        operations=tuple(
            replace(one, fixed_start=starts[one.id])
            if one.id in pinned and one.fixed_start is None and one.id in starts
            else one
            for one in work.operations
        ),
    )


def with_holds(work: Work, holds: Mapping[str, int]) -> Work:
    """The work with these operations held at these minutes, and no others."""
    return replace(
        work,
        operations=tuple(
            one if one.held_start == (minute := holds.get(one.id)) else replace(one, held_start=minute)
            for one in work.operations
        ),
    )


def kept_in(work: Work, schedule: Schedule, moved: Iterable[str] = ()) -> Work:
    """The work with only those holds that the schedule keeps; what was `moved` is held no longer."""
    starts = {row.id: row.start_min for row in schedule.operations}
    let_go = set(moved)
    return with_holds(
        work,
        {
            one.id: one.held_start
            for one in work.operations
            if one.held_start is not None and one.id not in let_go and starts.get(one.id) == one.held_start
        },
    )


def put_in_place(work: Work, holds: Mapping[str, int], starts: Mapping[str, int]) -> Placed:
    """Hold what can be held. `holds` are minutes of the horizon, below 0 where they have passed; `starts` say where
    an earlier plan has what leads up to them: it stays there where that is soon enough.

    Operations that the work does not hold are left out silently: nothing of them is to be planned.
    """
    names = {one.id for one in work.operations}
    passed = [Hindrance(name, PASSED, "", m, 0) for name, m in holds.items() if name in names and m < 0]
    wanted = {name: minute for name, minute in holds.items() if name in names and minute >= 0}
    if not wanted:
        return Placed(work, work, tuple(passed))
    part = _part_of(work, wanted)
    schedule = max(
        (_laid(part, wanted, starts), _laid(part, wanted, {})),
        key=lambda laid: -1 if laid is None else len(_kept(laid, wanted)),
    )
    if schedule is None:
        return Placed(work, work, (*passed, *(Hindrance(name, FULL, "", m, m) for name, m in wanted.items())))
    kept = _kept(schedule, wanted)
    lost = [Move(name, minute) for name, minute in wanted.items() if name not in kept]
    held = with_holds(work, kept)
    return Placed(held, held_in_place(held, schedule, ()), (*passed, *hindrances(part, schedule, lost)))


def _part_of(work: Work, wanted: Iterable[str]) -> Work:
    """What leads up to the held operations, and what is fixed besides: all that can be in their way."""
    names = leading_up_to(work, wanted)
    return replace(
        work,
        operations=tuple(
            one if one.id in names else replace(one, after=())
            for one in work.operations
            if one.id in names or one.fixed_start is not None
        ),
    )


def _laid(part: Work, wanted: Mapping[str, int], starts: Mapping[str, int]) -> Schedule | None:
    """What must begin soonest first, so that the holds are kept; nothing sooner than `starts` has it."""
    model = build_model(part)
    minutes = {one.id: one.minutes for one in part.operations}
    latest = dict.fromkeys(minutes, float("inf")) | {name: float(minute) for name, minute in wanted.items()}
    for index in reversed(model.order):
        one = part.operations[index]
        for other in one.after:
            latest[other] = min(latest[other], latest[one.id] - one.lag_minutes - minutes[other])
    floors = {index: wanted.get(one.id, starts.get(one.id, 0)) for index, one in enumerate(part.operations)}
    decoder = Decoder(model)
    decoded = decoder.decode([latest[one.id] for one in part.operations], floors)
    return None if decoded is None else decoder.schedule(decoded)


def _kept(schedule: Schedule, wanted: Mapping[str, int]) -> dict[str, int]:
    return {row.id: row.start_min for row in schedule.operations if wanted.get(row.id) == row.start_min}
