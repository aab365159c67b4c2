"""Does the independent checker find anything? `python -m tests.benchmarks.bench_checker [instances [seconds each]]`.

Solves random workshops (shifts, stands, lags, fixed and unsplittable work, lorries, an oven with colours, shared
batches; every second one with jigs, people, skills and absences), each with an earlier plan to stay near to, and
counts what the checker finds, and whether any schedule is later than the best simple rule or than its bound allows.
"""

from __future__ import annotations

import sys
from time import monotonic

from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.solve import solve
from tests.production.scheduling.solver.shop import random_work


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 0.1
    begun, found, worse, proven = monotonic(), 0, 0, 0
    for seed in range(count):
        work = random_work(seed)
        first = solve(work, 0.01)
        before = {row.id: row.start_min for row in first.schedule.operations}
        solution = solve(work, seconds, before=before)
        for problem in check_schedule(work, solution.schedule):
            found += 1
            print(f"instance {seed}: {problem}")
        late = solution.schedule.late_minutes
        worse += (
            late > min(rule.late_minutes for rule in solution.rules) or late < solution.bound_late_minutes
        )
        proven += solution.proven
    print(
        f"{count} instances in {monotonic() - begun:.0f} s: {found} findings, {worse} worse, {proven} proven"
    )


if __name__ == "__main__":
    main()
