"""Small parts in the holes of large ones: the only room on a sheet that costs nothing.

Each hole is a small grid of its own, finer than that of a sheet. What fits is kept in mind by hole and by what
there was to choose from, because the same hole comes again many times.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shapely import affinity
from shapely.geometry import Polygon, box

from production.cutting.nesting.job import NestSettings, Placement, SheetStock
from production.cutting.nesting.raster import Grid, Stamp, rule_out
from production.cutting.nesting.shapes import Laid, Shape, turned

CELLS_OF_A_HOLE = 12_000
FINEST_MM = 0.5


@dataclass(frozen=True)
class Rider:
    """A part in a hole: where its box begins, seen from the corner of the hole's box."""

    laid: Laid
    x_mm: float
    y_mm: float


class Holes:
    """Fills the holes of parts as they lie on a sheet."""

    def __init__(self, shapes: Mapping[str, Shape], settings: NestSettings) -> None:
        self._shapes = shapes
        self._gap_mm = settings.gap_mm
        self._known: dict[tuple[object, ...], tuple[Rider, ...]] = {}
        self._stamps: dict[tuple[int, float], Stamp] = {}
        self._turned: dict[tuple[str, float, bool], tuple[Polygon, ...]] = {}
        self._room_for: dict[tuple[object, ...], int] = {}

    def riders(self, carrier: Placement, pool: Mapping[str, int]) -> list[Placement]:
        """Parts of the pool to put into the holes of a placed part; the largest first. The pool is left as it is."""
        found: list[Placement] = []
        left = dict(pool)
        for number, hole in enumerate(self._holes_of(carrier)):
            left_mm, low_mm = hole.bounds[0] + carrier.x_mm, hole.bounds[1] + carrier.y_mm
            key = (carrier.part, number, carrier.rotation_deg % 360, carrier.mirrored)
            for rider in self._fill(key, hole, left):
                left[rider.laid.code] -= 1
                found.append(
                    Placement(
                        rider.laid.code,
                        carrier.sheet,
                        left_mm + rider.x_mm + rider.laid.shift[0],
                        low_mm + rider.y_mm + rider.laid.shift[1],
                        rider.laid.rotation_deg,
                        rider.laid.mirrored,
                    )
                )
        return found

    def _holes_of(self, carrier: Placement) -> tuple[Polygon, ...]:
        """The holes of a part turned as it lies, but not moved."""
        key = (carrier.part, carrier.rotation_deg, carrier.mirrored)
        if key not in self._turned:
            polygon = turned(self._shapes[carrier.part].polygon, carrier.rotation_deg, carrier.mirrored)
            self._turned[key] = tuple(Polygon(ring) for ring in polygon.interiors)
        return self._turned[key]

    def could_ride(self, pool: Mapping[str, int]) -> dict[str, int]:
        """How many of each part of the pool find room in the holes of the others, lying as in their first rotation."""
        left = dict(pool)
        reserved: dict[str, int] = {}
        for code in sorted(pool, key=lambda code: -self._shapes[code].outer_area_mm2):
            shape = self._shapes[code]
            if not shape.polygon.interiors:
                continue
            standing = Placement(code, 0, 0.0, 0.0, shape.part.rotations_deg[0], False)
            # A part that rides itself is no carrier: what its own holes take is not counted on.
            for _ in range(left[code]):
                taken = self.riders(standing, left | {code: 0})
                if not taken:
                    break
                for one in taken:
                    left[one.part] -= 1
                    reserved[one.part] = reserved.get(one.part, 0) + 1
        return reserved

    def _fill(self, key: tuple[object, ...], hole: Polygon, pool: Mapping[str, int]) -> tuple[Rider, ...]:
        fitting = {}
        for code, count in sorted(pool.items()):
            if (*key, code) not in self._room_for:
                self._room_for[*key, code] = self._most(code, hole)
            if min(count, self._room_for[*key, code]) > 0:
                fitting[code] = min(count, self._room_for[*key, code])
        if not fitting:
            return ()
        key = (*key, *fitting.items())
        if key not in self._known:
            left, low, *_ = hole.bounds
            self._known[key] = self._pack(affinity.translate(hole, -left, -low), fitting)
        return self._known[key]

    def _most(self, code: str, hole: Polygon) -> int:
        """No more than so many copies go into the hole, by area; 0 when the part is too large for it."""
        left, low, right, high = hole.bounds
        width, height = right - left - 2 * self._gap_mm + 1e-6, high - low - 2 * self._gap_mm + 1e-6
        shape = self._shapes[code]
        if not any(laid.width_mm <= width and laid.height_mm <= height for laid in shape.laid):
            return 0
        return int(hole.area / shape.outer_area_mm2)

    def _pack(self, hole: Polygon, fitting: Mapping[str, int]) -> tuple[Rider, ...]:
        """Largest first, each as far left and low as it goes."""
        _, _, width, height = hole.bounds
        cell_mm = max(FINEST_MM, math.sqrt(width * height / CELLS_OF_A_HOLE))
        grid = Grid(SheetStock("hole", width, height, 1, 0.0), 0.0, self._gap_mm, cell_mm)
        # What is not hole is blocked, grown by the gap as every part is.
        grid.block([box(-1.0, -1.0, width + 1.0, height + 1.0).difference(hole)])
        found: list[Rider] = []
        for code in sorted(fitting, key=lambda code: (-self._shapes[code].outer_area_mm2, code)):
            found += self._copies(grid, code, fitting[code])
        return tuple(found)

    def _copies(self, grid: Grid, code: str, wanted: int) -> list[Rider]:
        stamps = [self._stamp(laid, grid.cell_mm) for laid in self._shapes[code].laid]
        maps = [grid.free(stamp) for stamp in stamps]
        found: list[Rider] = []
        while len(found) < wanted:
            spots = [
                (column + stamp.columns, row, column, index)
                for index, (stamp, free) in enumerate(zip(stamps, maps, strict=True))
                if free.any()
                for column, row in [divmod(int(free.argmax()), free.shape[1])]
            ]
            if not spots:
                break
            _, row, column, index = min(spots)
            x, y = grid.corner_mm(column, row)
            found.append(Rider(stamps[index].laid, x, y))
            grid.place(stamps[index], column, row)
            for stamp, free in zip(stamps, maps, strict=True):
                rule_out(free, stamps[index], column, row, stamp)
        return found

    def _stamp(self, laid: Laid, cell_mm: float) -> Stamp:
        key = (id(laid), cell_mm)
        if key not in self._stamps:
            self._stamps[key] = Stamp(laid, cell_mm, self._gap_mm, remember=False)
        return self._stamps[key]


def without(pool: Mapping[str, int], taken: Mapping[str, int]) -> dict[str, int]:
    """The pool less what is taken, never below none."""
    return {code: max(0, count - taken.get(code, 0)) for code, count in pool.items()}
