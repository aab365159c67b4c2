"""How late the orders are: `python -m tests.benchmarks.bench_schedule [seconds [size [book …]]]`.

Reads the frozen order books (`order_books.py`) and prints, for each, weighted hours late by earliest due date (EDD),
by the weight-and-slack rule (ATC) and by us at several moments, our share of both rules, and when the first schedule
stood. Last the means over the books. "worse" counts the moments at which we were worse than the best rule.
"""

from __future__ import annotations

import sys
import time

from production.scheduling.solver.job import Solution, Work
from production.scheduling.solver.solve import solve
from tests.benchmarks.order_books import NUMBERS, read_book

MOMENTS = (0.25, 0.5, 1.0)


class Heard:
    """Best lateness by second, as the progress tells it."""

    def __init__(self) -> None:
        self.begun = time.monotonic()
        self.rows: list[tuple[float, int]] = []

    def __call__(self, percent: int, sentence: str, best: int) -> bool:
        self.rows.append((time.monotonic() - self.begun, best))
        return True

    def at(self, seconds: float) -> float:
        """Hours late at a moment."""
        seen = [best for second, best in self.rows if second <= seconds]
        return seen[-1] / 60 if seen else float("nan")


def run(work: Work, seconds: float) -> tuple[Solution, Heard]:
    heard = Heard()
    return solve(work, seconds, progress=heard), heard


def main() -> None:
    words = sys.argv[1:]
    seconds = float(words[0]) if words else 60.0
    size = int(words[1]) if len(words) > 1 else 60
    books = [int(word) for word in words[2:]] or list(NUMBERS)
    print(
        f"{'book':>6} {'EDD h':>8} {'ATC h':>8} {'first s':>8} "
        + " ".join(f"{f'at {share * seconds:g} s':>9}" for share in MOMENTS)
        + f" {'/EDD':>6} {'/ATC':>6} {'bound h':>8} {'tried':>7} {'windows':>7} {'worse':>5}"
    )
    shares = []
    for number in books:
        found, heard = run(read_book(size, number), seconds)
        edd, atc = (max(rule.late_minutes, 1) for rule in found.rules)
        late = found.schedule.late_minutes
        worse = sum(best > min(edd, atc) for _, best in heard.rows)
        shares.append((late / edd, late / atc, found.first_seconds))
        print(
            f"{size:>3}-{number:02} {edd / 60:>8.0f} {atc / 60:>8.0f} {found.first_seconds:>8.3f} "
            + " ".join(f"{heard.at(share * seconds):>9.0f}" for share in MOMENTS[:-1])
            + f" {late / 60:>9.0f} {late / edd:>6.3f} {late / atc:>6.3f} {found.bound_late_minutes / 60:>8.0f}"
            f" {found.schedules_tried:>7} {found.windows_solved:>7} {worse:>5}",
            flush=True,
        )
    means = [sum(column) / len(shares) for column in zip(*shares, strict=True)]
    print(
        f"mean over {len(shares)}: {means[0]:.3f} of EDD, {means[1]:.3f} of ATC, first after {means[2]:.3f} s"
    )


if __name__ == "__main__":
    main()
