"""The way in: what to saw from which bar, never worse than first-fit, checked before it is handed out."""

from __future__ import annotations

import math
import random
import time
from collections import Counter
from collections.abc import Callable, Sequence

from bom.kernel.errors import Problem, ProblemError
from production.cutting.bars.check import check_bars
from production.cutting.bars.columns import Master, Relaxed, rounded_up
from production.cutting.bars.complete import columns_within
from production.cutting.bars.dive import dive
from production.cutting.bars.firstfit import first_fit
from production.cutting.bars.job import BarPlan, BarProgress, BarStock, NotCut, Piece
from production.cutting.bars.restricted import best_by_branching, best_by_constraints, reaches
from production.cutting.bars.spread import to_patterns
from production.cutting.bars.whole import (
    Column,
    Use,
    Whole,
    cost_divisor,
    in_whole_numbers,
    merit,
    next_cost,
    short_of,
    size_of,
    tenths_down,
    tenths_up,
    total_cost,
)

# Where CP-SAT closes the gap at all, it was seen to do so within a second; counted in its own measure of work, so that
# a busy machine does not cut it short. Each round works twice as long, over more patterns.
CONSTRAINT_WORK, ROUNDS = 3.0, 4
# Saws swing no further: common practice, no source.
STEEPEST_DEG = 60.0
# How much of a bar must show in the relaxation before a dive rounds it up; several dives, several tries.
THRESHOLDS = (1.0, 0.7, 0.5, 0.85, 0.6)
# So many dives by chance before each round of mixing; the same on every run.
DIVES, SEED = 8, 7


def cut_bars(
    pieces: Sequence[Piece],
    bars: Sequence[BarStock],
    *,
    kerf_mm: float = 3.0,
    trim_mm: float = 0.0,
    shortest_offcut_mm: float = 500.0,
    seconds: float = 10.0,
    progress: Callable[[BarProgress], bool] = lambda _: True,
) -> BarPlan:
    """Saw all pieces from bars at the least cost.

    `kerf_mm` is lost between pieces, `trim_mm` once on every bar (its own saw cut counted in). `progress`
    answers True to go on, False to stop with the best plan so far. Pieces longer than every bar, or for which
    no bar is left, come back as `not_cut` with the reason. The plan costs no more than first-fit
    decreasing and, given time to finish, is the same on every run.

    Raises `ProblemError` when a piece, a bar or a measure makes no sense.
    """
    problems = _job_problems(pieces, bars, kerf_mm, trim_mm, shortest_offcut_mm)
    if problems:
        raise ProblemError(*problems)
    longest = max((tenths_down(bar.length_mm - trim_mm) for bar in bars if bar.count != 0), default=-1)
    # The last piece on a bar needs no saw cut behind it.
    most = longest + tenths_up(kerf_mm)
    good = [piece for piece in pieces if piece.quantity > 0 and size_of(piece, kerf_mm) <= most]
    too_long = [piece for piece in pieces if piece.quantity > 0 and size_of(piece, kerf_mm) > most]
    search = _Search(in_whole_numbers(good, bars, kerf_mm, trim_mm), seconds, progress, cost_divisor(bars))
    if good:
        search.run()
    patterns, left = to_patterns(search.whole, search.best, good, bars, kerf_mm, trim_mm, shortest_offcut_mm)
    not_cut = [_too_long(piece, longest) for piece in too_long]
    not_cut += [NotCut(code, n, "no bar is left that is long enough") for code, n in sorted(left.items())]
    plan = BarPlan(
        patterns=patterns,
        not_cut=tuple(not_cut),
        cost=search.cost / search.divisor,
        bound=search.bound / search.divisor,
        proven=search.proven,
        bars=sum(pattern.count for pattern in patterns),
        first_fit_bars=sum(search.first.values()),
        seconds=search.spent,
        first_fit_cost=total_cost(search.whole, search.first) / search.divisor,
        stopped=search.stopped,
    )
    problems = check_bars(pieces, bars, kerf_mm, trim_mm, plan)
    if problems:
        raise ProblemError(*problems)
    return plan


