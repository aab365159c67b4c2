"""Every pattern that a plan within the bound can use: an integer programme over them is exact.

A plan's cost is the relaxation's value plus the reduced cost of every bar in it (linear programming duality), so a bar
whose reduced cost alone is more than "target less relaxation" is in no plan that costs the target or less. Where the
others are few, all of them are listed, and the target is reached or proven out of reach.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from production.cutting.bars.columns import Relaxed
from production.cutting.bars.whole import Column, Stock, Whole

# More columns than this are no longer solved in seconds (measured); the walk looks at more than it keeps.
MOST_COLUMNS, MOST_STEPS = 4000, 400_000
# The table of best worths must fit: kinds times units of length.
MOST_CELLS = 6_000_000
ROUNDING = 1e-6
ASK_EVERY = 4096


def columns_within(
    whole: Whole, relaxed: Relaxed, target: int, go_on: Callable[[], bool]
) -> list[Column] | None:
    """All maximal patterns that a plan of cost `target` or less can use; None where there are too many."""
    slack = target - relaxed.value + ROUNDING * max(1, target)
    longest = max(stock.capacity for stock in whole.stocks)
    if slack < 0 or (longest + 1) * (len(whole.kinds) + 1) > MOST_CELLS:
        return None
    best = _best_worths(whole, relaxed.worth, longest)
    walk = _Walk(whole, relaxed.worth, best, go_on)
    for stock in whole.stocks:
        rent = relaxed.rents.get(stock.index, 0.0)
        if stock.count != 0 and not walk.collect(stock, stock.cost - rent - slack):
            return None
    return walk.found


def _best_worths(whole: Whole, worth: Sequence[float], longest: int) -> npt.NDArray[np.float64]:
    """Row k, room r: the greatest worth that kinds k, k + 1, … can fill the room with."""
    best = np.zeros((len(whole.kinds) + 1, longest + 1))
    for kind in range(len(whole.kinds) - 1, -1, -1):
        one, row = whole.kinds[kind], best[kind]
        row[:] = best[kind + 1]
        for number in range(1, min(one.demand, longest // one.size) + 1):
            size = one.size * number
            np.maximum(
                row[size:], best[kind + 1][: longest + 1 - size] + worth[kind] * number, out=row[size:]
            )
    return best


@dataclass
class _Walk:
    """A depth-first walk over patterns that turns back where even the best filling is worth too little."""

    whole: Whole
    worth: Sequence[float]
    best: npt.NDArray[np.float64]
    go_on: Callable[[], bool]

    def __post_init__(self) -> None:
        self.found: list[Column] = []
        self._steps = 0

    def collect(self, stock: Stock, least: float) -> bool:
        """Add the patterns of one stock that are worth at least this; False when there are too many."""
        self._stock, self._least = stock, least
        self._numbers = [0] * len(self.whole.kinds)
        return self._descend(0, stock.capacity, 0.0)

    def _descend(self, kind: int, room: int, value: float) -> bool:
        self._steps += 1
        if self._steps > MOST_STEPS or len(self.found) > MOST_COLUMNS:
            return False
        if self._steps % ASK_EVERY == 0 and not self.go_on():
            return False
        if value + self.best[kind, room] < self._least:
            return True
        if kind == len(self.whole.kinds):
            if self._is_maximal(room):
                self.found.append(Column(self._stock.index, tuple(self._numbers)))
            return True
        one = self.whole.kinds[kind]
        for number in range(min(one.demand, room // one.size), -1, -1):
            self._numbers[kind] = number
            if not self._descend(kind + 1, room - number * one.size, value + number * self.worth[kind]):
                return False
        return True

    def _is_maximal(self, room: int) -> bool:
        """A pattern with room for one more wanted piece is never needed: a piece too many does no harm."""
        return any(self._numbers) and not any(
            one.size <= room and number < one.demand
            for one, number in zip(self.whole.kinds, self._numbers, strict=True)
        )
