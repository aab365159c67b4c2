"""One window solved exactly: some operations are free, the rest stands; CP-SAT on whole minutes of real time.

Closed time is exact: an operation's start lies in open time, and its end is start + minutes + the closed
minutes it meets, of which there are few different values (none, a night, a weekend); one of them is chosen,
with the starts that lead to it as its domain.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from production.scheduling.solver.cpsat import FOUND, OPTIMAL, new_solver, run_watched
from production.scheduling.solver.decode import Decoded
from production.scheduling.solver.model import Batches, Machine, Model, Runs
from production.scheduling.solver.oven import add_oven
from production.scheduling.solver.watch import Watch


@dataclass
class WindowAnswer:
    """Starts of the free operations; `optimal` if no better ones exist within the window."""

    start: dict[int, int]
    optimal: bool


class WindowModel:
    """The model of one window around the schedule `now`; no free operation ends after minute `last`."""

    def __init__(self, model: Model, now: Decoded, free: Iterable[int], last: int) -> None:
        self.model, self.now, self.last = model, now, last
        chosen = set(free)
        self.free = [index for index in model.order if index in chosen and model.fixed[index] is None]
        self.chosen = set(self.free)
        self.cp: Any = cp_model.CpModel()
        self.start: dict[int, Any] = {}
        self.end: dict[int, Any] = {}
        self.exact = True
        self._intervals: dict[int, list[Any]] = defaultdict(list)
        self._in_pool: dict[int, list[tuple[int, Any]]] = defaultdict(list)
        self._first: dict[int, int] = {}
        for index in self.free:
            self._add_operation(index)
        for number, place in enumerate(model.places):
            own = [index for index in self.free if model.place[index] == number]
            if own and isinstance(place, Machine):
                self._limit_machine(number, place, own)
            elif own and isinstance(place, Runs):
                self._add_runs(number, place, own)
            elif own and isinstance(place, Batches):
                self.exact &= add_oven(self, number, place, own)
        for number in self._in_pool:
            self._limit_pool(number)
        self._add_sequences()
        self._add_objective()

    def solve(self, watch: Watch, seconds: float, workers: int, seed: int) -> WindowAnswer | None:
        """Solve for so many seconds, less when the watch says stop; None where nothing was found."""
        solver = new_solver(seconds, workers, seed)
        # Probing takes longer than these windows need. Level 0, no probing at all, makes the solver fall (9.15).
        solver.parameters.cp_model_probing_level = 1
        solver.parameters.presolve_probing_deterministic_time_limit = 0.05
        solver.parameters.symmetry_level = 0
        solver.parameters.subsolvers.extend(["no_lp", "quick_restart"])
        status = run_watched(solver, self.cp, watch)
        if status not in FOUND:
            return None
        start = {index: int(solver.value(variable)) for index, variable in self.start.items()}
        return WindowAnswer(start, status == OPTIMAL and self.exact)

    def earliest(self, index: int) -> int:
        """The first minute at which the operation could begin, by what it comes after."""
        model = self.model
        lag = model.lag[index]
        ends = [self._first[one] if one in self.chosen else self.now.end[one] for one in model.after[index]]
        return max([model.earliest[index], *(end + lag for end in ends)])

    def latest_end(self, index: int) -> int:
        """The last minute at which it may end, by what stands after it."""
        model = self.model
        limits = [
            self.now.start[one] - model.lag[one]
            for one in model.before[index]
            if one not in self.chosen and model.fixed[one] is None
        ]
        return min([self.last, *limits])

    def frozen_at(self, number: int) -> list[int]:
        """Operations of a place that stand."""
        return [
            index
            for index in range(self.model.count)
            if self.model.place[index] == number and index not in self.chosen
        ]

    def _add_operation(self, index: int) -> None:
        """Start and end, with the schedule's own as the hint."""
        place = self.model.places[self.model.place[index]]
        first, last = self.earliest(index), self.latest_end(index)
        shortest = self.model.minutes[index] if isinstance(place, Machine) else 0
        self._first[index] = first + shortest
        start, end = self.now.start[index], self.now.end[index]
        self.start[index] = self.cp.new_int_var(min(first, start), max(last - shortest, start), "")
        self.end[index] = self.cp.new_int_var(min(first + shortest, end), max(last, end), "")
        self.cp.add_hint(self.start[index], start)
        self.cp.add_hint(self.end[index], end)
        if not isinstance(place, Machine):
            return
        if not shortest:
            self.cp.add(self.end[index] == self.start[index])
            return
        self._add_closed_time(index, min(first, start), max(last, end))

    def _add_closed_time(self, index: int, first: int, last: int) -> None:
        minutes = self.model.minutes[index]
        pieces: dict[int, list[list[int]]] = defaultdict(list)
        for low, high, closed in self.model.axis[index].pieces(first, last, minutes, self.model.split[index]):
            pieces[closed].append([low, high])
        start, end = self.start[index], self.end[index]
        size = self.cp.new_int_var_from_domain(
            cp_model.Domain.from_values([minutes + closed for closed in pieces]), ""
        )
        closed_now = self.now.end[index] - self.now.start[index] - minutes
        self.cp.add_hint(size, minutes + closed_now)
        if len(pieces) == 1:
            [domain] = pieces.values()
            self.cp.add_linear_expression_in_domain(start, cp_model.Domain.from_intervals(domain))
        else:
            chosen = []
            for closed, domain in sorted(pieces.items()):
                here = self.cp.new_bool_var("")
                inside = cp_model.Domain.from_intervals(domain)
                self.cp.add_linear_expression_in_domain(start, inside).only_enforce_if(here)
                self.cp.add(size == minutes + closed).only_enforce_if(here)
                self.cp.add_hint(here, closed == closed_now)
                chosen.append(here)
            self.cp.add_exactly_one(chosen)
        interval = self.cp.new_interval_var(start, size, end, "")
        self._intervals[self.model.place[index]].append(interval)
        for pool in self.model.pools_of[index]:
            self._in_pool[pool].append((index, interval))

    def _limit_machine(self, number: int, machine: Machine, own: list[int]) -> None:
        """What stays takes its time on the units, as far as the free operations reach; so do stands."""
        taken = [(self.now.start[one], self.now.end[one]) for one in self.frozen_at(number)]
        axis = machine.axis
        taken += [
            (axis.start_at(begin), axis.end_at(finish)) for unit in machine.stands for begin, finish in unit
        ]
        intervals = self._intervals[number]
        low = min(min(self.earliest(index), self.now.start[index]) for index in own)
        high = max(self.last, *(self.now.end[index] for index in own))
        for begin, finish in taken:
            if finish > begin and finish > low and begin < high:
                intervals.append(self.cp.new_fixed_size_interval_var(begin, finish - begin, ""))
        if machine.centre.units == 1:
            self.cp.add_no_overlap(intervals)
        else:
            self.cp.add_cumulative(intervals, [1] * len(intervals), machine.centre.units)

    def _limit_pool(self, number: int) -> None:
        """Jigs exactly. People are left to the decoder: who pauses when depends on who is there."""
        pool = self.model.pools[number]
        if not pool.is_held_while_closed:
            self.exact = False
            return
        most = max(pool.free)
        intervals = [interval for _, interval in self._in_pool[number]]
        demands = [1] * len(intervals)
        fixed = [
            (self.now.start[one], self.now.end[one], 1)
            for one in range(self.model.count)
            if number in self.model.pools_of[one] and one not in self.chosen
        ]
        fixed += [
            (start, min(end, self.model.horizon_end() + 1), most - free)
            for start, end, free in zip(pool.times, pool.times[1:], pool.free, strict=False)
        ]
        for start, end, count in fixed:
            if end > start and count:
                intervals.append(self.cp.new_fixed_size_interval_var(start, end - start, ""))
                demands.append(count)
        self.cp.add_cumulative(intervals, demands, most)

    def _add_runs(self, number: int, runs: Runs, own: list[int]) -> None:
        """Each load takes one departure; what is left of its mass is shared."""
        room = runs.grams.copy()
        for one in self.frozen_at(number):
            room[self.now.unit[one]] -= self.model.grams[one]
        taken: dict[int, list[tuple[int, Any]]] = defaultdict(list)
        for index in own:
            first, last = self.earliest(index), self.latest_end(index)
            grams, length = self.model.grams[index], self.model.length[index]
            options = [
                run
                for run, leaves in enumerate(runs.leaves)
                if (leaves >= first and runs.returns[run] <= last and grams <= room[run])
                and length <= runs.length[run]
            ]
            chosen = self.choose(index, options, runs.leaves, runs.returns)
            for run, here in chosen.items():
                taken[run].append((grams, here))
        for run, loads in taken.items():
            if sum(grams for grams, _ in loads) > room[run]:
                self.cp.add(sum(grams * here for grams, here in loads) <= room[run])

    def choose(self, index: int, options: list[int], starts: list[int], ends: list[int]) -> dict[int, Any]:
        """One of the options gives the operation's start and end; answers a yes-or-no variable for each."""
        chosen = {option: self.cp.new_bool_var("") for option in options}
        for option, here in chosen.items():
            self.cp.add(self.start[index] == starts[option]).only_enforce_if(here)
            self.cp.add(self.end[index] == ends[option]).only_enforce_if(here)
            self.cp.add_hint(here, option == self.now.unit[index])
        self.cp.add_exactly_one(chosen.values())
        return chosen

    def _add_sequences(self) -> None:
        model = self.model
        for index in self.free:
            for one in model.after[index]:
                if one in self.chosen:
                    self.cp.add(self.start[index] >= self.end[one] + model.lag[index])
                else:
                    self.cp.add(self.start[index] >= self.now.end[one] + model.lag[index])
            self.cp.add(self.end[index] <= max(self.latest_end(index), self.now.end[index]))

    def _add_objective(self) -> None:
        """Weighted lateness of the jobs that have something free; where nothing is late, their finishes.

        Finishes are left out while something is late: the decoder moves all to the left anyway, and the solver
        would spend its time on single minutes.
        """
        model, late_terms, finishes = self.model, [], []
        jobs = sorted({model.job[index] for index in self.free} - {-1})
        stands = not any(self.now.finish[job] > model.due[job] for job in jobs)
        for job in jobs:
            due, now = model.due[job], self.now.finish[job]
            finish = self.cp.new_int_var(0, max(now, due) if stands else max(self.last, now), "")
            self.cp.add_hint(finish, now)
            for index in model.operations_of[job]:
                self.cp.add(finish >= (self.end[index] if index in self.chosen else self.now.end[index]))
            finishes.append(finish)
            if not stands and model.weight[job]:
                late = self.cp.new_int_var(0, max(0, max(self.last, now) - due), "")
                self.cp.add_hint(late, max(0, now - due))
                self.cp.add(late >= finish - due)
                late_terms.append(model.weight[job] * late)
        self.cp.minimize(sum(finishes if stands else late_terms))
