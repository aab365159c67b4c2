"""Simple rules of dispatching: whenever a place falls free, the waiting operation of the highest rank begins.

EDD, earliest due date first (Jackson 1955). ATC, apparent tardiness cost (Vepsalainen and Morton 1987, from memory):
weight ÷ minutes × exp(−slack ÷ look-ahead), where slack is the time left until the operation must begin for its job to
be in time by opening hours and lorry days alone.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from heapq import heappop, heappush

from production.scheduling.solver.model import Batches, Machine, Model, Runs

Rank = Callable[[int, int], float]
LOOK_AHEAD_MIN = (600, 2400, 9600, 38400)
"""Look-ahead times that ATC is tried with, in minutes."""
NEVER = 1 << 60


def latest_starts(model: Model) -> list[int]:
    """By operation, when it must begin for every job above it to be in time if nothing else were in the way.

    Below 0 (in minutes of work) where that lies before the horizon.
    """
    latest_end = [NEVER] * model.count
    for job, operations in enumerate(model.operations_of):
        for index in operations:
            latest_end[index] = min(latest_end[index], model.due[job])
    latest = [NEVER] * model.count
    for index in reversed(model.order):
        for other in model.before[index]:
            latest_end[index] = min(latest_end[index], latest[other] - model.lag[other])
        latest[index] = _latest_start(model, index, latest_end[index])
    return latest


def _latest_start(model: Model, index: int, end: int) -> int:
    place = model.places[model.place[index]]
    if isinstance(place, Machine):
        position = (place.axis.position(end) if end > 0 else end) - model.minutes[index]
        if position < 0 or place.axis.total <= position:
            return min(position, end)
        return place.axis.start_at(position)
    starts, ends = (place.leaves, place.returns) if isinstance(place, Runs) else (place.starts, place.ends)
    run = bisect_right(ends, end) - 1
    return starts[run] if run >= 0 else min(end, ends[0] if ends else end) - 1


def due_dates(model: Model) -> list[int]:
    """By operation, the earliest due date of the jobs that need it."""
    due = [NEVER] * model.count
    for job, operations in enumerate(model.operations_of):
        for index in operations:
            due[index] = min(due[index], model.due[job])
    for index in reversed(model.order):
        due[index] = min([due[index], *(due[other] for other in model.before[index])])
    return due


def weights(model: Model) -> list[int]:
    """By operation, the weight of its job; of a shared batch, of all jobs that come right after it."""
    return [
        model.weight[job]
        if job >= 0
        else sum(model.weight[one] for one in {model.job[other] for other in model.before[index]} if one >= 0)
        for index, job in enumerate(model.job)
    ]


def edd(model: Model) -> Rank:
    """Ranks by due date."""
    due = due_dates(model)
    return lambda index, minute: -due[index]


def atc(model: Model, look_ahead_min: int) -> Rank:
    """Ranks by weight for work and by how little slack is left."""
    latest, weight = latest_starts(model), weights(model)
    worth = [max(weight[index], 0.01) / max(model.minutes[index], 1) for index in range(model.count)]
    return lambda index, minute: worth[index] * math.exp(-max(0, latest[index] - minute) / look_ahead_min)


def dispatch(model: Model, rank: Rank) -> list[int]:
    """Starts by operation that the rule gives; a sequence to decode, not yet a schedule.

    Stands are left out: the decoder knows them.
    """
    return _Floor(model, rank).run()


class _Floor:
    """The shop while the rule runs: events by minute, and who waits where."""

    def __init__(self, model: Model, rank: Rank) -> None:
        self.model, self.rank = model, rank
        self.start = [NEVER] * model.count
        self.waiting: list[list[int]] = [[] for _ in model.places]
        self.free: list[list[int]] = [
            [0] * place.centre.units if isinstance(place, Machine) else [0] for place in model.places
        ]
        self.colour = [place.oven.colour if isinstance(place, Batches) else "" for place in model.places]
        self.left = [len(others) for others in model.after]
        self.ready = list(model.earliest)
        self.events: list[tuple[int, int, int]] = []
        for number, place in enumerate(model.places):
            if not isinstance(place, Machine):
                minutes = place.leaves if isinstance(place, Runs) else place.starts
                self.events += [(minute, number, -1) for minute in minutes]
        for index, count in enumerate(self.left):
            if model.fixed[index] is not None:
                self.events.append((model.fixed[index] or 0, model.place[index], index))
            elif not count:
                self.events.append((self.ready[index], model.place[index], index))
        self.events.sort()

    def run(self) -> list[int]:
        while self.events:
            minute = self.events[0][0]
            touched: set[int] = set()
            while self.events and self.events[0][0] == minute:
                _, number, index = heappop(self.events)
                touched.add(number)
                if index >= 0:
                    self.waiting[number].append(index)
            for number in sorted(touched):
                self._serve(number, minute)
        return self.start

    def _serve(self, number: int, minute: int) -> None:
        place = self.model.places[number]
        if not self.waiting[number]:
            return
        if isinstance(place, Machine):
            self._serve_machine(number, place, minute)
        elif isinstance(place, Runs):
            self._serve_lorry(number, place, minute)
        else:
            self._serve_oven(number, place, minute)

    def _sorted(self, number: int, minute: int) -> list[int]:
        fixed = self.model.fixed
        key = {index: self.rank(index, minute) for index in self.waiting[number]}
        return sorted(key, key=lambda index: (fixed[index] is None, -key[index], index))

    def _serve_machine(self, number: int, machine: Machine, minute: int) -> None:
        axis, model = machine.axis, self.model
        position = axis.position(minute)
        if position >= axis.total:
            return
        opening = axis.start_at(position)
        if opening > minute:
            heappush(self.events, (opening, number, -1))
            return
        free = [unit for unit, until in enumerate(self.free[number]) if until <= minute]
        for index in self._sorted(number, minute):
            if not free:
                return
            minutes = model.minutes[index]
            begin = position if model.split[index] else axis.within_window(position, minutes)
            if begin > position and begin < axis.total:
                heappush(self.events, (axis.start_at(begin), number, -1))
            if begin > position or begin + minutes > axis.total:
                continue
            end = axis.end_at(begin + minutes) if minutes else minute
            if minutes:
                self.free[number][free.pop()] = end
                heappush(self.events, (end, number, -1))
            self._begin(index, number, minute, end)

    def _serve_lorry(self, number: int, runs: Runs, minute: int) -> None:
        for run in range(len(runs.leaves)):
            if runs.leaves[run] != minute:
                continue
            room = runs.grams[run]
            for index in self._sorted(number, minute):
                if self.model.grams[index] <= room and self.model.length[index] <= runs.length[run]:
                    room -= self.model.grams[index]
                    self._begin(index, number, minute, runs.returns[run])

    def _serve_oven(self, number: int, batches: Batches, minute: int) -> None:
        if minute not in batches.starts or minute < self.free[number][0]:
            return
        slot = batches.starts.index(minute)
        oven, since, room, colour = batches.oven, self.free[number][0], batches.oven.frames, ""
        for index in self._sorted(number, minute):
            own = self.model.colour[index]
            if colour and own != colour:
                continue
            if not colour and since + oven.change(self.colour[number], own) > minute:
                continue
            if self.model.frames[index] <= room:
                colour, room = own, room - self.model.frames[index]
                self._begin(index, number, minute, batches.ends[slot])
        if colour:
            self.colour[number], self.free[number][0] = colour, batches.ends[slot]

    def _begin(self, index: int, number: int, minute: int, end: int) -> None:
        self.start[index] = minute
        self.waiting[number].remove(index)
        model = self.model
        for other in model.before[index]:
            self.left[other] -= 1
            self.ready[other] = max(self.ready[other], end + model.lag[other])
            if not self.left[other] and model.fixed[other] is None:
                heappush(self.events, (self.ready[other], model.place[other], other))
