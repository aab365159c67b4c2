"""What is wrong with the work to be scheduled, said operation by operation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise

from bom.kernel.errors import Problem
from production.scheduling.solver.job import (
    Departure,
    Lorry,
    Operation,
    Oven,
    Work,
    WorkCentre,
    working_windows,
)

Place = WorkCentre | Lorry | Oven
Known = dict[tuple[str, str], tuple[int, int]]
MOST_SKILLS = 6
"""Skills of one person that operations ask for; sets of skills grow as powers of two."""


def work_problems(work: Work) -> list[Problem]:
    """Everything that makes no sense; empty when the scheduler may begin."""
    places: dict[str, Place] = {place.code: place for place in work.places}
    known: Known = {}
    return [
        *_twice(work),
        *(problem for centre in work.work_centres for problem in _centre_problems(centre)),
        *(problem for lorry in work.lorries for problem in _lorry_problems(lorry)),
        *(problem for oven in work.ovens for problem in _oven_problems(oven)),
        *_shared_problems(work),
        *(_negative_weight(job.id) for job in work.jobs if job.weight < 0),
        *(problem for one in work.operations for problem in _operation_problems(one, work, places, known)),
        *_ring_problems(work),
    ]


def _twice(work: Work) -> Iterator[Problem]:
    for word, names in (
        ("operation", [one.id for one in work.operations]),
        ("job", [job.id for job in work.jobs]),
        ("work centre", [place.code for place in work.places]),
        ("jig", [jig.code for jig in work.jigs]),
        ("person", [person.code for person in work.people]),
    ):
        for name, count in Counter(names).items():
            if count > 1:
                yield Problem(f"The {word} {name} is there {count} times", f"{word} {name}", "Give it once.")


def _negative_weight(job: str) -> Problem:
    return Problem("The weight is below zero", f"job {job}", "Give 1 for an order like any other.")


def _centre_problems(centre: WorkCentre) -> Iterator[Problem]:
    where = f"work centre {centre.code}"
    if centre.units < 1:
        yield Problem("It has no unit", where, "Give at least one machine or bay.")
    yield from _window_problems(centre.windows, where)


def _window_problems(windows: tuple[tuple[int, int], ...], where: str) -> Iterator[Problem]:
    if any(end <= start or start < 0 for start, end in windows):
        yield Problem("An open time ends before it begins, or begins before 0", where, "Mend its calendar.")
    elif any(second[0] < first[1] for first, second in pairwise(windows)):
        yield Problem("Open times overlap or stand out of order", where, "Mend its calendar.")


def _lorry_problems(lorry: Lorry) -> Iterator[Problem]:
    where = f"lorry {lorry.code}"
    leaves = [run.leaves_min for run in lorry.departures]
    if leaves != sorted(leaves) or any(minute < 0 for minute in leaves):
        yield Problem("Its departures stand out of order, or before 0", where, "Give them by time.")
    if any(run.returns_min < run.leaves_min for run in lorry.departures):
        yield Problem("A load is back before it has left", where, "Mend the day of return.")


def _oven_problems(oven: Oven) -> Iterator[Problem]:
    where = f"oven {oven.code}"
    starts = [start for start, _ in oven.slots]
    if starts != sorted(starts) or any(end <= start or start < 0 for start, end in oven.slots):
        yield Problem(
            "Its batches stand out of order, or end before they begin", where, "Give them by start."
        )
    if oven.frames < 1 or oven.change_minutes < 0 or any(minutes < 0 for minutes in oven.changes.values()):
        yield Problem(
            "Frames must be above 0 and colour changes not below 0", where, "Mend the oven's figures."
        )


def _operation_problems(
    one: Operation, work: Work, places: Mapping[str, Place], known: Known
) -> Iterator[Problem]:
    where = f"operation {one.id}"
    place = places.get(one.work_centre)
    if place is None:
        yield Problem(f"There is no work centre {one.work_centre}", where, "Give it one of those there are.")
    if min(one.minutes, one.lag_minutes, one.earliest_min, one.fixed_start or 0) < 0:
        yield Problem("A time is below zero", where, "For begun work give the minutes left and start 0.")
    if one.held_start is not None and one.held_start != one.fixed_start:
        yield Problem(
            "It is held but not fixed there", where, "Fix it, and what leads up to it, before searching."
        )
    if isinstance(place, WorkCentre):
        yield from _fit_problems(one, place, work, known, where)
    elif isinstance(place, Lorry):
        yield from _load_problems(one, place, where)
    elif isinstance(place, Oven):
        yield from _batch_problems(one, place, where)


def _longest_and_whole(one: Operation, centre: WorkCentre, work: Work, known: Known) -> tuple[int, int]:
    """The longest open time and all of it together, asked once for each work centre and skill."""
    if (centre.code, one.skill) not in known:
        windows = working_windows(one, centre.windows, work.people)
        lengths = [end - start for start, end in windows]
        known[centre.code, one.skill] = (max(lengths, default=0), sum(lengths))
    return known[centre.code, one.skill]


def _fit_problems(
    one: Operation, centre: WorkCentre, work: Work, known: Known, where: str
) -> Iterator[Problem]:
    if one.jig and one.jig not in {jig.code for jig in work.jigs}:
        yield Problem(f"There is no jig {one.jig}", where, "Enter the jig, or let it be welded without one.")
    longest, total = _longest_and_whole(one, centre, work, known)
    if one.minutes > (total if one.can_split else longest):
        with_skill = f" while somebody for {one.skill} is there" if one.skill else ""
        yield Problem(
            f"{one.minutes} minutes fit into no open time of {centre.code}{with_skill}",
            where,
            "Open it longer, let the operation pause over closed time, or plan further ahead.",
        )


def _shared_problems(work: Work) -> Iterator[Problem]:
    for jig in work.jigs:
        if jig.units < 1:
            yield Problem("There is none of it", f"jig {jig.code}", "Give at least one jig.")
    for person in work.people:
        yield from _window_problems(person.windows, f"hours of {person.code}")
    used = {one.skill for one in work.operations if one.skill}
    for person in work.people:
        if len(used & set(person.skills)) > MOST_SKILLS:
            yield Problem(
                f"More than {MOST_SKILLS} skills that are asked for",
                f"skills of {person.code}",
                "Put skills together that always go together.",
            )


def _load_problems(one: Operation, lorry: Lorry, where: str) -> Iterator[Problem]:
    runs = lorry.departures if one.fixed_start is None else _fixed_runs(one, lorry)
    if not any(
        one.mass_kg <= run.max_kg and (run.max_length_mm is None or one.length_mm <= run.max_length_mm)
        for run in runs
    ):
        size = f"{one.mass_kg:g} kg, {one.length_mm:g} mm"
        yield Problem(
            f"No departure of {lorry.code} takes it ({size})", where, "Mend the mass or add a departure."
        )


def _fixed_runs(one: Operation, lorry: Lorry) -> tuple[Departure, ...]:
    return tuple(run for run in lorry.departures if run.leaves_min == one.fixed_start)


def _batch_problems(one: Operation, oven: Oven, where: str) -> Iterator[Problem]:
    if not one.colour:
        yield Problem("It goes to the oven without a colour", where, "Give the colour.")
    if not 1 <= one.frames <= oven.frames:
        yield Problem(
            f"{one.frames} frames do not fit into a batch of {oven.frames}", where, "Split the operation."
        )
    if one.fixed_start is not None and all(start != one.fixed_start for start, _ in oven.slots):
        yield Problem("It is fixed where no batch begins", where, "Fix it at the start of a batch.")


def _ring_problems(work: Work) -> Iterator[Problem]:
    after = {one.id: list(one.after) for one in work.operations}
    for one in work.operations:
        for other in one.after:
            if other not in after:
                yield Problem(
                    f"It comes after {other}, which is not there", f"operation {one.id}", "Leave it out."
                )
                after[one.id].remove(other)
    left = {name: len(names) for name, names in after.items()}
    follows: dict[str, list[str]] = {name: [] for name in after}
    for name, names in after.items():
        for other in names:
            follows[other].append(name)
    ready = [name for name, count in left.items() if not count]
    for name in ready:
        for other in follows[name]:
            left[other] -= 1
            if not left[other]:
                ready.append(other)
    stuck = sorted(name for name, count in left.items() if count)
    if stuck:
        yield Problem(
            f"Operations come after each other in a ring, among them {', '.join(stuck[:5])}",
            f"operation {stuck[0]}",
            "Take one of the links out.",
        )