class _Search:
    """First-fit, then the relaxation and dives from it, then an integer programme over its patterns."""

    def __init__(
        self, whole: Whole, seconds: float, progress: Callable[[BarProgress], bool], divisor: int
    ) -> None:
        self.whole = whole
        self.divisor = divisor
        self.best: Use = {}
        self.first: Use = {}
        self.bound = 0
        self.stopped = False
        self.step = "first fit"
        self._seconds = seconds
        self._progress = progress
        self._begun = time.monotonic()

    @property
    def spent(self) -> float:
        return time.monotonic() - self._begun

    @property
    def cost(self) -> int:
        return total_cost(self.whole, self.best)

    @property
    def proven(self) -> bool:
        return not any(short_of(self.whole, self.best)) and self.cost <= self.bound

    def go_on(self) -> bool:
        """False once the time is over or the caller has said stop."""
        if not self.stopped:
            report = BarProgress(self.spent, self.cost / self.divisor, self.bound / self.divisor, self.step)
            self.stopped = not self._progress(report)
        return not self.stopped and self.spent < self._seconds

    def run(self) -> None:
        self.best = self.first = first_fit(self.whole)
        self.bound = area_bound(self.whole)
        if self.proven or not self.go_on():
            return
        self.step = "bound"
        master = Master(self.whole)
        master.add(sorted(self.first, key=lambda column: (column.stock, column.numbers)))
        relaxed = master.solve(self.whole.demands, self.go_on)
        if not relaxed.exact:
            return
        if relaxed.complete:
            bound = rounded_up(relaxed.value, self.whole.cost_step)
            self.bound = max(self.bound, next_cost(self.whole, bound))
        self.step = "whole bars"
        for threshold in THRESHOLDS:
            self._take(dive(master, relaxed, threshold, self.go_on))
            if self.proven or not self.go_on():
                return
        if relaxed.complete:
            self._settle(relaxed)
        if self.proven or not self.go_on():
            return
        chance = random.Random(SEED)
        for number in range(ROUNDS):
            self.step = "other whole bars"
            for _ in range(DIVES):
                self._take(dive(master, relaxed, 1.0, self.go_on, chance))
                if self.proven or not self.go_on():
                    return
            columns = list(dict.fromkeys([*self.best, *master.columns]))
            self._mix(columns, relaxed.value, CONSTRAINT_WORK * 2**number)
            if self.proven or not self.go_on():
                return

    def _settle(self, relaxed: Relaxed) -> None:
        """Where few patterns can be in a plan at the bound, find that plan or raise the bound."""
        self.step = "every pattern at the bound"
        while not self.proven and self.go_on():
            columns = columns_within(self.whole, relaxed, self.bound, self.go_on)
            if columns is None:
                return
            seconds = 0.5 * (self._seconds - self.spent)
            settled, use = reaches(self.whole, columns, self.bound, seconds, self.go_on)
            self._take(use)
            if not settled:
                return
            if use is None:
                self.bound = next_cost(self.whole, self.bound + 1)

    def _mix(self, columns: list[Column], relaxed_value: float, work: float) -> None:
        self.step = "best mix of patterns"
        seconds = 0.4 * (self._seconds - self.spent)
        self._take(best_by_constraints(self.whole, self.best, columns, self.bound, seconds, work, self.go_on))
        if self.proven or not self.go_on():
            return
        seconds = self._seconds - self.spent
        self._take(best_by_branching(self.whole, columns, relaxed_value, self.bound, seconds, self.go_on))

    def _take(self, use: Use | None) -> None:
        if use is not None and merit(self.whole, use) < merit(self.whole, self.best):
            self.best = use


def area_bound(whole: Whole) -> int:
    """All length at the cheapest price by length: a plain bound, true also when counts are limited."""
    total = sum(kind.size * kind.demand for kind in whole.kinds)
    rate = min((stock.cost / stock.capacity for stock in whole.stocks if stock.capacity > 0), default=0.0)
    return rounded_up(total * rate, whole.cost_step)


def _too_long(piece: Piece, longest_tenths: int) -> NotCut:
    room = (
        f"the longest bar gives {longest_tenths / 10:g} mm after trim" if longest_tenths >= 0 else "no bars"
    )
    return NotCut(piece.code, piece.quantity, f"{piece.length_mm:g} mm is too long: {room}")


def _job_problems(
    pieces: Sequence[Piece],
    bars: Sequence[BarStock],
    kerf_mm: float,
    trim_mm: float,
    shortest_offcut_mm: float,
) -> list[Problem]:
    found: list[Problem] = []
    for piece in pieces:
        if not (math.isfinite(piece.length_mm) and piece.length_mm > 0) or piece.quantity < 0:
            what = f"{piece.quantity} of {piece.length_mm} mm cannot be sawn"
            found.append(
                Problem(what, f"piece {piece.code}", "Give a length above 0 and a quantity of 0 or more")
            )
        if not all(abs(deg) <= STEEPEST_DEG for deg in piece.mitres_deg):
            what = f"Ends of {piece.mitres_deg[0]:g}° and {piece.mitres_deg[1]:g}° cannot be sawn"
            mend = f"Give angles off square of at most {STEEPEST_DEG:g}°"
            found.append(Problem(what, f"piece {piece.code}", mend))
    for bar in bars:
        sizes_good = math.isfinite(bar.length_mm) and bar.length_mm > 0
        price_good = math.isfinite(bar.price) and bar.price >= 0
        if not (sizes_good and price_good) or (bar.count is not None and bar.count < 0):
            what = f"{bar.length_mm} mm, {bar.count} bars at {bar.price} make no sense"
            found.append(
                Problem(what, f"bar {bar.code}", "Give a length above 0, count and price of 0 or more")
            )
    for name, value in (("saw cut", kerf_mm), ("end trim", trim_mm), ("shortest offcut", shortest_offcut_mm)):
        if not (math.isfinite(value) and value >= 0):
            found.append(Problem(f"The {name} is {value} mm", "saw settings", "Give 0 mm or more"))
    for what, codes in (("piece", [p.code for p in pieces]), ("bar", [b.code for b in bars])):
        for code, count in Counter(codes).items():
            if count > 1:
                found.append(Problem(f"The {what} is listed {count} times", f"{what} {code}", "List it once"))
    return found
