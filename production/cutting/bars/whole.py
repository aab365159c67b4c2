"""The job in whole numbers: tenths of a millimetre, hundredths of a price, the saw cut counted in.

With a saw cut k, n pieces on a bar need n − 1 cuts between them, so "sum of lengths plus cuts fits the bar" is
the same as "sum of (length + k) fits (bar + k)".
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from production.cutting.bars.job import BarStock, Piece

TENTHS = 10
ROUNDING = 1e-6


@dataclass(frozen=True)
class Kind:
    """Pieces of one length, whatever their codes: `size` is length plus saw cut, in units."""

    size: int
    demand: int


@dataclass(frozen=True)
class Stock:
    """A bar in units: `capacity` is usable length plus saw cut."""

    index: int
    capacity: int
    cost: int
    count: int | None


@dataclass(frozen=True)
class Whole:
    """Kinds longest first, and stocks. A unit is the greatest length of which every size is a multiple."""

    kinds: tuple[Kind, ...]
    stocks: tuple[Stock, ...]
    cost_step: int

    @property
    def demands(self) -> tuple[int, ...]:
        return tuple(kind.demand for kind in self.kinds)


@dataclass(frozen=True)
class Column:
    """One way to saw one bar: numbers of each kind."""

    stock: int
    numbers: tuple[int, ...]


# Each column with how many bars are sawn that way.
Use = dict[Column, int]


def tenths_up(length_mm: float) -> int:
    """Whole tenths of a millimetre, up: a piece is never planned shorter than it is."""
    return math.ceil(length_mm * TENTHS - ROUNDING)


def tenths_down(length_mm: float) -> int:
    """Whole tenths of a millimetre, down: a bar is never planned longer than it is."""
    return math.floor(length_mm * TENTHS + ROUNDING)


def size_of(piece: Piece, kerf_mm: float) -> int:
    """Tenths of a millimetre that one piece takes of a bar: its length, the saw cut behind it, and a slanting cut
    for each mitred end."""
    slanting = sum(tenths_up(kerf_mm / math.cos(math.radians(deg))) for deg in piece.mitres_deg if deg)
    return tenths_up(piece.length_mm) + tenths_up(kerf_mm) + slanting


def in_whole_numbers(
    pieces: Sequence[Piece], bars: Sequence[BarStock], kerf_mm: float, trim_mm: float
) -> Whole:
    """Translate a job whose pieces all fit some bar."""
    kerf = tenths_up(kerf_mm)
    demand: dict[int, int] = {}
    for piece in pieces:
        size = size_of(piece, kerf_mm)
        demand[size] = demand.get(size, 0) + piece.quantity
    unit = math.gcd(*demand) or 1
    kinds = tuple(Kind(size // unit, demand[size]) for size in sorted(demand, reverse=True))
    costs = bar_costs(bars)
    stocks = tuple(
        Stock(index, max(0, tenths_down(bar.length_mm - trim_mm) + kerf) // unit, costs[index], bar.count)
        for index, bar in enumerate(bars)
    )
    return Whole(kinds, stocks, math.gcd(*costs) or 1)


def bar_costs(bars: Sequence[BarStock]) -> list[int]:
    """Prices in hundredths; the lengths in tenths of a millimetre when no bar has a price."""
    prices = [round(bar.price * 100) for bar in bars]
    return prices if any(prices) else [tenths_up(bar.length_mm) for bar in bars]


def cost_divisor(bars: Sequence[BarStock]) -> int:
    """What a whole cost is divided by to get back the price, or the length in mm."""
    return 100 if any(round(bar.price * 100) for bar in bars) else TENTHS


def next_cost(whole: Whole, least: int) -> int:
    """The least cost, not under `least`, that any number of bars long enough for all pieces can have.

    With two kinds of bar at odd prices few sums are possible near the bound; with more kinds the next multiple of the
    cost step is given, which is a bound as well.
    """
    rounded = -(-least // whole.cost_step) * whole.cost_step
    stocks = [stock for stock in whole.stocks if stock.count != 0]
    if len(stocks) != 2 or not all(stock.capacity > 0 and stock.cost > 0 for stock in stocks):
        return rounded
    one, other = stocks
    total = sum(kind.size * kind.demand for kind in whole.kinds)
    most = -(-max(least, total * one.cost // one.capacity + 1) // one.cost) + 1
    found = []
    for number in range(most + 1 if one.count is None else min(most, one.count) + 1):
        by_cost = -(-(least - number * one.cost) // other.cost)
        by_length = -(-(total - number * one.capacity) // other.capacity)
        others = max(0, by_cost, by_length)
        if other.count is None or others <= other.count:
            found.append(number * one.cost + others * other.cost)
    return max(rounded, min(found, default=rounded))


def total_cost(whole: Whole, use: Mapping[Column, int]) -> int:
    return sum(whole.stocks[column.stock].cost * count for column, count in use.items())


def short_of(whole: Whole, use: Mapping[Column, int]) -> tuple[int, ...]:
    """Pieces of each kind that the bars do not yield."""
    made = [0] * len(whole.kinds)
    for column, count in use.items():
        for kind, number in enumerate(column.numbers):
            made[kind] += number * count
    return tuple(max(0, kind.demand - done) for kind, done in zip(whole.kinds, made, strict=True))


def merit(whole: Whole, use: Mapping[Column, int]) -> tuple[int, int, int]:
    """Smaller is better: length missing, then cost, then bars."""
    missing = sum(short * kind.size for short, kind in zip(short_of(whole, use), whole.kinds, strict=True))
    return missing, total_cost(whole, use), sum(use.values())
