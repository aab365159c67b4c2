"""Run one strip packing and print every better layout as a line of JSON.

Started as a program of its own by `strip`, never imported: the packer cannot be asked to stop, so it must
live in a process that can be killed. It reads one JSON line from standard input and stops when
standard input is closed, so that it never outlives the process that asked.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from typing import Any

import spyrrow

POLL_SECONDS = 0.03


def _end_with_parent() -> None:
    """Wait for the end of standard input, which means that the parent has gone."""
    sys.stdin.read()
    os._exit(0)


def _say(solution: Any) -> None:
    placed = [(item.id, item.rotation, *item.translation) for item in solution.placed_items]
    sys.stdout.write(json.dumps({"width": solution.width, "placed": placed}) + "\n")
    sys.stdout.flush()


def _report(queue: Any, best: float) -> float:
    """Print the best of the waiting reports if it beats `best`; return the best width known."""
    feasible = [
        solution
        for kind, solution in queue.drain()
        if kind not in (spyrrow.ReportType.ExplInfeas, spyrrow.ReportType.ExplImproving)
    ]
    shortest = min(feasible, key=lambda solution: solution.width, default=None)
    if shortest is None or shortest.width >= best - 1e-6:
        return best
    _say(shortest)
    return float(shortest.width)


def _solve(task: dict[str, Any], queue: Any, failures: list[str]) -> None:
    try:
        items = [
            spyrrow.Item(i["id"], [tuple(point) for point in i["shape"]], i["demand"], i["rotations"])
            for i in task["items"]
        ]
        instance = spyrrow.StripPackingInstance("strip", task["height"], items)
        config = spyrrow.StripPackingConfig(
            early_termination=True,
            min_items_separation=task["separation"],
            exploration_time=task["explore_seconds"],
            compression_time=task["compress_seconds"],
            total_computation_time=None,
            num_workers=task["workers"],
            seed=task["seed"],
        )
        instance.solve(config, progress=queue)
    except BaseException as error:  # a panic of the packer is not an Exception
        failures.append(repr(error))


def main() -> int:
    task = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    queue = spyrrow.ProgressQueue()
    failures: list[str] = []
    solver = threading.Thread(target=_solve, args=(task, queue, failures), daemon=True)
    solver.start()
    best = float("inf")
    while solver.is_alive():
        best = _report(queue, best)
        time.sleep(POLL_SECONDS)
    _report(queue, best)
    if failures:
        sys.stderr.write(failures[0] + "\n")
        return 1
    return 0


if __name__ == "__main__":
    code = main()
    sys.stdout.flush()
    # Skip interpreter shutdown: the reading thread still holds standard input.
    os._exit(code)
