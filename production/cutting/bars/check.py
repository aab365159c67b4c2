"""Is a sawing plan right? An independent checker: it shares only the data of `job` with the solver."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from bom.kernel.errors import Problem
from production.cutting.bars.job import BarPlan, BarStock, CutPattern, Piece

TOLERANCE_MM = 1e-6
AGAIN = "Plan the sawing again; if it happens twice, keep the job's list and report it."


def check_bars(
    pieces: Sequence[Piece], bars: Sequence[BarStock], kerf_mm: float, trim_mm: float, plan: BarPlan
) -> list[Problem]:
    """Every way in which the plan breaks the job; an empty list means that it may be sawn.

    Checked: the bars exist and are not more than there are; pieces, saw cuts and trim fit on every bar; every
    piece is sawn or listed as not cut exactly as often as wanted; counts, cost and bound agree.
    """
    return [
        *_bar_problems(bars, plan),
        *(p for pattern in plan.patterns for p in _pattern_problems(pieces, pattern, kerf_mm, trim_mm)),
        *_quantity_problems(pieces, plan),
        *_figure_problems(bars, plan),
    ]


def _bar_problems(bars: Sequence[BarStock], plan: BarPlan) -> Iterable[Problem]:
    known = {bar.code: bar for bar in bars}
    used: Counter[str] = Counter()
    for pattern in plan.patterns:
        used[pattern.bar] += pattern.count
        bar = known.get(pattern.bar)
        if bar is None or bar.length_mm != pattern.bar_mm or pattern.count < 1:
            yield Problem(f"There are no {pattern.count} bars {pattern.bar}", _place(pattern), AGAIN)
    for code, number in used.items():
        count = known[code].count if code in known else None
        if count is not None and number > count:
            yield Problem(f"The plan takes {number} bars {code} but there are {count}", "sawing plan", AGAIN)


def _pattern_problems(
    pieces: Sequence[Piece], pattern: CutPattern, kerf_mm: float, trim_mm: float
) -> Iterable[Problem]:
    lengths = {piece.code: piece.length_mm for piece in pieces}
    slants = {piece.code: _slanting_mm(piece, kerf_mm) for piece in pieces}
    number = 0
    need_mm = trim_mm
    for cut in pattern.cuts:
        if lengths.get(cut.piece) != cut.length_mm or cut.number < 1:
            yield Problem(f"Piece {cut.piece} is not wanted at {cut.length_mm:g} mm", _place(pattern), AGAIN)
        number += cut.number
        need_mm += (cut.length_mm + slants.get(cut.piece, 0.0)) * cut.number
    if not number:
        yield Problem("Nothing is sawn from the bar", _place(pattern), AGAIN)
    need_mm += kerf_mm * (number - 1)
    if need_mm > pattern.bar_mm + TOLERANCE_MM:
        what = f"Pieces, saw cuts and trim need {need_mm:.1f} mm of a bar of {pattern.bar_mm:g} mm"
        yield Problem(what, _place(pattern), AGAIN)
    if pattern.rest_mm > max(0.0, pattern.bar_mm - need_mm - kerf_mm) + TOLERANCE_MM:
        yield Problem(f"The rest is given as {pattern.rest_mm:.1f} mm, too much", _place(pattern), AGAIN)


def _slanting_mm(piece: Piece, kerf_mm: float) -> float:
    """What the slanting cuts of a piece's mitred ends take along the bar."""
    return math.fsum(kerf_mm / math.cos(deg * math.pi / 180.0) for deg in piece.mitres_deg if deg != 0)


def _quantity_problems(pieces: Sequence[Piece], plan: BarPlan) -> Iterable[Problem]:
    sawn: Counter[str] = Counter()
    for pattern in plan.patterns:
        for cut in pattern.cuts:
            sawn[cut.piece] += cut.number * pattern.count
    left: Counter[str] = Counter()
    for item in plan.not_cut:
        left[item.code] += item.quantity
        if item.quantity < 1 or not item.reason.strip():
            yield Problem(f"Piece {item.code} is left over without number or reason", "sawing plan", AGAIN)
    for piece in pieces:
        if sawn[piece.code] + left[piece.code] != piece.quantity:
            what = f"Piece {piece.code}: {piece.quantity} wanted, {sawn[piece.code]} sawn"
            yield Problem(f"{what}, {left[piece.code]} left over", "sawing plan", AGAIN)


def _figure_problems(bars: Sequence[BarStock], plan: BarPlan) -> Iterable[Problem]:
    count = sum(pattern.count for pattern in plan.patterns)
    if count != plan.bars:
        yield Problem(f"The plan says {plan.bars} bars but saws {count}", "sawing plan", AGAIN)
    # A price counts in whole hundredths; 1.115 is 1.12 so, and 1.11 where its binary form is rounded to two places.
    prices = {bar.code: round(bar.price * 100) / 100 for bar in bars}
    if any(prices.values()):
        cost = sum(prices.get(pattern.bar, 0.0) * pattern.count for pattern in plan.patterns)
    else:
        cost = sum(pattern.bar_mm * pattern.count for pattern in plan.patterns)
    if abs(cost - plan.cost) > 1e-6 * max(1.0, cost) + 0.1 * count * (not any(prices.values())):
        yield Problem(f"The cost is given as {plan.cost:.2f} but is {cost:.2f}", "sawing plan", AGAIN)
    if not plan.not_cut and plan.bound > plan.cost + 1e-6 * max(1.0, cost):
        yield Problem(f"The bound {plan.bound:.2f} is above the cost {plan.cost:.2f}", "sawing plan", AGAIN)
    if plan.proven and (plan.cost > plan.bound + 1e-6 * max(1.0, cost)):
        yield Problem("The plan is called proven but costs more than its bound", "sawing plan", AGAIN)


def _place(pattern: CutPattern) -> str:
    cuts = " + ".join(f"{cut.number} × {cut.length_mm:g}" for cut in pattern.cuts)
    return f"bar {pattern.bar}, pattern {cuts}"
