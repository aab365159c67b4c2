"""Fill one sheet: bottom-left on the grid, or a packed strip whose gaps and part holes are filled after."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from production.cutting.nesting.exact import offenders
from production.cutting.nesting.holes import Holes
from production.cutting.nesting.job import NestSettings, Placement, SheetStock
from production.cutting.nesting.raster import Cells, Grid, Stamp, rule_out
from production.cutting.nesting.shapes import Shape, placed_polygon
from production.cutting.nesting.sheetroom import blocked_of, room_of
from production.cutting.nesting.strip import StripFailure, StripItem, StripPlace, StripTask, pack_strip
from production.cutting.nesting.watch import Watch

QUICK_CELLS = 70_000
FINE_CELLS = 280_000
MIDDLE_CELLS = 140_000
MEMORY_BYTES = 200e6
STRIP_TRIES = 2
# The packer works in floating point and was seen to end a hundredth short of the separation asked for.
SEPARATION_EXTRA_MM = 0.02


@dataclass(frozen=True)
class Filled:
    """One sheet's placements (sheet number 0 so far) with their polygons, in step."""

    stock: SheetStock
    placements: tuple[Placement, ...]
    polygons: tuple[Polygon, ...]

    @property
    def used_length_mm(self) -> float:
        return max((float(polygon.bounds[2]) for polygon in self.polygons), default=0.0)

    @property
    def area_mm2(self) -> float:
        return float(sum(polygon.area for polygon in self.polygons))

    def counts(self) -> dict[str, int]:
        """Copies of each part on the sheet."""
        found: dict[str, int] = {}
        for placement in self.placements:
            found[placement.part] = found.get(placement.part, 0) + 1
        return found

    def without(self, indices: set[int]) -> Filled:
        keep = [index for index in range(len(self.placements)) if index not in indices]
        return replace(
            self,
            placements=tuple(self.placements[index] for index in keep),
            polygons=tuple(self.polygons[index] for index in keep),
        )

    def plus(self, placements: Sequence[Placement], polygons: Sequence[Polygon]) -> Filled:
        return replace(self, placements=(*self.placements, *placements), polygons=(*self.polygons, *polygons))


@dataclass(frozen=True)
class Strip:
    """What of a packed strip lies on the sheet, and how long the strip is beside the sheet's room (1: just fits)."""

    sheet: Filled
    stretch: float


