"""Search by taking some jobs out of the schedule and putting them back in another order, the rest standing still.

Ruin and recreate (Schrimpf and others 2000, from memory), accepted as in simulated annealing. One step costs as much as
the jobs taken out, whatever the size of the order book.
"""

from __future__ import annotations

import math
import random

from production.scheduling.solver.decode import Decoded, Decoder
from production.scheduling.solver.model import MOVE_COST
from production.scheduling.solver.rules import latest_starts
from production.scheduling.solver.state import State
from production.scheduling.solver.watch import Watch

FEWEST, MOST = 2, 9
NEAR_MIN = 480
HEAT, COLD = 0.002, 0.00003
"""Share of the lateness by which a step may be worse, at the beginning and at the end."""


class Ruin:
    """The search on one model, from a schedule."""

    def __init__(self, decoder: Decoder, seed: int) -> None:
        self.decoder, self.model = decoder, decoder.model
        self.draw = random.Random(seed)
        self.steps = 0
        model = self.model
        rank = {index: number for number, index in enumerate(model.order)}
        self._own = [
            sorted((one for one in operations if model.fixed[one] is None), key=rank.__getitem__)
            for operations in model.operations_of
        ]
        self._shared = [index for index in model.order if model.job[index] < 0 and model.fixed[index] is None]
        self._at: list[list[int]] = [[] for _ in model.places]
        for index in range(model.count):
            if model.fixed[index] is None:
                self._at[model.place[index]].append(index)
        latest = latest_starts(model)
        self._latest = [min((latest[one] for one in own), default=0) for own in self._own]
        self._worth = [
            model.weight[job] / max(1, sum(model.minutes[one] for one in own))
            for job, own in enumerate(self._own)
        ]

    def run(self, watch: Watch, best: Decoded, seconds: float) -> Decoded:
        """Improve for so many seconds; answers the best schedule seen."""
        until = watch.spent + min(seconds, watch.left)
        begun = watch.spent
        if not any(self._own):
            return best
        now = _Now(self.decoder, best)
        heat, cold = HEAT * max(best.late, 1), COLD * max(best.late, 1)
        since = 0
        while watch.spent < until and watch.go_on():
            share = (watch.spent - begun) / max(until - begun, 1e-6)
            limit = heat * (cold / heat) ** share
            for _ in range(20):
                self.steps += 1
                self._step(now, limit)
                if now.cost < best.cost:
                    best = now.decoded()
                    watch.best = best.late
                    since = 0
                since += 1
            if since > 4000:
                now, since = _Now(self.decoder, best), 0
        return self._shifted(best)

    def _shifted(self, best: Decoded) -> Decoded:
        shifted = self.decoder.decode(best.start)
        return shifted if shifted is not None and shifted.cost < best.cost else best

    def _step(self, now: _Now, limit: float) -> None:
        """One ruin and recreate; kept if it is not worse by more than chance allows."""
        jobs = self._chosen(now)
        tried = now.state.copy()
        taken = self._taken(jobs)
        if not self._rebuild(tried, jobs, taken):
            return
        change = now.change(tried, jobs, taken)
        if change <= limit * -math.log(1 - self.draw.random()) * now.model.late_cost:
            now.accept(tried, jobs, change)

    def _taken(self, jobs: list[int]) -> set[int]:
        """The operations of the jobs, and now and then the batch before one of them with all that share it."""
        model = self.model
        if self._shared and self.draw.random() < 0.15:
            for one in self._own[jobs[0]]:
                for other in model.after[one]:
                    if model.job[other] < 0 and model.fixed[other] is None:
                        fellows = {model.job[later] for later in model.before[other]} - {-1}
                        jobs += sorted(fellows - set(jobs))
                        return {other, *(one for job in jobs for one in self._own[job])}
        return {one for job in jobs for one in self._own[job]}

    def _rebuild(self, state: State, jobs: list[int], taken: set[int]) -> bool:
        model = self.model
        for one in taken:
            if not state.remove(one):
                return False
        placed: set[int] = set()
        for job in self._ordered(state, jobs):
            for one in self._own[job]:
                if one not in placed and not self._put(state, one, taken, placed):
                    return False
        for one in taken:
            for other in model.before[one]:
                stands = other not in taken and model.fixed[other] is None
                if stands and state.start[other] < state.end[one] + model.lag[other]:
                    return False
        return True

    def _put(self, state: State, one: int, taken: set[int], placed: set[int]) -> bool:
        model = self.model
        ready, lag = model.earliest[one], model.lag[one]
        for other in model.after[one]:
            if other in taken and other not in placed and not self._put(state, other, taken, placed):
                return False
            if state.end[other] + lag > ready:
                ready = state.end[other] + lag
        placed.add(one)
        return state.place(one, ready)

    def _ordered(self, state: State, jobs: list[int]) -> list[int]:
        """The jobs in the order in which they choose their times."""
        draw, dice = self.draw, self.draw.random()
        if dice < 0.3:
            spread = 2000.0
            key = {job: self._latest[job] + draw.gauss(0, spread) for job in jobs}
        elif dice < 0.65:
            ahead = 600 * 4 ** draw.randint(0, 3)
            minute = min((state.start[self._own[job][0]] for job in jobs if self._own[job]), default=0)
            key = {
                job: -self._worth[job]
                * math.exp(-max(0, self._latest[job] - minute) / ahead)
                * (0.5 + draw.random())
                for job in jobs
            }
        elif dice < 0.85:
            key = {
                job: (state.start[self._own[job][0]] if self._own[job] else 0) + draw.gauss(0, 1500)
                for job in jobs
            }
        else:
            key = {job: draw.random() for job in jobs}
        return sorted(jobs, key=key.__getitem__)

    def _chosen(self, now: _Now) -> list[int]:
        """A job that is late, drawn by how much, and jobs that are where it waits when it waits."""
        draw, model, state = self.draw, self.model, now.state
        seed = now.draw_job(draw)
        own = self._own[seed]
        if not own:
            return [seed]
        size = draw.randint(FEWEST, MOST)
        chosen = [seed]
        at = draw.choice(own)
        for _ in range(4):
            ready = model.earliest[at]
            for other in model.after[at]:
                ready = max(ready, state.end[other] + model.lag[at])
            if state.start[at] > ready:
                break
            at = draw.choice(own)
        for other in self._near(state.start, at, ready, size):
            job = model.job[other]
            if job >= 0 and job not in chosen:
                chosen.append(job)
                if len(chosen) >= size:
                    break
        return chosen

    def _near(self, start: list[int], at: int, ready: int, size: int) -> list[int]:
        """What is at the place from when the operation is ready until it begins, and a while around that; mixed."""
        around = NEAR_MIN
        while True:
            low, high = ready - around, start[at] + around
            near = [other for other in self._at[self.model.place[at]] if low <= start[other] <= high]
            if len(near) > size or len(near) == len(self._at[self.model.place[at]]):
                self.draw.shuffle(near)
                return near
            around *= 3


