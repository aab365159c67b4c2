"""From fractions to bars: fix the whole bars, generate anew for what is left, and again.

Without this step most plans stay a bar or two above the bound; with it nearly all reach it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence

from production.cutting.bars.columns import Master, Relaxed
from production.cutting.bars.firstfit import first_fit
from production.cutting.bars.whole import Column, Use, Whole


def dive(
    master: Master,
    start: Relaxed,
    threshold: float,
    go_on: Callable[[], bool],
    chance: random.Random | None = None,
) -> Use:
    """A whole plan from the relaxation. Parts of bars above `threshold` are rounded up when none is whole.

    With `chance` only one is rounded up at a time, drawn by its size, so that each dive finds another plan.
    Ends at once, with first-fit for what is left, when `go_on` says stop.
    """
    whole = master.whole
    use: Use = {}
    demands = list(whole.demands)
    counts = [stock.count for stock in whole.stocks]
    relaxed = start
    while any(demands):
        chosen = _drawn(relaxed, chance) if chance else _chosen(relaxed, threshold)
        if not chosen or not go_on():
            break
        for column, number in chosen.items():
            _fix(use, demands, counts, column, number)
        if not any(demands):
            break
        master.set_rest(demands, counts)
        relaxed = master.solve(demands, go_on)
    _finish(whole, use, demands, counts)
    master.set_rest(whole.demands, [stock.count for stock in whole.stocks])
    return use


def _drawn(relaxed: Relaxed, chance: random.Random) -> Use:
    """Half of the whole parts, rounded up, so that the rest may still turn out differently; else one fraction."""
    if whole_parts := _whole_parts(relaxed):
        return {column: -(-number // 2) for column, number in whole_parts.items()}
    order = sorted(relaxed.use, key=lambda column: (column.stock, column.numbers))
    if not order:
        return {}
    return dict.fromkeys(chance.choices(order, [relaxed.use[column] ** 2 for column in order]), 1)


def _whole_parts(relaxed: Relaxed) -> Use:
    return {column: math.floor(value + 1e-6) for column, value in relaxed.use.items() if value >= 1 - 1e-6}


def _chosen(relaxed: Relaxed, threshold: float) -> Use:
    """The whole parts; if there are none the fractions above the threshold, at least the greatest one."""
    if whole_parts := _whole_parts(relaxed):
        return whole_parts
    order = sorted(relaxed.use.items(), key=lambda item: (-item[1], item[0].stock, item[0].numbers))
    return {column: 1 for index, (column, value) in enumerate(order) if index == 0 or value > threshold}


def _fix(use: Use, demands: list[int], counts: list[int | None], column: Column, number: int) -> None:
    """Saw the column up to `number` times, but never a piece too many nor a bar too many."""
    for kind, pieces in enumerate(column.numbers):
        if pieces:
            number = min(number, demands[kind] // pieces)
    count = counts[column.stock]
    if count is not None:
        number = min(number, count)
        counts[column.stock] = count - number
    if number <= 0:
        return
    use[column] = use.get(column, 0) + number
    for kind, pieces in enumerate(column.numbers):
        demands[kind] -= pieces * number


def _finish(whole: Whole, use: Use, demands: Sequence[int], counts: Sequence[int | None]) -> None:
    """First-fit for whatever the dive left."""
    rest = Whole(
        whole.kinds,
        tuple(
            type(stock)(stock.index, stock.capacity, stock.cost, count)
            for stock, count in zip(whole.stocks, counts, strict=True)
        ),
        whole.cost_step,
    )
    for column, number in first_fit(rest, demands).items():
        use[column] = use.get(column, 0) + number
