"""What goes into the netting and what comes out: plain data.

Days are whole numbers on any count of days the caller likes (ordinals of dates, working days). Quantities are in
the item's stock unit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple

NOTHING = Decimal(0)
Components = Mapping[str, tuple[tuple[str, Decimal], ...]]
"""By parent: its components and how many (above zero) of each go into one."""
Offset = Callable[[int, int], int]
"""`offset(day, n)`: the day that lies n days of lead time before `day`; after it where n is below zero."""


class LotRule(StrEnum):
    """How a missing quantity becomes a lot. The values are those that `Item.lot_rule` keeps.

    FIXED makes as many lots of exactly the lot size as it takes, MULTIPLE one lot rounded up to the lot size,
    MINIMUM one lot of at least the lot size, PERIODS one lot for all that is needed within `lot_size` days of
    the first need. ECONOMIC makes lots of `lot_size` like FIXED; the caller worked the size out from costs. The last
    two weigh the cost of an order against that of keeping stock from day to day and need both costs: LEAST_AVERAGE
    takes in need after need while the cost a day does not rise, LEAST_TOTAL plans all known needs at the least cost.
    """

    AS_NEEDED = "as_needed"
    FIXED = "fixed"
    MULTIPLE = "multiple"
    MINIMUM = "minimum"
    PERIODS = "periods"
    ECONOMIC = "economic"
    LEAST_AVERAGE = "least_average"
    LEAST_TOTAL = "least_total"


@dataclass(frozen=True)
class ItemRule:
    """How an item is supplied: made or bought, how long it takes, in what lots.

    `scrap_fraction` (0 to below 1) of what is begun is lost. `whole` items are begun in whole numbers. A
    `phantom` is never made: what is not on the shelf goes straight through to its components. Lots of a made
    item may serve several orders; only AS_NEEDED keeps the orders in it apart.
    """

    item: str
    make: bool
    lead_days: int = 0
    lot_rule: LotRule = LotRule.AS_NEEDED
    lot_size: Decimal = NOTHING
    safety_stock: Decimal = NOTHING
    scrap_fraction: Decimal = NOTHING
    phantom: bool = False
    whole: bool = False
    order_cost: Decimal = NOTHING
    holding_cost: Decimal = NOTHING


@dataclass(frozen=True)
class Demand:
    """An order wants so many of an item on a day. On one day the lower `priority` is served first."""

    order: str
    item: str
    quantity: Decimal
    day: int
    priority: int = 0


@dataclass(frozen=True)
class Bills:
    """Who is made of what.

    `digests` gives each order's own bill, kept once in `edges` for all orders alike. `standard` serves orders
    without a bill, parents that the order's bill does not mention, and what a lot makes beyond its orders.
    """

    digests: Mapping[str, str] = field(default_factory=dict)
    edges: Mapping[str, Components] = field(default_factory=dict)
    standard: Components = field(default_factory=dict)


@dataclass(frozen=True)
class Stock:
    """What is there: `free` by item, and `reserved` by (order, item) on top of it."""

    free: Mapping[str, Decimal] = field(default_factory=dict)
    reserved: Mapping[tuple[str, str], Decimal] = field(default_factory=dict)


@dataclass(frozen=True)
class Receipt:
    """So many of an item are on their way and come on a day; `reference` says on what order."""

    item: str
    quantity: Decimal
    day: int
    reference: str


class SupplyKind(StrEnum):
    """Where a quantity comes from: `stock`, a `receipt` on its way, or a `planned` supply."""

    STOCK = "stock"
    RECEIPT = "receipt"
    PLANNED = "planned"


class PlannedSupply(NamedTuple):
    """Make or buy so many, begin on `release_day`, there on `due_day`.

    `quantity` is what is begun, `good` what is left of it after scrap. `past_due_days` is by how many days it
    should have begun before today. `ready_day` is `due_day`, or later where the components come too late; in
    a supply for several orders it is the day of the last of them (each peg has its own).
    """

    number: int
    item: str
    make: bool
    quantity: Decimal
    good: Decimal
    due_day: int
    release_day: int
    past_due_days: int
    ready_day: int


class Peg(NamedTuple):
    """So many of an item go from one supply to one order, into `parent` ("" for what the order itself asks).

    `reference` is the receipt's reference, or the planned supply's number. An empty `order` is stock: the
    refill of the safety stock, or components for what a lot makes beyond its orders.
    """

    order: str
    item: str
    parent: str
    kind: SupplyKind
    reference: str
    quantity: Decimal
    needed_day: int
    available_day: int


class Shortage(NamedTuple):
    """An order waits for an item: needed on one day, there on a later one because of the supply named.

    Only the supply that is late by itself is named, not everything above it that waits for it.
    """

    order: str
    item: str
    parent: str
    quantity: Decimal
    needed_day: int
    available_day: int
    kind: SupplyKind
    reference: str

    @property
    def days(self) -> int:
        return self.available_day - self.needed_day
