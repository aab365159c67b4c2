"""Planned supplies of one item, sized by its lot rule as one need after the other asks."""

from __future__ import annotations

from dataclasses import dataclass, field

from production.planning.netting.data import ItemRule, LotRule, Offset, SupplyKind
from production.planning.netting.scale import ONE, Need, at_least
from production.planning.netting.shelf import Taken


@dataclass
class Lot:
    """A planned supply: `good` is what it gives, `gross` what is begun, `shares` what of `good` each order gets."""

    needed: int
    due: int
    good: int = 0
    gross: int = 0
    used: int = 0
    shares: dict[int, int] = field(default_factory=dict)
    parts: dict[int, int] = field(default_factory=dict)


class Parts:
    """Parts of lots that wait for their own components: where they are kept apart, one for each order."""

    def __init__(self) -> None:
        self.due: list[int] = []
        self.components: list[int] = []

    def new(self, due: int) -> int:
        self.due.append(due)
        self.components.append(-(1 << 62))
        return len(self.due) - 1

    def wait(self, part: int, day: int) -> None:
        """The components of `part` are not all there before `day`."""
        if day > self.components[part]:
            self.components[part] = day


class Lots:
    """The lots of one item. What a lot gives beyond its needs serves the needs that follow."""

    def __init__(self, rule: ItemRule, today: int, offset: Offset, parts: Parts) -> None:
        self.rule = rule
        self.lots: list[Lot] = []
        self.earliest = offset(today, -rule.lead_days)
        self._size = at_least(rule.lot_size)
        self._scrap = at_least(rule.scrap_fraction)
        self._grows = rule.lot_rule in (LotRule.AS_NEEDED, LotRule.PERIODS)
        self._days = max(1, -(-self._size // ONE)) if rule.lot_rule == LotRule.PERIODS else 1
        self._makes = rule.make
        self._offset = offset
        self._parts = parts
        self._apart = rule.lot_rule == LotRule.AS_NEEDED

    @property
    def spare_day(self) -> int | None:
        """When what the last lot has left over is there; None where nothing is left over."""
        return self.lots[-1].due if self.lots and self.lots[-1].good > self.lots[-1].used else None

    def begun(self, good: int) -> int:
        """What must be begun for so much good, with scrap, in whole numbers where the item is whole."""
        gross = -(-good * ONE // (ONE - self._scrap)) if self._scrap else good
        return -(-gross // ONE) * ONE if self.rule.whole else gross

    def take(self, need: Need, left: int, taken: list[Taken]) -> None:
        """Serve the need from what is left over, then from new lots."""
        if self._grows:
            self._grow(need, left, taken)
            return
        left = self.take_spare(need, left, taken)
        while left:
            self._add(need, left)
            left = self.take_spare(need, left, taken)

    def take_spare(self, need: Need, left: int, taken: list[Taken]) -> int:
        if self.spare_day is None:
            return left
        lot = self.lots[-1]
        used = min(left, lot.good - lot.used)
        self._give(need, lot, used, taken)
        return left - used

    def close(self, taken: list[Taken]) -> None:
        """Size the lots that grew with their needs; nothing may be taken from them afterwards."""
        if self._grows:
            for lot in self.lots:
                lot.gross = self.begun(lot.used)
                lot.good = max(lot.used, self._good(lot.gross))

    def _good(self, gross: int) -> int:
        return max(1, gross * (ONE - self._scrap) // ONE)

    def _grow(self, need: Need, left: int, taken: list[Taken]) -> None:
        due = need.day if need.day > self.earliest else self.earliest
        lot = self.lots[-1] if self.lots else None
        if lot is None or due >= self._until(lot):
            lot = Lot(need.day, due)
            self.lots.append(lot)
        self._give(need, lot, left, taken)

    def _until(self, lot: Lot) -> int:
        return lot.due + 1 if self._days == 1 else max(lot.due + 1, self._offset(lot.due, -self._days))

    def _add(self, need: Need, left: int) -> None:
        gross = self.begun(left)
        if self.rule.lot_rule in (LotRule.FIXED, LotRule.ECONOMIC):
            gross = self._size
        elif self.rule.lot_rule == LotRule.MULTIPLE:
            gross = -(-gross // self._size) * self._size
        else:
            gross = max(gross, self._size)
        good = self._good(gross)
        self.lots.append(Lot(need.day, max(need.day, self.earliest), good, gross))

    def _give(self, need: Need, lot: Lot, used: int, taken: list[Taken]) -> None:
        lot.used += used
        lot.shares[need.order] = lot.shares.get(need.order, 0) + used
        part = self._part(lot, need.order) if self._makes else -1
        taken.append((need, SupplyKind.PLANNED, len(self.lots) - 1, used, lot.due, part))

    def _part(self, lot: Lot, order: int) -> int:
        key = order if self._apart else 0
        part = lot.parts.get(key)
        if part is None:
            part = lot.parts[key] = self._parts.new(lot.due)
        return part
