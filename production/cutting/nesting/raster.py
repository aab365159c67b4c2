"""A sheet as a grid of cells: finds free spots for parts, gaps and part holes included.

A part covers every cell it touches; a placed part, grown by the gap, blocks every cell it touches. So a
spot found free on the grid is free in truth. Parts stand on the grid by the lower left corner of their
bounding box; the grid begins at the margins. All free spots of a part come from one correlation of the
blocked cells with the part's cells, done by Fourier transform.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
from shapely import affinity
from shapely.geometry import Polygon

from production.cutting.nesting.job import SheetStock
from production.cutting.nesting.shapes import Laid

Cells = npt.NDArray[np.bool_]
Spectrum = npt.NDArray[np.complexfloating]
EDGE = 1e-6
ARC_SEGMENTS = 8
# A polygon inscribed in the corner arcs of a grown outline falls short by this factor.
ARC_REACH = 1.0 / float(np.cos(np.pi / (4 * ARC_SEGMENTS)))


def touched_cells(polygon: Polygon, cell_mm: float, columns: int, rows: int) -> Cells:
    """The cells that a polygon (holes left open) touches, as columns × rows, origin at (0, 0)."""
    edges = _edges(polygon) / cell_mm
    marks = np.zeros((rows, columns + 1), dtype=np.int32)
    _mark_crossed(edges, marks, columns, rows)
    crossed = np.cumsum(marks, axis=1)[:, :columns] > 0
    return np.ascontiguousarray((crossed | _inside(edges, columns, rows)).T)


def _edges(polygon: Polygon) -> npt.NDArray[np.float64]:
    """All edges of all rings as rows x0, y0, x1, y1 with y0 <= y1."""
    parts = []
    for ring in (polygon.exterior, *polygon.interiors):
        points = np.asarray(ring.coords)
        parts.append(np.hstack([points[:-1, :2], points[1:, :2]]))
    edges = np.vstack(parts)
    upside_down = edges[:, 1] > edges[:, 3]
    edges[upside_down] = edges[upside_down][:, [2, 3, 0, 1]]
    return edges


def _rows_of(low: npt.NDArray[np.float64], high: npt.NDArray[np.float64], rows: int) -> npt.NDArray[np.int64]:
    """For each edge and each grid row its [low, high] reaches: pairs (edge index, row)."""
    first = np.clip(np.floor(low), 0, rows).astype(np.int64)
    last = np.clip(np.ceil(high), 0, rows).astype(np.int64)
    counts = np.maximum(last - first, 0)
    edge = np.repeat(np.arange(len(low)), counts)
    within = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.column_stack([edge, first[edge] + within])


def _mark_crossed(
    edges: npt.NDArray[np.float64], marks: npt.NDArray[np.int32], columns: int, rows: int
) -> None:
    """Add, row by row, the span of columns that each edge passes through (+1 at start, −1 after the end)."""
    pairs = _rows_of(edges[:, 1] + EDGE, edges[:, 3] - EDGE, rows)
    # A level edge has no rise: it crosses its row of cells over its whole length.
    x0, y0, x1, y1 = edges[pairs[:, 0]].T
    row = pairs[:, 1]
    rise = np.where(y1 - y0 > 1e-12, y1 - y0, 1.0)
    from_x = x0 + (x1 - x0) * (np.maximum(row, y0) - y0) / rise
    to_x = np.where(y1 - y0 > 1e-12, x0 + (x1 - x0) * (np.minimum(row + 1, y1) - y0) / rise, x1)
    start = np.clip(np.floor(np.minimum(from_x, to_x) + EDGE), 0, columns).astype(np.int64)
    end = np.clip(np.ceil(np.maximum(from_x, to_x) - EDGE), 0, columns).astype(np.int64)
    good = end > start
    np.add.at(marks, (row[good], start[good]), 1)
    np.add.at(marks, (row[good], end[good]), -1)


def _inside(edges: npt.NDArray[np.float64], columns: int, rows: int) -> Cells:
    """Cells whose centre is inside, by counting the edges to the left of it."""
    pairs = _rows_of(edges[:, 1] - 0.5, edges[:, 3] - 0.5, rows)
    x0, y0, x1, y1 = edges[pairs[:, 0]].T
    centre = pairs[:, 1] + 0.5
    good = (y0 <= centre) & (centre < y1)
    x0, y0, x1, y1, centre = x0[good], y0[good], x1[good], y1[good], centre[good]
    cut = x0 + (x1 - x0) * (centre - y0) / (y1 - y0)
    column = np.clip(np.ceil(cut - 0.5), 0, columns).astype(np.int64)
    flips = np.zeros((rows, columns + 1), dtype=np.int32)
    np.add.at(flips, (pairs[good, 1], column), 1)
    return (np.cumsum(flips, axis=1)[:, :columns] % 2).astype(bool)


def grown(polygon: Polygon, gap_mm: float) -> Polygon:
    """The polygon grown by the gap, outside and into its holes, never less than the true gap."""
    if gap_mm <= 0:
        return polygon
    return polygon.buffer(gap_mm * ARC_REACH + 1e-3, quad_segs=ARC_SEGMENTS)


def fast_length(at_least: int) -> int:
    """The next whole number with no prime factor above 5: those transform fast."""
    number = max(1, at_least)
    while True:
        rest = number
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return number
        number += 1


class Stamp:
    """A part in one orientation as cells of one size: what it covers, and what it blocks once placed."""

    def __init__(self, laid: Laid, cell_mm: float, gap_mm: float, remember: bool = True) -> None:
        self.laid = laid
        self._remember = remember
        self.columns = max(1, int(np.ceil(laid.width_mm / cell_mm - EDGE)))
        self.rows = max(1, int(np.ceil(laid.height_mm / cell_mm - EDGE)))
        self.covers = touched_cells(laid.polygon, cell_mm, self.columns, self.rows)
        # Blocked cells reach `reach` cells beyond the box on every side.
        self.reach = int(np.ceil((gap_mm * ARC_REACH + 1e-3) / cell_mm))
        offset = self.reach * cell_mm
        self.blocks = touched_cells(
            affinity.translate(grown(laid.polygon, gap_mm), offset, offset),
            cell_mm,
            self.columns + 2 * self.reach,
            self.rows + 2 * self.reach,
        )
        self._spectra: dict[tuple[int, int], Spectrum] = {}
        self._clashes: dict[int, Cells] = {}

    def spectrum(self, size: tuple[int, int]) -> Spectrum:
        """Conjugate transform of the covered cells, remembered for the size where memory allows."""
        known = self._spectra.get(size)
        if known is None:
            known = np.conj(np.fft.rfft2(self.covers.astype(np.float32), s=size))
            if self._remember:
                self._spectra[size] = known
        return known

    def clash(self, other: Stamp) -> Cells:
        """Where `other` may not stand when this one stands at (0, 0).

        Entry [a, b] is for `other` at cell (a − reach − other.columns + 1, b − reach − other.rows + 1).
        """
        key = id(other)
        if key not in self._clashes:
            size = (
                self.blocks.shape[0] + other.columns - 1,
                self.blocks.shape[1] + other.rows - 1,
            )
            fast = (fast_length(size[0]), fast_length(size[1]))
            blocks = np.fft.rfft2(self.blocks.astype(np.float32), s=fast)
            turned_over = np.fft.rfft2(other.covers[::-1, ::-1].astype(np.float32), s=fast)
            counts = np.fft.irfft2(blocks * turned_over, s=fast)
            self._clashes[key] = counts[: size[0], : size[1]] > 0.5
        return self._clashes[key]


class Grid:
    """The cells of one sheet inside its margins, with what is blocked so far."""

    def __init__(self, stock: SheetStock, margin_mm: float, gap_mm: float, cell_mm: float) -> None:
        self.cell_mm = cell_mm
        self.margin_mm = margin_mm
        self.gap_mm = gap_mm
        self.length_mm = stock.length_mm - 2 * margin_mm
        self.width_mm = stock.width_mm - 2 * margin_mm
        self.columns = max(1, int(np.ceil(self.length_mm / cell_mm)))
        self.rows = max(1, int(np.ceil(self.width_mm / cell_mm)))
        self.size = (fast_length(self.columns), fast_length(self.rows))
        self.blocked = np.zeros((self.columns, self.rows), dtype=bool)
        self._spectrum: Spectrum | None = None

    def block(self, polygons: Iterable[Polygon]) -> None:
        """Block the cells of parts placed anywhere on the sheet (sheet coordinates)."""
        for polygon in polygons:
            self._block_one(grown(polygon, self.gap_mm))
        self._spectrum = None

    def block_as_it_is(self, polygons: Iterable[Polygon]) -> None:
        """Block the cells of polygons without a gap around them."""
        for polygon in polygons:
            self._block_one(polygon)
        self._spectrum = None

    def _block_one(self, polygon: Polygon) -> None:
        """Rasterise only the window that the polygon's bounding box touches."""
        left, low, right, high = polygon.bounds
        first = max(0, int((left - self.margin_mm) // self.cell_mm))
        bottom = max(0, int((low - self.margin_mm) // self.cell_mm))
        last = min(self.columns, int((right - self.margin_mm) // self.cell_mm) + 1)
        top = min(self.rows, int((high - self.margin_mm) // self.cell_mm) + 1)
        if last <= first or top <= bottom:
            return
        moved = affinity.translate(
            polygon,
            -self.margin_mm - first * self.cell_mm,
            -self.margin_mm - bottom * self.cell_mm,
        )
        window = self.blocked[first:last, bottom:top]
        window |= touched_cells(moved, self.cell_mm, last - first, top - bottom)

    def free(self, stamp: Stamp) -> Cells:
        """For every cell the part may stand on: is it free there? Empty when the part is too large."""
        columns = int(np.floor((self.length_mm - stamp.laid.width_mm) / self.cell_mm + EDGE)) + 1
        rows = int(np.floor((self.width_mm - stamp.laid.height_mm) / self.cell_mm + EDGE)) + 1
        if columns <= 0 or rows <= 0:
            return np.zeros((0, 0), dtype=bool)
        spectrum = self._spectrum
        if spectrum is None:
            spectrum = self._spectrum = np.fft.rfft2(self.blocked.astype(np.float32), s=self.size)
        counts = np.fft.irfft2(spectrum * stamp.spectrum(self.size), s=self.size)
        return np.asarray(counts[:columns, :rows] < 0.5)

    def place(self, stamp: Stamp, column: int, row: int) -> None:
        """Block the cells of a part standing at a cell."""
        a, b = column - stamp.reach, row - stamp.reach
        part = stamp.blocks[max(0, -a) : self.columns - a, max(0, -b) : self.rows - b]
        a, b = max(0, a), max(0, b)
        self.blocked[a : a + part.shape[0], b : b + part.shape[1]] |= part
        self._spectrum = None

    def corner_mm(self, column: int, row: int) -> tuple[float, float]:
        """Sheet coordinates of a part's box corner standing at a cell."""
        return self.margin_mm + column * self.cell_mm, self.margin_mm + row * self.cell_mm


def rule_out(free: Cells, standing: Stamp, column: int, row: int, mover: Stamp) -> None:
    """Take out of `free` (spots of `mover`) all that clash with `standing` at a cell."""
    clash = standing.clash(mover)
    a = column - standing.reach - mover.columns + 1
    b = row - standing.reach - mover.rows + 1
    part = clash[max(0, -a) : max(0, free.shape[0] - a), max(0, -b) : max(0, free.shape[1] - b)]
    a, b = max(0, a), max(0, b)
    free[a : a + part.shape[0], b : b + part.shape[1]] &= ~part
