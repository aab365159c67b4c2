"""Running CP-SAT so that the caller can stop it."""

from __future__ import annotations

import threading
from typing import Any

from ortools.sat.python import cp_model

from production.scheduling.solver.watch import Watch

POLL_SECONDS = 0.1
FOUND = (cp_model.OPTIMAL, cp_model.FEASIBLE)
OPTIMAL = cp_model.OPTIMAL


def new_solver(seconds: float, workers: int, seed: int) -> Any:
    """A solver with its limits set."""
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed % (1 << 30)
    return solver


def run_watched(solver: Any, model: Any, watch: Watch) -> int:
    """Solve in a thread of its own; this one asks the watch and stops the search when it says so.

    The caller's progress callback may touch a database, so it must run in the caller's own thread.
    """
    answer: list[int] = []
    thread = threading.Thread(target=lambda: answer.append(solver.solve(model)), daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(POLL_SECONDS)
        if not watch.go_on():
            solver.stop_search()
    return answer[0] if answer else cp_model.UNKNOWN