class Filler:
    """Fills sheets for one job; remembers what parts look like on the grid."""

    def __init__(self, shapes: Mapping[str, Shape], settings: NestSettings, watch: Watch) -> None:
        self.shapes = shapes
        self.settings = settings
        self.watch = watch
        self.notes: list[str] = []
        self.holes = Holes(shapes, settings)
        self._stamps: dict[tuple[str, str, float], list[Stamp]] = {}
        self._favour: dict[str, float] = {}
        self._rooms: dict[str, BaseGeometry | None] = {}

    def vary(self, seed: int, noise: float) -> None:
        """Change the order in which parts are placed: by size, blurred by up to `noise` either way."""
        chance = random.Random(seed)
        self._favour = {code: 1.0 + chance.uniform(-noise, noise) for code in sorted(self.shapes)}

    def empty(self, stock: SheetStock) -> Filled:
        return Filled(stock, (), ())

    def on_grid(
        self, sheet: Filled, pool: Mapping[str, int], cells: int, right_mm: float = math.inf
    ) -> Filled:
        """Add parts of the pool to the sheet, largest first, each as far left and low as it goes.

        Parts whose right edge would pass `right_mm` are left out.
        """
        stock = sheet.stock
        cell_mm = math.sqrt(stock.length_mm * stock.width_mm / cells)
        grid = Grid(stock, self.settings.margin_mm, self.settings.gap_mm, cell_mm)
        grid.block(sheet.polygons)
        room = self._room_of(stock)
        if room is not None:
            grid.block_as_it_is(blocked_of(stock, room))
        added: list[Placement] = []
        for code in self.in_order(pool):
            if not self.watch.go_on():
                break
            added += self._copies(grid, stock, code, pool[code], right_mm)
        polygons = [placed_polygon(self.shapes[placement.part], placement) for placement in added]
        return self.kept(sheet.plus(added, polygons))

    def in_holes(self, sheet: Filled, pool: Mapping[str, int]) -> Filled:
        """Put parts of the pool into the holes of those on the sheet, which must still be empty."""
        left = dict(pool)
        added: list[Placement] = []
        for carrier in sheet.placements:
            for rider in self.holes.riders(carrier, left):
                left[rider.part] -= 1
                added.append(rider)
        polygons = [placed_polygon(self.shapes[rider.part], rider) for rider in added]
        return self.kept(sheet.plus(added, polygons))

    def in_order(self, pool: Mapping[str, int]) -> list[str]:
        """Codes with copies left: high priority first, then large outlines first."""
        codes = [code for code, count in pool.items() if count > 0]
        return sorted(codes, key=lambda code: (-self.shapes[code].part.priority, -self._bulk(code), code))

    def _bulk(self, code: str) -> float:
        """Outline area, with a long part counted as bulkier than a compact one of the same area."""
        shape = self.shapes[code]
        longest = max(max(laid.width_mm, laid.height_mm) for laid in shape.laid)
        return (math.sqrt(shape.outer_area_mm2) + 0.25 * longest) * self._favour.get(code, 1.0)

    def _copies(
        self, grid: Grid, stock: SheetStock, code: str, wanted: int, right_mm: float
    ) -> list[Placement]:
        stamps = self._stamps_of(code, stock, grid.cell_mm)
        maps = [grid.free(stamp) for stamp in stamps]
        done: list[Placement] = []
        while len(done) < wanted:
            best = min(
                (spot for index in range(len(stamps)) for spot in _first_free(grid, stamps, maps, index)),
                default=None,
            )
            if best is None or best[0] > right_mm:
                return done
            _, row, column, index = best
            standing = stamps[index]
            done.append(_placement(grid, standing, column, row))
            grid.place(standing, column, row)
            for stamp, free in zip(stamps, maps, strict=True):
                rule_out(free, standing, column, row, stamp)
        return done

    def _stamps_of(self, code: str, stock: SheetStock, cell_mm: float) -> list[Stamp]:
        key = (code, stock.code, cell_mm)
        if key not in self._stamps:
            fitting = self.shapes[code].fitting(stock, self.settings.margin_mm)
            # Half a transform of 8-byte numbers for each orientation of each part.
            cells = stock.length_mm * stock.width_mm / cell_mm**2
            remember = 4 * cells * sum(len(shape.laid) for shape in self.shapes.values()) < MEMORY_BYTES
            self._stamps[key] = [Stamp(laid, cell_mm, self.settings.gap_mm, remember) for laid in fitting]
        return self._stamps[key]

    def kept(self, sheet: Filled) -> Filled:
        """The sheet without parts that break gap or margin by exact measure."""
        stock, settings = sheet.stock, self.settings
        off = offenders(sheet.polygons, stock, settings.gap_mm, settings.margin_mm, self._room_of(stock))
        return sheet.without(off) if off else sheet

    def _room_of(self, stock: SheetStock) -> BaseGeometry | None:
        if stock.code not in self._rooms:
            self._rooms[stock.code] = room_of(stock, self.settings.margin_mm)
        return self._rooms[stock.code]

    def by_strip(
        self, stock: SheetStock, mix: Mapping[str, int], seconds: float, seed: int, shortest: bool = True
    ) -> Strip | None:
        """Pack the mix as one strip and keep what lies on the sheet; None when no layout was found.

        The search ends with its time, or unless `shortest` as soon as all of the mix lies on the sheet.
        """
        room_mm = stock.length_mm - 2 * self._edge()
        task = self._task(stock, mix, seconds, seed, 0.0 if shortest else room_mm)
        for attempt in range(STRIP_TRIES):
            try:
                layout = pack_strip(replace(task, seed=seed + attempt), lambda _: self.watch.go_on())
            except StripFailure as failure:
                if self.watch.stopped:
                    return None
                reason = str(failure)
            else:
                return Strip(self._on_sheet(stock, layout.places), layout.length_mm / room_mm)
        self.notes.append(
            f"A sheet of {stock.code} was filled the simple way because the strip packer failed: {reason}."
        )
        return None

    def _task(
        self, stock: SheetStock, mix: Mapping[str, int], seconds: float, seed: int, enough_mm: float
    ) -> StripTask:
        items = tuple(
            StripItem(code, self.shapes[code].strip_outline, count, self._upright(code, stock))
            for code, count in sorted(mix.items())
        )
        separation = self._separation()
        return StripTask(
            items=items,
            height_mm=stock.width_mm - 2 * self._edge(),
            separation_mm=separation,
            seconds=seconds,
            seed=seed,
            workers=self.settings.workers,
            enough_mm=enough_mm,
        )

    def strip_mix(self, stock: SheetStock, mix: Mapping[str, int]) -> dict[str, int]:
        """The mix without parts that the packer would find too tall by its own roundings."""
        return {code: count for code, count in mix.items() if count > 0 and self._upright(code, stock)}

    def _upright(self, code: str, stock: SheetStock) -> tuple[float, ...]:
        tallest = stock.width_mm - 2 * self._edge() - 2 * self._separation() - SEPARATION_EXTRA_MM
        return tuple(
            laid.rotation_deg
            for laid in self.shapes[code].laid
            if not laid.mirrored and laid.height_mm <= tallest
        )

    def _slack(self) -> float:
        return max(shape.strip_slack_mm for shape in self.shapes.values())

    def _separation(self) -> float:
        return self.settings.gap_mm + 2 * self._slack() + SEPARATION_EXTRA_MM

    def _edge(self) -> float:
        """Sheet coordinate of the strip's edge. The packer keeps the separation to the strip's edges too, so
        the strip reaches into the margin: else the margin would count twice."""
        return self.settings.margin_mm - self._separation() + self._slack()

    def _on_sheet(self, stock: SheetStock, places: Sequence[StripPlace]) -> Filled:
        edge = self._edge()
        placements = [
            Placement(
                place.code,
                0,
                place.x_mm + edge,
                place.y_mm + edge,
                self._allowed(place.code, place.rotation_deg),
                False,
            )
            for place in places
        ]
        polygons = [placed_polygon(self.shapes[p.part], p) for p in placements]
        return self.kept(Filled(stock, tuple(placements), tuple(polygons)))

    def _allowed(self, code: str, rotation_deg: float) -> float:
        """The allowed rotation that the packer meant: it works in radians of single precision."""

        def away(allowed: float) -> float:
            return abs((allowed - rotation_deg + 180) % 360 - 180)

        return min(self.shapes[code].part.rotations_deg, key=away)


def _first_free(
    grid: Grid, stamps: Sequence[Stamp], maps: Sequence[Cells], index: int
) -> list[tuple[float, int, int, int]]:
    """The left-most, then lowest free spot of one orientation as (right edge mm, row, column, index)."""
    free = maps[index]
    if free.size == 0:
        return []
    at = int(free.argmax())
    column, row = divmod(at, free.shape[1])
    if not free[column, row]:
        return []
    right = grid.corner_mm(column, row)[0] + stamps[index].laid.width_mm
    return [(right, row, column, index)]


def _placement(grid: Grid, stamp: Stamp, column: int, row: int) -> Placement:
    x, y = grid.corner_mm(column, row)
    laid = stamp.laid
    return Placement(laid.code, 0, x + laid.shift[0], y + laid.shift[1], laid.rotation_deg, laid.mirrored)
