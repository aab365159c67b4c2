"""The netting's answer, and the questions that planners and the scheduler ask of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from production.planning.netting.data import Peg, PlannedSupply, Receipt, Shortage, SupplyKind


class BalanceLine(NamedTuple):
    """On a day the balance of an item changes by `change` to `balance`, because of `what` (kind and reference)."""

    day: int
    change: Decimal
    balance: Decimal
    kind: str
    reference: str


@dataclass(frozen=True)
class ShelfAlert:
    """The shelf falls under its level: on which day first, to what, and the least it will hold in the horizon."""

    item: str
    level: Decimal
    day: int
    balance: Decimal
    lowest: Decimal


@dataclass(frozen=True)
class NetPlan:
    """Planned supplies by release day, pegs and shortages by item from the top of the bills downwards."""

    today: int
    supplies: tuple[PlannedSupply, ...]
    pegs: tuple[Peg, ...]
    shortages: tuple[Shortage, ...]
    on_hand: Mapping[str, Decimal]
    receipts: tuple[Receipt, ...]

    def pegs_of(self, order: str) -> list[Peg]:
        """Every source that serves the order."""
        return self._by_order.get(order, [])

    def shortages_of(self, order: str) -> list[Shortage]:
        """What the order waits for, the longest delay first."""
        return sorted(
            (row for row in self.shortages if row.order == order), key=lambda row: (-row.days, row.item)
        )

    def earliest_material_day(self, order: str) -> int:
        """When the last thing is there that the order does not make for itself; today where all is."""
        return max(self.stage_days(order).values(), default=self.today)

    def stage_days(self, order: str) -> dict[str, int]:
        """By item made for the order ("" for the order itself): when the last of its components is there.

        Counts stock, receipts and what is to be bought; what is to be made is left to the scheduler, which
        knows when a station has time for it.
        """
        return {stage: peg.available_day for stage, peg in self.stage_waits(order).items()}

    def stage_waits(self, order: str) -> dict[str, Peg]:
        """As `stage_days`, with the component that comes last."""
        last: dict[str, Peg] = {}
        for peg in self.pegs_of(order):
            if peg.kind == SupplyKind.PLANNED and self._made[peg.reference]:
                continue
            known = last.get(peg.parent)
            if known is None or peg.available_day > known.available_day:
                last[peg.parent] = peg
        return last

    def availability(self, order: str) -> dict[str, int]:
        """By item that the order needs, when the last of it is there, by lead times alone for what is made."""
        days: dict[str, int] = {}
        for peg in self.pegs_of(order):
            days[peg.item] = max(days.get(peg.item, peg.available_day), peg.available_day)
        return days

    def projected_balance(self, item: str, *, planned: bool = True) -> list[BalanceLine]:
        """The item's balance after every change, the stock on hand first.

        With `planned` False, planned supplies are left out and each quantity leaves on the day it is needed:
        what would happen if nothing were made or bought. Else a late quantity leaves when it is there.
        """
        changes = [
            (max(receipt.day, self.today), 0, receipt.quantity, "receipt", receipt.reference)
            for receipt in self._receipts_of.get(item, ())
        ]
        if planned:
            changes += [
                (peg.available_day, 0, peg.quantity, "planned", peg.reference) for peg in self._arrivals(item)
            ]
            changes += self._surplus(item)
        changes += self._leaving(item, planned)
        return _running(self.today, self.on_hand.get(item, Decimal(0)), sorted(changes))

    def _leaving(self, item: str, planned: bool) -> list[tuple[int, int, Decimal, str, str]]:
        """What leaves for each order on each day. The refill of the safety stock stays."""
        leaving: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
        for peg in self._by_item.get(item, ()):
            if peg.order or peg.parent:
                late_day = peg.available_day if planned else self.today
                leaving[max(peg.needed_day, late_day), peg.order] += peg.quantity
        return [(day, 1, -quantity, "need", order) for (day, order), quantity in leaving.items()]

    def _arrivals(self, item: str) -> list[Peg]:
        return [peg for peg in self._by_item.get(item, ()) if peg.kind == SupplyKind.PLANNED]

    def _surplus(self, item: str) -> list[tuple[int, int, Decimal, str, str]]:
        """What planned lots give beyond their pegs."""
        pegged: dict[str, Decimal] = defaultdict(Decimal)
        for peg in self._arrivals(item):
            pegged[peg.reference] += peg.quantity
        return [
            (supply.ready_day, 0, supply.good - pegged[str(supply.number)], "planned", str(supply.number))
            for supply in self._supplies_of.get(item, ())
            if supply.good > pegged[str(supply.number)]
        ]

    @cached_property
    def _made(self) -> dict[str, bool]:
        return {str(supply.number): supply.make for supply in self.supplies}

    @cached_property
    def _by_order(self) -> dict[str, list[Peg]]:
        found: dict[str, list[Peg]] = defaultdict(list)
        for peg in self.pegs:
            found[peg.order].append(peg)
        return dict(found)

    @cached_property
    def _by_item(self) -> dict[str, list[Peg]]:
        found: dict[str, list[Peg]] = defaultdict(list)
        for peg in self.pegs:
            found[peg.item].append(peg)
        return dict(found)

    @cached_property
    def _supplies_of(self) -> dict[str, list[PlannedSupply]]:
        found: dict[str, list[PlannedSupply]] = defaultdict(list)
        for supply in self.supplies:
            found[supply.item].append(supply)
        return dict(found)

    @cached_property
    def _receipts_of(self) -> dict[str, list[Receipt]]:
        found: dict[str, list[Receipt]] = defaultdict(list)
        for receipt in self.receipts:
            found[receipt.item].append(receipt)
        return dict(found)


def shelf_alerts(
    levels: Mapping[str, Decimal], projected: Mapping[str, list[BalanceLine]]
) -> list[ShelfAlert]:
    """Items whose projected balance falls under their level, the earliest first; days are those of the balance.

    Give balances without planned supplies to be told what happens if nothing is done. Within one day only the
    balance at its end counts.
    """
    alerts = []
    for item, level in levels.items():
        at_end = {line.day: line.balance for line in projected.get(item, ())}
        day = next((day for day, balance in at_end.items() if balance < level), None)
        if day is not None:
            alerts.append(ShelfAlert(item, level, day, at_end[day], min(at_end.values())))
    return sorted(alerts, key=lambda alert: (alert.day, alert.item))


def _running(
    today: int, opening: Decimal, changes: list[tuple[int, int, Decimal, str, str]]
) -> list[BalanceLine]:
    lines = [BalanceLine(today, opening, opening, "on hand", "")]
    balance = opening
    for day, _, change, kind, reference in changes:
        balance += change
        lines.append(BalanceLine(day, change, balance, kind, reference))
    return lines
