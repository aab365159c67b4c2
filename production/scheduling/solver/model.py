"""The work as numbered lists, which the search can read a million times."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from production.scheduling.solver.axis import Axis
from production.scheduling.solver.job import MOVED_MIN, Lorry, Oven, Work, WorkCentre
from production.scheduling.solver.pools import Pool, share

MACHINE, LORRY, OVEN = 0, 1, 2
GRAMS = 1000
MOVE_COST = 480
"""What a moved operation counts against minutes of later finishes: one shift."""
NO_TIME = Axis(())


@dataclass
class Machine:
    """A work centre: its axis and the stretches of it, per unit, that stands take.

    It is plain where none of its operations needs a jig or a skill.
    """

    centre: WorkCentre
    axis: Axis
    stands: list[list[tuple[int, int]]]
    is_plain: bool = True

    @property
    def taken(self) -> list[list[tuple[int, int]]]:
        """The stands as the decoder counts: minutes of work on a plain machine, else minutes of the horizon."""
        if self.is_plain:
            return self.stands
        axis = self.axis
        return [[(axis.start_at(start), axis.end_at(end)) for start, end in unit] for unit in self.stands]


@dataclass
class Runs:
    """A lorry's departures, columns apart; `grams` is what each may take."""

    lorry: Lorry
    leaves: list[int]
    returns: list[int]
    grams: list[int]
    length: list[float]


@dataclass
class Batches:
    """An oven's slots, columns apart."""

    oven: Oven
    starts: list[int]
    ends: list[int]


@dataclass
class Model:
    """Operations, jobs and places by number. `job` is -1 for a shared batch; `after` and `before` are numbers.

    `late_cost` is what one weighted minute late costs against one minute of a job's later finish: more than all
    finishes and moves together can, so that lateness always comes first. `axis` is when an operation can be
    worked on, `pools_of` which jigs and people it takes, `was` where an earlier plan had it.
    """

    work: Work
    places: list[Machine | Runs | Batches]
    kind: list[int]
    place: list[int]
    minutes: list[int]
    lag: list[int]
    earliest: list[int]
    fixed: list[int | None]
    split: list[bool]
    grams: list[int]
    length: list[float]
    colour: list[str]
    frames: list[int]
    job: list[int]
    after: list[list[int]]
    before: list[list[int]]
    due: list[int]
    weight: list[int]
    operations_of: list[list[int]]
    axis: list[Axis]
    pools: list[Pool]
    pools_of: list[tuple[int, ...]]
    was: list[int | None]
    order: list[int] = field(default_factory=list)
    late_cost: int = 1

    @property
    def has_earlier_plan(self) -> bool:
        return any(old is not None for old in self.was)

    @property
    def count(self) -> int:
        return len(self.minutes)

    def moves(self, start: Sequence[int], operations: Iterable[int]) -> int:
        """How many of the operations begin elsewhere than in the earlier plan."""
        was = self.was
        return sum(
            old is not None and abs(start[index] - old) > MOVED_MIN
            for index in operations
            for old in (was[index],)
        )

    def horizon_end(self) -> int:
        """The last minute of any calendar, run or batch."""
        ends = [0]
        for place in self.places:
            if isinstance(place, Machine):
                ends += place.axis.ends[-1:]
            else:
                ends += place.returns if isinstance(place, Runs) else place.ends
        return max(ends)


def build_model(work: Work, before: Mapping[str, int] | None = None) -> Model:
    """Number everything; the work must have passed `work_problems`. `before` are starts of an earlier plan."""
    places: list[Machine | Runs | Batches] = [
        *(_machine(centre) for centre in work.work_centres),
        *(_runs(lorry) for lorry in work.lorries),
        *(Batches(oven, [s for s, _ in oven.slots], [e for _, e in oven.slots]) for oven in work.ovens),
    ]
    codes = [place.code for place in work.places]
    number = {code: index for index, code in enumerate(codes)}
    kinds = [MACHINE] * len(work.work_centres) + [LORRY] * len(work.lorries) + [OVEN] * len(work.ovens)
    jobs = {job.id: index for index, job in enumerate(work.jobs)}
    names = {one.id: index for index, one in enumerate(work.operations)}
    operations = work.operations
    place = [number[one.work_centre] for one in operations]
    shared = share(work, [_axis_of(places[index]) for index in place])
    for index, pools in zip(place, shared.pools_of, strict=True):
        machine = places[index]
        if pools and isinstance(machine, Machine):
            machine.is_plain = False
    model = Model(
        work=work,
        places=places,
        kind=[kinds[index] for index in place],
        place=place,
        minutes=[one.minutes for one in operations],
        lag=[one.lag_minutes for one in operations],
        earliest=[one.earliest_min for one in operations],
        fixed=[one.fixed_start for one in operations],
        split=[one.can_split for one in operations],
        grams=[math.ceil(one.mass_kg * GRAMS - 1e-6) for one in operations],
        length=[one.length_mm for one in operations],
        colour=[one.colour for one in operations],
        frames=[one.frames for one in operations],
        job=[jobs.get(one.job, -1) for one in operations],
        after=[[names[other] for other in one.after] for one in operations],
        before=[[] for _ in operations],
        due=[job.due_min for job in work.jobs],
        weight=[job.weight for job in work.jobs],
        operations_of=[[] for _ in work.jobs],
        axis=shared.axis,
        pools=shared.pools,
        pools_of=shared.pools_of,
        was=[None if one.fixed_start is not None else (before or {}).get(one.id) for one in operations],
    )
    for index in range(model.count):
        for other in model.after[index]:
            model.before[other].append(index)
        if model.job[index] >= 0:
            model.operations_of[model.job[index]].append(index)
    model.order = _topological(model)
    model.late_cost = len(model.due) * model.horizon_end() + model.count * MOVE_COST + 1
    return model


def _axis_of(place: Machine | Runs | Batches) -> Axis:
    return place.axis if isinstance(place, Machine) else NO_TIME


def _machine(centre: WorkCentre) -> Machine:
    axis = Axis(centre.windows)
    stands: list[list[tuple[int, int]]] = [[] for _ in range(centre.units)]
    for stand in sorted(centre.stands, key=lambda one: (one.start_min, one.end_min)):
        start, end = axis.position(stand.start_min), axis.position(stand.end_min)
        if end > start:
            _stand(stands, start, end, min(stand.units, centre.units))
    return Machine(centre, axis, stands)


def _stand(stands: list[list[tuple[int, int]]], start: int, end: int, units: int) -> None:
    """Let so many units stand: first those that stood until now, then those that work, then any."""

    def wait(unit: int) -> tuple[int, int]:
        until = stands[unit][-1][1] if stands[unit] else -1
        return (0 if until == start else 1 if until < start else 2, -unit)

    for unit in sorted(range(len(stands)), key=wait)[:units]:
        own = stands[unit]
        if own and own[-1][1] >= start:
            own[-1] = (own[-1][0], max(end, own[-1][1]))
        else:
            own.append((start, end))


def _runs(lorry: Lorry) -> Runs:
    return Runs(
        lorry,
        [run.leaves_min for run in lorry.departures],
        [run.returns_min for run in lorry.departures],
        [math.floor(run.max_kg * GRAMS + 1e-6) for run in lorry.departures],
        [math.inf if run.max_length_mm is None else run.max_length_mm for run in lorry.departures],
    )


def _topological(model: Model) -> list[int]:
    left = [len(others) for others in model.after]
    order = [index for index, count in enumerate(left) if not count]
    for index in order:
        for other in model.before[index]:
            left[other] -= 1
            if not left[other]:
                order.append(other)
    return order
