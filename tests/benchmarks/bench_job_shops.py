"""The classic job shops: `python -m tests.benchmarks.bench_job_shops [seconds [name …]]`.

Makespan reached, the bound proven, the best known value and the time it took, on two workers. Instances and best known
values: tests/outside/data/jobshop.json (sources there).
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from production.scheduling.solver.jobshop import solve_job_shop

DATA = Path(__file__).parent.parent / "outside" / "data" / "jobshop.json"


def main() -> None:
    words = sys.argv[1:]
    seconds = float(words[0]) if words else 60.0
    instances = json.loads(DATA.read_text())["instances"]
    print(f"{'name':>6} {'best known':>10} {'reached':>8} {'bound':>8} {'above':>7} {'seconds':>8}")
    for name in words[1:] or instances:
        one = instances[name]
        begun = time.monotonic()
        makespan, bound, _ = solve_job_shop(one["duration"], one["machine"], seconds, 2)
        took, best = time.monotonic() - begun, one["optimum"]
        print(
            f"{name:>6} {best:>10} {makespan:>8} {bound:>8} {100 * (makespan / best - 1):>6.2f}% {took:>8.1f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
