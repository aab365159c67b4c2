"""The way in: net every order's needs, level by level, against stock, receipts and planned supplies."""

from __future__ import annotations

import gc
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal

from bom.kernel.errors import ProblemError
from production.planning.netting.data import (
    Bills,
    Components,
    Demand,
    ItemRule,
    Offset,
    Peg,
    PlannedSupply,
    Receipt,
    Shortage,
    Stock,
    SupplyKind,
)
from production.planning.netting.intake import input_problems
from production.planning.netting.levels import low_level_codes
from production.planning.netting.lots import Lot, Lots, Parts
from production.planning.netting.plan import NetPlan
from production.planning.netting.scale import ONE, STOCK_ORDER, Need, at_least, at_most, times
from production.planning.netting.shelf import Shelf, Taken
from production.planning.netting.weighed import lots_of

Scaled = dict[str, list[tuple[str, int]]]
LAST = 1 << 62


def days_before(day: int, lead_days: int) -> int:
    """The offset for days that are all worked."""
    return day - lead_days


def net_requirements(
    demands: Sequence[Demand],
    bills: Bills,
    rules: Sequence[ItemRule],
    stock: Stock,
    receipts: Sequence[Receipt],
    *,
    today: int,
    offset: Offset = days_before,
) -> NetPlan:
    """Cover every demand and all that it needs below it; say from where, and what comes too late.

    Items are taken from the top of the bills downwards (low-level codes). The needs of an item are served by
    day, then priority, then as the orders came, each one from: what is reserved for its order, free stock,
    receipts that come in time, what an earlier planned lot has left over, the safety stock where everything
    else is late, receipts that come late (nothing is bought twice), a new planned lot. Borrowed safety stock
    is refilled. A supply that should have begun before today begins today and is late by its lead time.
    Planned quantities explode by the bill of the order that asks; what a lot makes beyond its orders by the
    standard bill. Exploded quantities are rounded up to a millionth of the stock unit. Equal input gives equal
    output. Textbook method ("material requirements planning"); worked examples with their sources stand in
    tests/outside/test_netting.py.

    Raises `ProblemError` for items without a rule, missing bills, rings in the bills and figures below zero.
    """
    problems = input_problems(demands, bills, rules, stock, receipts)
    if problems:
        raise ProblemError(*problems)
    with _no_garbage_collection():
        return _Netting(demands, bills, rules, stock, receipts, today, offset).plan()


