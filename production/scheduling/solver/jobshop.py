"""The pure job shop: every operation on one machine that is always open, the last end as early as possible."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from ortools.sat.python import cp_model

from bom.kernel.errors import Problem, ProblemError
from production.scheduling.solver.cpsat import FOUND, new_solver, run_watched
from production.scheduling.solver.watch import Watch


def solve_job_shop(
    durations: Sequence[Sequence[int]], machines: Sequence[Sequence[int]], seconds: float, workers: int = 2
) -> tuple[int, int, list[list[int]]]:
    """Makespan, a bound that no schedule beats (equal when proven), and the start of every operation.

    Row j holds the operations of job j in sequence: `durations` in any unit of time, `machines` by number.
    Raises `ProblemError` when nothing was found in the time given.
    """
    cp: Any = cp_model.CpModel()
    horizon = sum(map(sum, durations))
    starts: list[list[Any]] = []
    intervals: dict[int, list[Any]] = defaultdict(list)
    makespan = cp.new_int_var(0, horizon, "makespan")
    for lengths, where in zip(durations, machines, strict=True):
        row: list[Any] = []
        for length, machine in zip(lengths, where, strict=True):
            start = cp.new_int_var(0, horizon, "")
            intervals[machine].append(cp.new_fixed_size_interval_var(start, length, ""))
            if row:
                cp.add(start >= row[-1] + lengths[len(row) - 1])
            row.append(start)
        if row:
            cp.add(makespan >= row[-1] + lengths[-1])
        starts.append(row)
    for one in intervals.values():
        cp.add_no_overlap(one)
    cp.minimize(makespan)
    solver = new_solver(seconds, workers, 1)
    watch = Watch(seconds + 60, lambda percent, sentence, best: True)
    if run_watched(solver, cp, watch) not in FOUND:
        raise ProblemError(Problem(f"No schedule was found in {seconds:g} s", mend="Give it more time."))
    found = [[int(solver.value(start)) for start in row] for row in starts]
    return int(solver.objective_value), int(solver.best_objective_bound), found
