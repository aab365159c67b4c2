"""What stands since a plan was made, put into its work: opening hours, places and batches that are lost.

Pure. What the plan reckoned with already changes nothing, so everything that is noted can be given.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from production.scheduling.solver.job import Oven, Schedule, Work, WorkCentre, work_centre_of


@dataclass(frozen=True)
class Stop:
    """From `start_min` to `end_min` so many units of a work centre stand, all of them where `units` is none.

    `reason` is what was noted.
    """

    work_centre: str
    start_min: int
    end_min: int
    units: int | None
    reason: str

    def of(self, whole: int) -> int:
        return whole if self.units is None else min(self.units, whole)

    def meets(self, start: int, end: int) -> bool:
        return self.start_min < end and self.end_min > start


def stopped(work: Work, stops: Sequence[Stop]) -> tuple[Work, tuple[Stop, ...]]:
    """The work with these stops, and those of them that take something it still had."""
    centres, ovens = [], []
    news: dict[Stop, None] = {}
    for centre in work.work_centres:
        found, fresh = _centre(centre, [stop for stop in stops if stop.work_centre == centre.code])
        centres.append(found)
        news |= dict.fromkeys(fresh)
    for oven in work.ovens:
        cold, fresh = _oven(oven, [stop for stop in stops if stop.work_centre == oven.code])
        ovens.append(cold)
        news |= dict.fromkeys(fresh)
    if not news:
        return work, ()
    changed = replace(work, work_centres=tuple(centres), ovens=tuple(ovens))
    return changed, tuple(stop for stop in stops if stop in news)


def _centre(centre: WorkCentre, stops: Sequence[Stop]) -> tuple[WorkCentre, list[Stop]]:
    """Cut where anything begins or ends to stand; in each piece the most counts of what was and what is noted."""
    fresh: list[Stop] = []
    pieces: list[tuple[int, int, int]] = []
    for start, end in centre.windows:
        for left, right in pairwise(_edges(start, end, centre, stops)):
            here = [stop for stop in stops if stop.meets(left, right)]
            known = sum(one.units for one in centre.stands if one.start_min < right and one.end_min > left)
            noted = sum(stop.of(centre.units) for stop in here)
            if noted > known:
                fresh += here
            working = centre.units - max(known, noted)
            if working > 0:
                pieces.append((left, right, working))
    return (work_centre_of(centre.code, centre.units, pieces), fresh) if fresh else (centre, [])


def _edges(start: int, end: int, centre: WorkCentre, stops: Sequence[Stop]) -> list[int]:
    spans = [(one.start_min, one.end_min) for one in centre.stands]
    spans += [(one.start_min, one.end_min) for one in stops]
    return sorted({start, end, *(cut for span in spans for cut in span if start < cut < end)})


def _oven(oven: Oven, stops: Sequence[Stop]) -> tuple[Oven, list[Stop]]:
    """No batch is in an oven while it stands."""
    lost = {slot: [stop for stop in stops if stop.meets(*slot)] for slot in oven.slots}
    fresh = [stop for met in lost.values() for stop in met]
    return replace(oven, slots=tuple(slot for slot, met in lost.items() if not met)), fresh


def fall_into(stops: Iterable[Stop], before: Schedule, after: Schedule) -> frozenset[str]:
    """The operations that `before` has where something stands, and that do not stay as they were."""
    held = list(stops)
    rows = {row.id: row for row in after.operations}
    return frozenset(
        row.id
        for row in before.operations
        if rows.get(row.id) != row
        and any(
            stop.work_centre == row.work_centre and stop.meets(row.start_min, row.end_min) for stop in held
        )
    )
