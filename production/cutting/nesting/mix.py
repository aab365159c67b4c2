"""Which parts go on the next sheet, and which sheet is taken: proportions by area, no positions yet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon

from production.cutting.nesting.job import NestSettings, SheetStock
from production.cutting.nesting.shapes import Shape
from production.cutting.nesting.sheetroom import sheet_mm2
from production.cutting.nesting.worth import net_cost

# Share of a sheet that a layout by true shapes fills at the least when many parts wait: only used to
# guess how many sheets are still to come.
USUAL_FILL = 0.8
# A sheet that is asked for by name is tried even when it will hardly hold everything.
TIGHT_FILL = 0.97


@dataclass
class Shelf:
    """Sheets still to be had, by stock code; None means any number."""

    stocks: Sequence[SheetStock]
    left: dict[str, int | None]

    @classmethod
    def full(cls, stocks: Sequence[SheetStock]) -> Shelf:
        return cls(stocks, {stock.code: stock.count for stock in stocks})

    def open_stocks(self) -> list[SheetStock]:
        return [stock for stock in self.stocks if self.left[stock.code] != 0]

    def has(self, stock: SheetStock) -> int | None:
        return self.left[stock.code]

    def take(self, stock: SheetStock, count: int) -> None:
        left = self.left[stock.code]
        if left is not None:
            self.left[stock.code] = left - count

    def close(self, stock: SheetStock) -> None:
        """Take no more of this stock: nothing left fits on it."""
        self.left[stock.code] = 0


def occupied_mm2(shape: Shape, gap_mm: float) -> float:
    """Area a part takes with half the gap around its outline."""
    return shape.outer_area_mm2 + 0.5 * gap_mm * float(shape.polygon.exterior.length)


def room_mm2(stock: SheetStock, settings: NestSettings) -> float:
    """Area inside the margins, with the half gaps of the outermost parts."""
    edge = 2 * settings.margin_mm - settings.gap_mm
    if stock.outline:
        # Roughly: the strip along the edges that the margin takes.
        around = float(Polygon(stock.outline, stock.holes).length)
        return max(sheet_mm2(stock) - edge / 2 * around, 0.0)
    return max(stock.length_mm - edge, 0.0) * max(stock.width_mm - edge, 0.0)


def next_stock(
    shapes: Mapping[str, Shape],
    pool: Mapping[str, int],
    shelf: Shelf,
    settings: NestSettings,
    preferred: str | None,
) -> SheetStock | None:
    """The sheet to take: an offcut already paid for, a cheap one that holds all that is left, else the
    cheapest by area.

    `preferred` names a stock to take while plenty of parts wait. None when nothing that is left fits on any
    sheet that can still be had.
    """
    waiting = [shapes[code] for code, count in pool.items() if count > 0]
    usable = [s for s in shelf.open_stocks() if any(w.fitting(s, settings.margin_mm) for w in waiting)]
    if not usable:
        return None
    if any(stock.price > 0 for stock in shelf.stocks):
        # Offcuts already paid for come before any sheet that costs money.
        usable = [stock for stock in usable if stock.price <= 0] or usable
    need = sum(occupied_mm2(shapes[code], settings.gap_mm) * count for code, count in pool.items())
    holding = [
        stock
        for stock in usable
        if need <= (TIGHT_FILL if stock.code == preferred else USUAL_FILL) * room_mm2(stock, settings)
        and all(shape.fitting(stock, settings.margin_mm) for shape in waiting)
    ]
    if holding:
        return min(holding, key=lambda s: (_last_cost(s, need, settings), sheet_mm2(s), s.code))
    return min(usable, key=lambda s: (s.code != preferred, _price_by_area(s), s.code))


def _last_cost(stock: SheetStock, need_mm2: float, settings: NestSettings) -> float:
    """What a sheet that takes all that is left will cost, its rest kept."""
    used = need_mm2 / max(USUAL_FILL * (stock.width_mm - 2 * settings.margin_mm), 1.0) + settings.margin_mm
    return net_cost(stock, min(used, stock.length_mm), settings)


def _price_by_area(stock: SheetStock) -> tuple[float, float]:
    area = sheet_mm2(stock)
    return stock.price / area, -area


def sheets_to_come(
    shapes: Mapping[str, Shape], pool: Mapping[str, int], stock: SheetStock, settings: NestSettings
) -> int:
    """A guess at how many sheets of this stock the pool still needs, at least 1."""
    need = sum(occupied_mm2(shapes[code], settings.gap_mm) * count for code, count in pool.items())
    return max(1, math.ceil(need / max(USUAL_FILL * room_mm2(stock, settings), 1.0)))


def sheet_mix(
    shapes: Mapping[str, Shape],
    pool: Mapping[str, int],
    stock: SheetStock,
    settings: NestSettings,
    fill: float,
) -> dict[str, int]:
    """A share of every part that fits the sheet, in proportion to what waits, up to `fill` of its room.

    Small parts are so not used up early, and the same mix can be cut again. Parts of higher priority
    are taken whole before the next priority is looked at.
    """
    room = fill * room_mm2(stock, settings)
    mix: dict[str, int] = {}
    fitting = {
        code: count
        for code, count in pool.items()
        if count > 0 and shapes[code].fitting(stock, settings.margin_mm)
    }
    for priority in sorted({shapes[code].part.priority for code in fitting}, reverse=True):
        level = {code: n for code, n in fitting.items() if shapes[code].part.priority == priority}
        areas = {code: occupied_mm2(shapes[code], settings.gap_mm) for code in level}
        taken = _share(level, areas, room)
        mix.update(taken)
        room -= sum(areas[code] * count for code, count in taken.items())
        if any(taken.get(code, 0) < count for code, count in level.items()):
            break
    return mix


def _share(level: Mapping[str, int], areas: Mapping[str, float], room: float) -> dict[str, int]:
    """Largest remainders: whole parts of each kind in proportion, then the kinds that lost most."""
    total = sum(areas[code] * count for code, count in level.items())
    if total <= room:
        return dict(level)
    ratio = room / total
    exact = {code: count * ratio for code, count in level.items()}
    taken = {code: math.floor(value) for code, value in exact.items()}
    room -= sum(areas[code] * count for code, count in taken.items())
    for code in sorted(level, key=lambda c: (taken[c] - exact[c], -areas[c], c)):
        if taken[code] < level[code] and areas[code] <= room:
            taken[code] += 1
            room -= areas[code]
    return {code: count for code, count in taken.items() if count > 0}
