"""Lots of items whose rule weighs the cost of orders against that of keeping: sized when all needs are known."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from itertools import pairwise

from inventory.levels.lotsizing import Need as Wanted
from inventory.levels.lotsizing import silver_meal, wagner_whitin
from production.planning.netting.data import ItemRule, LotRule, Offset
from production.planning.netting.lots import Lot, Lots, Parts
from production.planning.netting.scale import ONE, Need
from production.planning.netting.shelf import Taken

_Waiting = tuple[Need, int]


class WeighedLots(Lots):
    """Needs wait until all of the item's are known; `close` then plans the batches and serves the needs from them.

    A need before the earliest possible day counts as one on it. A lot size is the pack: a batch is rounded up to
    it, and what is over serves the next one.
    """

    def __init__(self, rule: ItemRule, today: int, offset: Offset, parts: Parts) -> None:
        super().__init__(rule, today, offset, parts)
        self._waiting: list[_Waiting] = []

    def take(self, need: Need, left: int, taken: list[Taken]) -> None:
        self._waiting.append((need, left))

    def close(self, taken: list[Taken]) -> None:
        for due, served in self._batches():
            unserved = sum(left for _, left in served)
            for need, left in served:
                rest = self.take_spare(need, left, taken)
                while rest:
                    self._begin(due, need, unserved - left + rest)
                    rest = self.take_spare(need, rest, taken)
                unserved -= left

    def _batches(self) -> Iterator[tuple[int, list[_Waiting]]]:
        """The day of each batch with the needs it is for."""
        waiting = sorted(self._waiting, key=self._day)
        wanted = [Wanted(self._day(one), one[1]) for one in waiting]
        plan = silver_meal if self.rule.lot_rule == LotRule.LEAST_AVERAGE else wagner_whitin
        batches = plan(wanted, order_cost=self.rule.order_cost * ONE, holding_cost=self.rule.holding_cost)
        days = [self._day(one) for one in waiting]
        starts = [bisect_left(days, batch.period) for batch in batches]
        for batch, (first, end) in zip(batches, pairwise([*starts, len(waiting)]), strict=True):
            yield batch.period, waiting[first:end]

    def _day(self, one: _Waiting) -> int:
        return max(one[0].day, self.earliest)

    def _begin(self, due: int, need: Need, quantity: int) -> None:
        gross = self.begun(quantity)
        if self._size:
            gross = -(-gross // self._size) * self._size
        self.lots.append(Lot(need.day, due, self._good(gross), gross))


def lots_of(rule: ItemRule, today: int, offset: Offset, parts: Parts) -> Lots:
    """The lots of an item, by its rule."""
    kind = WeighedLots if rule.lot_rule in (LotRule.LEAST_AVERAGE, LotRule.LEAST_TOTAL) else Lots
    return kind(rule, today, offset, parts)
