"""A bound on lateness that no schedule can beat: every job as if it had the workshop to itself."""

from __future__ import annotations

from bisect import bisect_left

from production.scheduling.solver.axis import Axis
from production.scheduling.solver.model import Batches, Machine, Model, Runs


def late_bound(model: Model) -> int:
    """Weighted minutes late that opening hours, material, lorry days and the work itself make unavoidable.

    Every operation is taken at the first moment that its place is open, as if nothing else were there.
    """
    ends = [0] * model.count
    for index in model.order:
        ready = max(
            [model.earliest[index], *(ends[other] + model.lag[index] for other in model.after[index])]
        )
        ends[index] = _earliest_end(model, index, model.fixed[index] or 0 if _fixed(model, index) else ready)
    total = 0
    for job, operations in enumerate(model.operations_of):
        finish = max((ends[index] for index in operations), default=0)
        total += model.weight[job] * max(0, finish - model.due[job])
    return total


def _fixed(model: Model, index: int) -> bool:
    return model.fixed[index] is not None


def _earliest_end(model: Model, index: int, ready: int) -> int:
    place = model.places[model.place[index]]
    if isinstance(place, Machine):
        return _machine_end(model.axis[index], model.minutes[index], ready, model.split[index])
    if isinstance(place, Runs):
        return min(
            (
                place.returns[run]
                for run in range(bisect_left(place.leaves, ready), len(place.leaves))
                if model.grams[index] <= place.grams[run] and model.length[index] <= place.length[run]
            ),
            default=ready,
        )
    return _oven_end(place, ready)


def _machine_end(axis: Axis, minutes: int, ready: int, split: bool) -> int:
    if not minutes:
        return ready
    position = axis.position(ready)
    if not split:
        position = axis.within_window(position, minutes)
    return axis.end_at(min(position + minutes, axis.total))


def _oven_end(batches: Batches, ready: int) -> int:
    return min(batches.ends[bisect_left(batches.starts, ready) :], default=ready)
