"""What is there of one item and what is on its way, taken by one need after the other."""

from __future__ import annotations

from collections.abc import Iterable

from production.planning.netting.data import SupplyKind
from production.planning.netting.scale import Need

FROM_STOCK = -1


Taken = tuple[Need, SupplyKind, int, int, int, int]
"""What a need gets from one source: need, kind, source, quantity, day available, part of the lot.

`source` is FROM_STOCK, or which of the item's receipts or lots. A plain tuple: there are millions of them.
"""


class Shelf:
    """Stock reserved for orders, free stock, safety stock and receipts (day, quantity, reference) of one item.

    `safety` is first held back from the free stock; it is lent out only where every other supply is late.
    """

    def __init__(
        self,
        today: int,
        free: int,
        reserved: dict[int, int],
        safety: int,
        receipts: Iterable[tuple[int, int, str]] = (),
    ) -> None:
        self.today = today
        self.reserved = reserved
        self.safety = min(free, safety)
        self.safety_wanted = safety
        self.free = free - self.safety
        self.receipts = [
            (max(day, today), quantity, reference) for day, quantity, reference in sorted(receipts)
        ]
        self._next = 0
        self._left = self.receipts[0][1] if self.receipts else 0

    @property
    def is_bare(self) -> bool:
        """Nothing is left to take, nor will anything come."""
        return not (self.free or self.safety or self.reserved) and self._next >= len(self.receipts)

    @property
    def next_day(self) -> int | None:
        """When the next receipt with something left comes; None where there is none."""
        while self._next < len(self.receipts) and not self._left:
            self._next += 1
            self._left = self.receipts[self._next][1] if self._next < len(self.receipts) else 0
        return self.receipts[self._next][0] if self._next < len(self.receipts) else None

    def take_stock(self, need: Need, left: int, taken: list[Taken]) -> int:
        """From what is reserved for the order, then from what is free; answers what is still missing."""
        kept = self.reserved.get(need.order, 0)
        if kept:
            used = min(kept, left)
            self.reserved[need.order] = kept - used
            left -= self._note(need, used, taken)
        if left and self.free:
            used = min(self.free, left)
            self.free -= used
            left -= self._note(need, used, taken)
        return left

    def take_safety(self, need: Need, left: int, taken: list[Taken]) -> int:
        """Lend from the safety stock."""
        used = min(self.safety, left)
        self.safety -= used
        return left - self._note(need, used, taken)

    def take_receipts(self, need: Need, left: int, taken: list[Taken], until: int | None = None) -> int:
        """From receipts by date, those up to and with day `until` (None: all)."""
        while left:
            day = self.next_day
            if day is None or (until is not None and day > until):
                break
            used = min(self._left, left)
            self._left -= used
            left -= used
            taken.append((need, SupplyKind.RECEIPT, self._next, used, day, -1))
        return left

    def _note(self, need: Need, used: int, taken: list[Taken]) -> int:
        if used:
            taken.append((need, SupplyKind.STOCK, FROM_STOCK, used, self.today, -1))
        return used
