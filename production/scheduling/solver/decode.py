"""From an order of operations to a schedule: each one, in turn, at the first moment that its place allows.

Decoding a feasible schedule's own starts gives every operation at most its old start (each finds at least its old
place free), so a decoded schedule is never worse than the one it came from. The one exception is an oven with
colour changes, where an earlier batch may be in the way of a later one; `floors` then hold batches where they were.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from production.scheduling.solver.job import Schedule, ScheduledOperation
from production.scheduling.solver.model import MOVE_COST, Model
from production.scheduling.solver.state import State

Floors = Mapping[int, int]
"""By operation, a minute before which it may not begin although it could."""


@dataclass
class Decoded:
    """Starts, ends and units by operation; `finish` and weighted lateness by job; `cost` is what is minimised."""

    start: list[int]
    end: list[int]
    unit: list[int]
    finish: list[int]
    late: int
    cost: int


class Decoder:
    """Decodes one model, again and again. `decoded` counts how often."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.decoded = 0
        self._fixed = sorted(
            (minute, index) for index, minute in enumerate(model.fixed) if minute is not None
        )
        self._left = [
            sum(model.fixed[other] is None for other in others) if model.fixed[index] is None else 0
            for index, others in enumerate(model.after)
        ]

    def decode(self, keys: Sequence[float], floors: Floors | None = None) -> Decoded | None:
        """Place the operations, lowest key first, none before those it comes after; None where time runs out."""
        model, floors = self.model, floors or {}
        self.decoded += 1
        state = State(model)
        for minute, index in self._fixed:
            if not state.place(index, minute):
                return None
        left = self._left.copy()
        heap: list[tuple[float, int]] = []
        for index, count in enumerate(left):
            if not count and model.fixed[index] is None:
                heap.append((keys[index], index))
        heap.sort()
        end = state.end
        while heap:
            index = heappop(heap)[1]
            ready = model.earliest[index]
            lag = model.lag[index]
            for other in model.after[index]:
                if end[other] + lag > ready:
                    ready = end[other] + lag
            if floors:
                ready = max(ready, floors.get(index, 0))
            if not state.place(index, ready):
                return None
            for other in model.before[index]:
                left[other] -= 1
                if not left[other] and model.fixed[other] is None:
                    heappush(heap, (keys[other], other))
        return _valued(model, state)

    def state_of(self, decoded: Decoded) -> State:
        """What the decoded schedule takes, operation by operation where it stands."""
        state = State(self.model)
        order = sorted(range(self.model.count), key=decoded.start.__getitem__)
        for index in order:
            state.put(index, decoded.start[index], decoded.end[index], decoded.unit[index])
        return state

    def schedule(self, decoded: Decoded) -> Schedule:
        """The decoded numbers as a schedule for the world outside."""
        work = self.model.work
        rows = [
            ScheduledOperation(
                one.id, one.work_centre, decoded.unit[index], decoded.start[index], decoded.end[index]
            )
            for index, one in enumerate(work.operations)
        ]
        finish = {job.id: decoded.finish[index] for index, job in enumerate(work.jobs)}
        return Schedule(tuple(sorted(rows, key=lambda row: (row.start_min, row.id))), finish, decoded.late)


def _valued(model: Model, state: State) -> Decoded:
    finish = [
        max((state.end[index] for index in operations), default=0) for operations in model.operations_of
    ]
    late = sum(
        weight * (end - due)
        for end, due, weight in zip(finish, model.due, model.weight, strict=True)
        if end > due
    )
    moved = model.moves(state.start, range(model.count)) if model.has_earlier_plan else 0
    cost = late * model.late_cost + sum(finish) + MOVE_COST * moved
    return Decoded(state.start, state.end, state.unit, finish, late, cost)