class _Now:
    """The schedule that the search stands at: its state, finishes and lateness by job."""

    def __init__(self, decoder: Decoder, decoded: Decoded) -> None:
        self.model = decoder.model
        self.state = decoder.state_of(decoded)
        self.finish = decoded.finish.copy()
        self.late = [
            weight * max(0, end - due)
            for end, due, weight in zip(self.finish, self.model.due, self.model.weight, strict=True)
        ]
        self.cost = decoded.cost
        self._new: list[tuple[int, int]] = []
        self._has_earlier = self.model.has_earlier_plan

    def draw_job(self, draw: random.Random) -> int:
        if draw.random() < 0.2 or not any(self.late):
            return draw.randrange(len(self.late))
        return draw.choices(range(len(self.late)), self.late)[0]

    def change(self, state: State, jobs: list[int], taken: set[int]) -> int:
        """What the cost would change by with the jobs where they stand in `state`."""
        change = 0
        model = self.model
        self._new = []
        for job in jobs:
            finish = max((state.end[one] for one in model.operations_of[job]), default=0)
            late = model.weight[job] * max(0, finish - model.due[job])
            change += (late - self.late[job]) * model.late_cost + finish - self.finish[job]
            self._new.append((finish, late))
        if self._has_earlier:
            moved = model.moves(state.start, taken) - model.moves(self.state.start, taken)
            change += MOVE_COST * moved
        return change

    def accept(self, state: State, jobs: list[int], change: int) -> None:
        self.state = state
        self.cost += change
        for job, (finish, late) in zip(jobs, self._new, strict=True):
            self.finish[job], self.late[job] = finish, late

    def decoded(self) -> Decoded:
        state = self.state
        return Decoded(
            state.start.copy(),
            state.end.copy(),
            state.unit.copy(),
            self.finish.copy(),
            sum(self.late),
            self.cost,
        )
