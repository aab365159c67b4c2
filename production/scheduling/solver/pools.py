"""Jigs and people as pools that operations take one of, and when an operation can be worked on.

At every minute each running operation needs a person of its own. By Hall's theorem (1935) that can be done exactly if,
for every set of skills, no more operations run that need one of them than people are there who have one. So every set
of skills is a pool; sets that nobody joins add nothing and are left out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate

from production.scheduling.solver.axis import Axis, Window
from production.scheduling.solver.job import Jig, Person, Work

NEVER = 1 << 60


@dataclass
class Pool:
    """How many are free from each minute of `times` on; the last minute is NEVER. Jigs are held while work pauses."""

    times: list[int]
    free: list[int]
    is_held_while_closed: bool

    def windows(self) -> list[Window]:
        """When there is at least one, touching stretches put together."""
        found: list[Window] = []
        for start, end, free in zip(self.times, self.times[1:], self.free, strict=False):
            if free < 1:
                continue
            if found and found[-1][1] == start:
                found[-1] = (found[-1][0], end)
            else:
                found.append((start, end))
        return found


@dataclass
class Shared:
    """By operation, when it can be worked on and the numbers of the pools that it takes from."""

    axis: list[Axis]
    pools: list[Pool]
    pools_of: list[tuple[int, ...]]


def share(work: Work, axes: Sequence[Axis]) -> Shared:
    """The pools of the work; `axes` says, by operation, when its place is open."""
    pools = [_jig_pool(jig) for jig in work.jigs]
    jigs = {jig.code: index for index, jig in enumerate(work.jigs)}
    takes: dict[str, tuple[int, ...]] = {}
    there: dict[str, list[Window]] = {}
    for skills in connected_sets({one.skill for one in work.operations} - {""}, work.people):
        pool = _people_pool(skills, work.people)
        for skill in skills:
            takes[skill] = (*takes.get(skill, ()), len(pools))
        if len(skills) == 1:
            there[min(skills)] = pool.windows()
        pools.append(pool)
    cut: dict[tuple[int, str], Axis] = {}
    found = Shared([], pools, [])
    for one, axis in zip(work.operations, axes, strict=True):
        if one.skill and (id(axis), one.skill) not in cut:
            cut[id(axis), one.skill] = Axis(both(axis_windows(axis), there[one.skill]))
        found.axis.append(cut[id(axis), one.skill] if one.skill else axis)
        jig = (jigs[one.jig],) if one.jig else ()
        found.pools_of.append((*jig, *takes.get(one.skill, ())))
    return found


def axis_windows(axis: Axis) -> list[Window]:
    return list(zip(axis.starts, axis.ends, strict=True))


def both(first: Sequence[Window], second: Sequence[Window]) -> list[Window]:
    """What lies in a window of the first and in one of the second; each in order and without overlaps."""
    found, at = [], 0
    for start, end in first:
        while at < len(second) and second[at][1] <= start:
            at += 1
        index = at
        while index < len(second) and second[index][0] < end:
            found.append((max(start, second[index][0]), min(end, second[index][1])))
            index += 1
    return found


def connected_sets(skills: Iterable[str], people: Iterable[Person]) -> list[frozenset[str]]:
    """Every set of the skills that people hold together: single ones, and those joined by people with several."""
    used = set(skills)
    linked = {skill: {skill} for skill in used}
    for person in people:
        own = used & set(person.skills)
        for skill in own:
            linked[skill] |= own
    found = {frozenset({skill}) for skill in used}
    fresh = set(found)
    while fresh:
        fresh = {one | {other} for one in fresh for skill in one for other in linked[skill] - one} - found
        found |= fresh
    return sorted(found, key=lambda one: (len(one), sorted(one)))


def _jig_pool(jig: Jig) -> Pool:
    return _pool(
        [(0, jig.units), *((stand.start_min, -stand.units) for stand in jig.stands)]
        + [(stand.end_min, stand.units) for stand in jig.stands],
        is_held_while_closed=True,
    )


def _people_pool(skills: frozenset[str], people: Iterable[Person]) -> Pool:
    changes = [(0, 0)]
    for person in people:
        if skills & set(person.skills):
            changes += [(start, 1) for start, _ in person.windows]
            changes += [(end, -1) for _, end in person.windows]
    return _pool(changes, is_held_while_closed=False)


def _pool(changes: Iterable[tuple[int, int]], *, is_held_while_closed: bool) -> Pool:
    by_minute: Counter[int] = Counter()
    for minute, change in changes:
        by_minute[minute] += change
    times = sorted(by_minute)
    return Pool(
        [*times, NEVER], [*accumulate(by_minute[minute] for minute in times), 0], is_held_while_closed
    )
