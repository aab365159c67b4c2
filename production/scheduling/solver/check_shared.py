"""Jigs and people, checked: part of the independent checker (`check.py`), from the data alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bom.kernel.errors import Problem
from production.scheduling.solver.job import Jig, Operation, Person, ScheduledOperation, Window, Work

AGAIN = "Plan again; if it happens twice, keep the plan's orders and report it."
Rows = Mapping[str, ScheduledOperation]


def jig_problems(work: Work, rows: Rows) -> Iterator[Problem]:
    """More work in a kind of jig than there are jigs, pauses and repairs counted."""
    for jig in work.jigs:
        spans = [
            (rows[one.id].start_min, rows[one.id].end_min, 1)
            for one in work.operations
            if one.jig == jig.code
        ]
        yield from _over(jig, [span for span in spans if span[1] > span[0]])


def _over(jig: Jig, spans: list[tuple[int, int, int]]) -> Iterator[Problem]:
    out = [(stand.start_min, stand.end_min, stand.units) for stand in jig.stands]
    for minute in sorted({start for start, _, _ in spans + out}):
        held = sum(count for start, end, count in spans if start <= minute < end)
        left = jig.units - sum(count for start, end, count in out if start <= minute < end)
        if held > max(left, 0):
            what = f"{held} are in use, {left} of {jig.units} can be"
            yield Problem(what, f"jig {jig.code}, minute {minute}", AGAIN)


def people_problems(work: Work, rows: Rows, windows: Mapping[str, Sequence[Window]]) -> Iterator[Problem]:
    """Moments at which the running operations cannot each be given somebody of their own.

    `windows` says by operation when it is worked on.
    """
    skilled = [one for one in work.operations if one.skill and one.minutes]
    worked: list[tuple[int, int, Operation]] = []
    for one in skilled:
        row = rows[one.id]
        worked += [
            (max(opens, row.start_min), min(closes, row.end_min), one)
            for opens, closes in windows[one.id]
            if max(opens, row.start_min) < min(closes, row.end_min)
        ]
    edges = {start for start, _, _ in worked}
    edges |= {edge for person in work.people for window in person.windows for edge in window}
    for minute in sorted(edges):
        running = [one for start, end, one in worked if start <= minute < end]
        if not running:
            continue
        there = [
            person
            for person in work.people
            if any(begins <= minute < ends for begins, ends in person.windows)
        ]
        left = _without_anybody(running, there)
        if left:
            what = f"{len(running)} operations run and nobody is left for {left[0].id} ({left[0].skill})"
            yield Problem(what, f"minute {minute}", AGAIN)


def _without_anybody(running: Sequence[Operation], there: Sequence[Person]) -> list[Operation]:
    """Operations left over by a largest matching of operations and people (augmenting paths)."""
    given: dict[str, Operation] = {}

    def find(one: Operation, asked: set[str]) -> bool:
        for person in there:
            if one.skill in person.skills and person.code not in asked:
                asked.add(person.code)
                if person.code not in given or find(given[person.code], asked):
                    given[person.code] = one
                    return True
        return False

    return [one for one in running if not find(one, set())]
