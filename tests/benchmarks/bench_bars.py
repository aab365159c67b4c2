"""How well bars are used, and how soon it is proven: `python -m tests.benchmarks.bench_bars [seconds a case]`.

All frozen: the open instances in `tests/outside/data/binpacking_cc0.json` (source beside them); fifty invented saw
lists in `data/bar_jobs.json`: 25 lengths, 400 pieces, bars of 6.0 and 7.5 m that cost their metres, saw cut and end
trim; and ten more whose long bar is dearer or cheaper by the metre, which are harder to prove. A line a case, with the
seconds it took and those of processor time (on a busy machine the two differ); the last line says how many are proven,
the longest time, and what is saved over first fit.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from production.cutting.bars.check import check_bars
from production.cutting.bars.job import BarPlan, BarStock, Piece
from production.cutting.bars.plan import cut_bars

HERE = Path(__file__).parent
OPEN_SETS = HERE.parent / "outside" / "data" / "binpacking_cc0.json"
SAW_LISTS = HERE / "data" / "bar_jobs.json"


@dataclass(frozen=True)
class Case:
    name: str
    pieces: tuple[Piece, ...]
    bars: tuple[BarStock, ...]
    kerf_mm: float = 0.0
    trim_mm: float = 0.0


def open_cases() -> Iterator[Case]:
    """Classic sets with one length of bar at price 1, so that the cost counts the bars."""
    data = json.loads(OPEN_SETS.read_text())
    for name, one in data["falkenauer"].items():
        yield _classic(name, Counter(one["items"]), one["capacity"])
    for name, one in data["waescher_gau1"].items():
        yield _classic(name, dict(zip(one["sizes"], one["qty"], strict=True)), one["capacity"])


def _classic(name: str, wanted: dict[float, int], bar_mm: float) -> Case:
    pieces = tuple(Piece(f"L{length:g}", length, number) for length, number in wanted.items())
    return Case(name, pieces, (BarStock("bar", bar_mm, None, 1.0),))


def saw_cases(prices: str) -> Iterator[Case]:
    """The saw lists with bars priced `by_the_metre`, or those with `uneven` prices."""
    for one in json.loads(SAW_LISTS.read_text())[prices]:
        rows = zip(one["lengths_mm"], one["quantities"], strict=True)
        yield Case(
            one["name"],
            tuple(Piece(f"L{length:g}", length, number) for length, number in rows),
            tuple(BarStock(f"{length:g}", length, None, price) for length, price in one["bars"]),
            one["kerf_mm"],
            one["trim_mm"],
        )


def bench(cases: Iterator[Case], seconds: float) -> None:
    plans = [_one(case, seconds) for case in cases]
    proven = sum(plan.proven for plan in plans)
    slowest = max(plan.seconds for plan in plans)
    worse = sum(plan.cost > plan.first_fit_cost + 1e-6 for plan in plans)
    saved = 1 - sum(plan.cost for plan in plans) / sum(plan.first_fit_cost for plan in plans)
    print(
        f"{proven} of {len(plans)} proven, the slowest in {slowest:.1f} s; "
        f"{worse} worse than first fit, {saved:.2%} cheaper together\n"
    )


def _one(case: Case, seconds: float) -> BarPlan:
    begun = time.process_time()
    plan = cut_bars(case.pieces, case.bars, kerf_mm=case.kerf_mm, trim_mm=case.trim_mm, seconds=seconds)
    if problems := check_bars(case.pieces, case.bars, case.kerf_mm, case.trim_mm, plan):
        raise SystemExit(f"{case.name}: {problems}")
    print(
        f"{case.name:10s} cost {plan.cost:9.2f} bound {plan.bound:9.2f} first fit {plan.first_fit_cost:9.2f} "
        f"{'proven' if plan.proven else 'open  '} {plan.seconds:5.2f} s "
        f"({time.process_time() - begun:.2f} s of processor)"
    )
    return plan


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    bench(open_cases(), seconds)
    bench(saw_cases("by_the_metre"), seconds)
    bench(saw_cases("uneven"), seconds)


if __name__ == "__main__":
    main()