class _Netting:
    """One run. Orders are counted as they come; the count after the last stands for stock."""

    def __init__(
        self,
        demands: Sequence[Demand],
        bills: Bills,
        rules: Sequence[ItemRule],
        stock: Stock,
        receipts: Sequence[Receipt],
        today: int,
        offset: Offset,
    ) -> None:
        self.today, self.stock, self.receipts = today, stock, receipts
        self._days: dict[tuple[int, int], int] = {}
        self._offset = offset
        self.rules = {rule.item: rule for rule in rules}
        self.orders = [*dict.fromkeys(demand.order for demand in demands if demand.order), STOCK_ORDER]
        self.number = {order: number for number, order in enumerate(self.orders)}
        self.priority = [LAST] * len(self.orders)
        self.standard = _scaled(bills.standard)
        digests = {digest: _scaled(edges) for digest, edges in bills.edges.items()}
        none: Scaled = {}
        self.bills = [digests.get(bills.digests.get(order, ""), none) for order in self.orders]
        self.needs: dict[str, list[Need]] = defaultdict(list)
        for demand in demands:
            self._demand(demand)
        codes = low_level_codes(bills)
        items = {*self.rules, *codes}
        self.sequence = sorted(items, key=lambda item: (codes.get(item, 0), item))
        self.parts = Parts()
        self.taken: dict[str, list[Taken]] = {}
        self.shelves: dict[str, Shelf] = {}
        self.lots: dict[str, Lots] = {}

    def plan(self) -> NetPlan:
        self._open_shelves()
        for item in self.sequence:
            if item in self.needs or self.shelves[item].safety_wanted:
                self._net(item)
        ready = self._ready_days()
        numbers, supplies = self._supplies(ready)
        pegs, shortages = self._pegs(ready, numbers)
        on_hand: dict[str, Decimal] = dict(self.stock.free)
        for (_, item), quantity in self.stock.reserved.items():
            on_hand[item] = on_hand.get(item, Decimal(0)) + quantity
        return NetPlan(self.today, supplies, pegs, shortages, on_hand, tuple(self.receipts))

    def offset(self, day: int, lead_days: int) -> int:
        """The caller's offset, asked once for each pair: a working-day calendar may be slow."""
        found = self._days.get((day, lead_days))
        if found is None:
            found = self._days[day, lead_days] = self._offset(day, lead_days)
        return found

    def _demand(self, demand: Demand) -> None:
        order = self.number[demand.order]
        quantity = at_least(demand.quantity)
        if demand.order:
            self.priority[order] = min(self.priority[order], demand.priority)
        if quantity:
            self.needs[demand.item].append(Need(demand.day, demand.priority, order, "", quantity, -1))

    def _open_shelves(self) -> None:
        reserved: dict[str, dict[int, int]] = defaultdict(dict)
        for (order, item), quantity in self.stock.reserved.items():
            if order in self.number:
                reserved[item][self.number[order]] = at_most(quantity)
        coming: dict[str, list[tuple[int, int, str]]] = defaultdict(list)
        for receipt in self.receipts:
            coming[receipt.item].append((receipt.day, at_most(receipt.quantity), receipt.reference))
        for item in self.sequence:
            free = at_most(self.stock.free.get(item, Decimal(0)))
            safety = at_least(self.rules[item].safety_stock) if item in self.rules else 0
            self.shelves[item] = Shelf(self.today, free, reserved.get(item, {}), safety, coming.get(item, ()))

    def _net(self, item: str) -> None:
        rule, shelf = self.rules[item], self.shelves[item]
        lots = self.lots[item] = lots_of(rule, self.today, self.offset, self.parts)
        taken = self.taken[item] = []
        for need in sorted(self.needs.pop(item, ())):
            if shelf.is_bare and not rule.phantom:
                lots.take(need, need.quantity, taken)
                continue
            left = shelf.take_stock(need, need.quantity, taken)
            if not left:
                continue
            if rule.phantom:
                self._explode(item, need.order, lots.begun(left), need.day, need.part, need.parent)
            else:
                _cover(need, left, shelf, lots, taken)
        if not rule.phantom:
            self._refill(shelf, lots, taken)
            lots.close(taken)
        if rule.make:
            for lot in lots.lots:
                self._explode_lot(item, lots, lot)

    def _refill(self, shelf: Shelf, lots: Lots, taken: list[Taken]) -> None:
        missing = shelf.safety_wanted - shelf.safety
        if missing > 0:
            need = Need(lots.earliest, LAST, len(self.orders) - 1, "", missing, -1)
            missing = shelf.take_receipts(need, shelf.take_stock(need, missing, taken), taken)
            if missing:
                lots.take(need, missing, taken)

    def _explode_lot(self, item: str, lots: Lots, lot: Lot) -> None:
        """Each order's share by its own bill, the rest by the standard bill (or the last order's, where none)."""
        release = max(self.today, self.offset(lot.due, lots.rule.lead_days))
        rest = lot.gross
        order = len(self.orders) - 1
        for order, good in lot.shares.items():
            gross = min(rest, good if lot.good == lot.gross else -(-good * lot.gross // lot.good))
            rest -= gross
            if gross:
                self._explode(item, order, gross, release, _part(lot, order), item)
        if rest:
            stock = len(self.orders) - 1
            bill = self.standard if item in self.standard else self.bills[order]
            self._add_needs(bill.get(item, []), stock, rest, release, _part(lot, stock), item)

    def _explode(self, item: str, order: int, quantity: int, day: int, part: int, parent: str) -> None:
        components = self.bills[order].get(item)
        if components is None:
            components = self.standard.get(item, [])
        self._add_needs(components, order, quantity, day, part, parent)

    def _add_needs(
        self, components: list[tuple[str, int]], order: int, quantity: int, day: int, part: int, parent: str
    ) -> None:
        priority, needs = self.priority[order], self.needs
        for component, per in components:
            need = Need(day, priority, order, parent, times(quantity, per), part)
            needs[component].append(need)

    def _ready_days(self) -> list[int]:
        """By part of a lot, when it is there, from the bottom of the bills upwards: all components before it."""
        parts, ready = self.parts, [0] * len(self.parts.due)
        for item in reversed(self.sequence):
            lead_days = self.rules[item].lead_days if item in self.rules else 0
            for lot in self.lots[item].lots if item in self.lots else ():
                for part in lot.parts.values():
                    late = parts.components[part] > self.offset(parts.due[part], lead_days)
                    after = self.offset(parts.components[part], -lead_days) if late else parts.due[part]
                    ready[part] = max(parts.due[part], after)
            for need, _, _, _, available, part in self.taken.get(item, ()):
                if need.part >= 0:
                    parts.wait(need.part, available if part < 0 else ready[part])
        return ready

    def _supplies(self, ready: list[int]) -> tuple[dict[tuple[str, int], int], tuple[PlannedSupply, ...]]:
        rows = []
        for item, lots in self.lots.items():
            for index, lot in enumerate(lots.lots):
                release = max(self.today, self.offset(lot.due, lots.rule.lead_days))
                rows.append((release, item, lot.due, index, lots.rule, lot))
        rows.sort(key=lambda row: row[:4])
        numbers = {(row[1], row[3]): number for number, row in enumerate(rows, 1)}
        return numbers, tuple(
            PlannedSupply(
                number=number,
                item=item,
                make=rule.make,
                quantity=Decimal(lot.gross) / ONE,
                good=Decimal(lot.good) / ONE,
                due_day=due,
                release_day=release,
                past_due_days=max(0, self.today - self.offset(lot.needed, rule.lead_days)),
                ready_day=max((ready[part] for part in lot.parts.values()), default=due),
            )
            for number, (release, item, due, _, rule, lot) in enumerate(rows, 1)
        )

    def _pegs(
        self, ready: list[int], numbers: dict[tuple[str, int], int]
    ) -> tuple[tuple[Peg, ...], tuple[Shortage, ...]]:
        pegs: list[Peg] = []
        shortages: list[Shortage] = []
        exact: dict[int, Decimal] = {}
        for item, taken in self.taken.items():
            references = self._references(item, numbers)
            for need, kind, source, used, available, part in taken:
                quantity = exact.get(used)
                if quantity is None:
                    quantity = exact[used] = Decimal(used) / ONE
                order = self.orders[need.order]
                reference = references[kind][source] if source >= 0 else ""
                there = available if part < 0 else ready[part]
                pegs.append(Peg(order, item, need.parent, kind, reference, quantity, need.day, there))
                if available > need.day and order and source >= 0:
                    shortages.append(
                        Shortage(order, item, need.parent, quantity, need.day, available, kind, reference)
                    )
        return tuple(pegs), tuple(shortages)

    def _references(self, item: str, numbers: dict[tuple[str, int], int]) -> dict[SupplyKind, list[str]]:
        return {
            SupplyKind.RECEIPT: [reference for _, _, reference in self.shelves[item].receipts],
            SupplyKind.PLANNED: [str(numbers[item, index]) for index in range(len(self.lots[item].lots))],
        }


@contextmanager
def _no_garbage_collection() -> Iterator[None]:
    """Millions of small tuples without a cycle among them: looking through them for cycles doubles the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _scaled(edges: Components) -> Scaled:
    return {
        parent: [(component, at_least(quantity)) for component, quantity in components]
        for parent, components in edges.items()
    }


def _part(lot: Lot, order: int) -> int:
    """The part of a lot that an order's components belong to: its own, or the only one."""
    return lot.parts.get(order, lot.parts.get(0, -1) if len(lot.parts) == 1 else -1)


def _cover(need: Need, left: int, shelf: Shelf, lots: Lots, taken: list[Taken]) -> None:
    """Serve what stock could not, by the sequence that `net_requirements` states."""
    left = shelf.take_receipts(need, left, taken, until=need.day)
    spare_day = lots.spare_day
    if left and spare_day is not None and spare_day <= need.day:
        left = lots.take_spare(need, left, taken)
    if left and shelf.safety:
        coming = shelf.next_day
        if (lots.earliest if coming is None else coming) > need.day:
            left = shelf.take_safety(need, left, taken)
    if left:
        left = shelf.take_receipts(need, left, taken)
    if left:
        lots.take(need, left, taken)
