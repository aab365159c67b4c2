"""The best way to saw one bar, given what each piece is worth: a bounded knapsack."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from production.cutting.bars.whole import Column, Stock, Whole


def best_patterns(
    whole: Whole, worth: npt.NDArray[np.float64], demands: Sequence[int]
) -> list[tuple[float, Column]]:
    """For each stock, the pattern of greatest worth that it can carry, no more of a kind than wanted.

    One table over all lengths up to the longest bar serves every stock. A number of pieces is split into
    powers of two, so that each is taken or left once.
    """
    longest = max(stock.capacity for stock in whole.stocks)
    bundles = _bundles(whole, worth, demands, longest)
    best = np.zeros(longest + 1)
    taken = np.zeros((len(bundles), longest + 1), dtype=bool)
    for row, (kind, number) in enumerate(bundles):
        size = whole.kinds[kind].size * number
        with_it = best[: longest + 1 - size] + worth[kind] * number
        gain = with_it > best[size:] + 1e-12
        taken[row, size:] = gain
        best[size:] = np.where(gain, with_it, best[size:])
    return [_trace(whole, stock, best, taken, bundles) for stock in whole.stocks if stock.count != 0]


def _bundles(
    whole: Whole, worth: npt.NDArray[np.float64], demands: Sequence[int], longest: int
) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for kind, one in enumerate(whole.kinds):
        if worth[kind] <= 1e-12:
            continue
        rest = min(demands[kind], longest // one.size)
        power = 1
        while rest > 0:
            number = min(power, rest)
            found.append((kind, number))
            rest -= number
            power *= 2
    return found


def _trace(
    whole: Whole,
    stock: Stock,
    best: npt.NDArray[np.float64],
    taken: npt.NDArray[np.bool_],
    bundles: Sequence[tuple[int, int]],
) -> tuple[float, Column]:
    room = stock.capacity
    numbers = [0] * len(whole.kinds)
    for row in range(len(bundles) - 1, -1, -1):
        if taken[row, room]:
            kind, number = bundles[row]
            numbers[kind] += number
            room -= whole.kinds[kind].size * number
    return float(best[stock.capacity]), Column(stock.index, tuple(numbers))
