"""A plan lived through many times at once: every operation is one step over all futures together.

The sequence at each station stays as planned; an operation begins when what it comes after is done, its material is
there and a place is free, in open hours. A lorry that is missed means the next one; a batch in the oven waits for
its last frame.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from production.scheduling.futures.spread import Spread
from production.scheduling.solver.axis import Axis
from production.scheduling.solver.job import Operation, Schedule, ScheduledOperation, Work

DAY = 1440.0
Futures = NDArray[np.float64]


def simulate(
    work: Work, schedule: Schedule, spread: Spread, *, count: int = 1000, seed: int = 1
) -> dict[str, Futures]:
    """By job, the minute of its finish in each future. Jobs of which nothing is left are not in it."""
    return _Simulation(work, schedule, spread, count, seed).run()


class _Line:
    """An axis of open time that many minutes are looked up on at once."""

    def __init__(self, windows: Sequence[tuple[int, int]]) -> None:
        axis = Axis(windows)
        self.starts = np.array(axis.starts, dtype=float)
        self.ends = np.array(axis.ends, dtype=float)
        self.before = np.array(axis.before, dtype=float)

    def position(self, minutes: Futures) -> Futures:
        index = np.searchsorted(self.starts, minutes, side="right") - 1
        found = np.maximum(index, 0)
        inside = np.clip(minutes, self.starts[found], self.ends[found]) - self.starts[found]
        return np.asarray(np.where(index < 0, 0.0, self.before[found] + inside))

    def minute(self, positions: Futures) -> Futures:
        """Where work up to a position ends; beyond the last window time runs on."""
        index = np.clip(np.searchsorted(self.before, positions, side="left") - 1, 0, len(self.starts) - 1)
        return np.asarray(self.starts[index] + positions - self.before[index])


class _Simulation:
    def __init__(self, work: Work, schedule: Schedule, spread: Spread, count: int, seed: int) -> None:
        self.work, self.spread, self.count = work, spread, count
        self.draw = np.random.default_rng(seed)
        self.asked = {one.id: one for one in work.operations}
        self.rows = list(schedule.operations)
        self.lines = {centre.code: _Line(centre.windows) for centre in work.work_centres if centre.windows}
        self.lorries = {
            lorry.code: (
                np.array([run.leaves_min for run in lorry.departures], dtype=float),
                np.array([run.returns_min for run in lorry.departures], dtype=float),
            )
            for lorry in work.lorries
        }
        self.slots = {
            oven.code: np.array([start for start, _ in oven.slots], dtype=float) for oven in work.ovens
        }
        self.all = np.arange(count)
        self.end: dict[str, Futures] = {}
        self.places = {centre.code: np.zeros((centre.units, count)) for centre in work.work_centres}
        self.heated = {oven.code: np.zeros(count) for oven in work.ovens}
        self.late: dict[str, Futures] = {}

    def run(self) -> dict[str, Futures]:
        batches = self._batches()
        for row in sorted(self.rows, key=lambda row: (row.start_min, row.end_min, row.id)):
            self._step(row, batches)
        finish: dict[str, Futures] = {}
        for one in self.work.operations:
            if one.job and one.id in self.end:
                known = finish.get(one.job)
                finish[one.job] = self.end[one.id] if known is None else np.maximum(known, self.end[one.id])
        return finish

    def _batches(self) -> Mapping[tuple[str, int], list[str]]:
        found: dict[tuple[str, int], list[str]] = defaultdict(list)
        for row in self.rows:
            if row.work_centre in self.slots:
                found[row.work_centre, row.unit].append(row.id)
        return found

    def _step(self, row: ScheduledOperation, batches: Mapping[tuple[str, int], list[str]]) -> None:
        one = self.asked[row.id]
        if row.id in self.end:
            return
        if row.work_centre in self.lines:
            self._at_station(one, row)
        elif row.work_centre in self.lorries:
            self._away(one, row)
        else:
            self._in_oven(row, batches[row.work_centre, row.unit])

    def _ready(self, one: Operation) -> Futures:
        """When all it comes after is done and its material is there; a delivery strays alike for all who wait."""
        ready = np.full(self.count, float(max(one.earliest_min, one.held_start or 0)))
        if one.waits_for and self.spread.material_days:
            if one.waits_for not in self.late:
                days = np.array(self.spread.material_days, dtype=float)
                self.late[one.waits_for] = self.draw.choice(days, self.count) * DAY
            ready = ready + self.late[one.waits_for]
        for other in one.after:
            if other in self.end:
                ready = np.maximum(ready, self.end[other] + one.lag_minutes)
        return ready

    def _at_station(self, one: Operation, row: ScheduledOperation) -> None:
        """In its turn on whichever place is free first; what is begun holds its own from where it is."""
        line, free = self.lines[row.work_centre], self.places[row.work_centre]
        factor = self.spread.factor(row.work_centre)
        minutes = one.minutes * np.exp(self.draw.normal(factor.mean, factor.sigma, self.count))
        fixed = one.fixed_start
        ready = self._ready(one) if fixed is None else np.full(self.count, float(fixed))
        unit = free.argmin(axis=0)
        begin = np.maximum(line.position(ready), free[unit, self.all])
        free[unit, self.all] = begin + minutes
        self.end[one.id] = line.minute(begin + minutes)

    def _away(self, one: Operation, row: ScheduledOperation) -> None:
        leaves, returns = self.lorries[row.work_centre]
        run = np.searchsorted(leaves, self._ready(one), side="left")
        run = np.clip(np.maximum(run, row.unit), 0, len(leaves) - 1)
        back = returns[run]
        key = f"run {row.work_centre}"
        if self.spread.away_days:
            if key not in self.late:
                days = np.array(self.spread.away_days, dtype=float)
                self.late[key] = self.draw.choice(days, (self.count, len(leaves))) * DAY
            back = back + np.take_along_axis(self.late[key], run[:, None], axis=1)[:, 0]
        self.end[one.id] = back

    def _in_oven(self, row: ScheduledOperation, members: Sequence[str]) -> None:
        starts = self.slots[row.work_centre]
        ready = np.full(self.count, float(row.start_min))
        for name in members:
            ready = np.maximum(ready, self._ready(self.asked[name]))
        ready = np.maximum(ready, self.heated[row.work_centre])
        slot = np.clip(np.searchsorted(starts, ready, side="left"), 0, len(starts) - 1)
        end = np.maximum(starts[slot], ready) + (row.end_min - row.start_min)
        self.heated[row.work_centre] = end
        for name in members:
            self.end[name] = end
