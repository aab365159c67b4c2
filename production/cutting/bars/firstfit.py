"""First-fit decreasing: the plan a practised sawyer makes, and the one to beat."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from production.cutting.bars.whole import Column, Stock, Use, Whole


class _OpenBar:
    def __init__(self, stock: Stock, kinds: int) -> None:
        self.stock = stock
        self.room = stock.capacity
        self.numbers = [0] * kinds


def first_fit(whole: Whole, demands: Sequence[int] | None = None) -> Use:
    """Longest piece first into the first open bar with room; a new bar is the cheapest by length that takes it.

    Pieces for which no bar is left stay uncut.
    """
    wanted = whole.demands if demands is None else demands
    left: dict[int, int | None] = {stock.index: stock.count for stock in whole.stocks}
    order = sorted(whole.stocks, key=lambda s: (s.cost / max(s.capacity, 1), -s.capacity, s.index))
    bars: list[_OpenBar] = []
    for kind, (one, count) in enumerate(zip(whole.kinds, wanted, strict=True)):
        first = 0
        for _ in range(count):
            # Bars before `first` had no room for this length, nor will they later.
            while first < len(bars) and bars[first].room < one.size:
                first += 1
            if first == len(bars) and not _open(bars, order, left, one.size, len(whole.kinds)):
                break
            bars[first].room -= one.size
            bars[first].numbers[kind] += 1
    return dict(Counter(Column(bar.stock.index, tuple(bar.numbers)) for bar in bars))


def _open(
    bars: list[_OpenBar],
    order: Sequence[Stock],
    left: dict[int, int | None],
    size: int,
    kinds: int,
) -> bool:
    for stock in order:
        count = left[stock.index]
        if stock.capacity < size or count == 0:
            continue
        left[stock.index] = None if count is None else count - 1
        bars.append(_OpenBar(stock, kinds))
        return True
    return False
