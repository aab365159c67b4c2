"""Exact geometry of one sheet, used while nesting: which parts break the gap, the margin, one another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from production.cutting.nesting.job import SheetStock
from production.cutting.nesting.sheetroom import out_of_room

# Rounding of floating-point coordinates; a thousandth of a millimetre is nothing to a cutting machine.
SLACK_MM = 5e-4


def offenders(
    polygons: Sequence[Polygon],
    stock: SheetStock,
    gap_mm: float,
    margin_mm: float,
    room: BaseGeometry | None = None,
) -> set[int]:
    """Indices of parts to take off so that the rest keeps gap and margin; the smaller of a pair goes.

    `room` is where parts may lie on a sheet that is no plain rectangle.
    """
    if not polygons:
        return set()
    off = (
        _over_margin(polygons, stock, margin_mm)
        if room is None
        else out_of_room(list(polygons), room, SLACK_MM)
    )
    areas = shapely.area(polygons)
    for first, second in sorted(_too_near(polygons, gap_mm)):
        if first not in off and second not in off:
            off.add(first if areas[first] < areas[second] else second)
    return off


def _over_margin(polygons: Sequence[Polygon], stock: SheetStock, margin_mm: float) -> set[int]:
    bounds = shapely.bounds(polygons)
    low = margin_mm - SLACK_MM
    over = (
        (bounds[:, 0] < low)
        | (bounds[:, 1] < low)
        | (bounds[:, 2] > stock.length_mm - low)
        | (bounds[:, 3] > stock.width_mm - low)
    )
    return {int(index) for index in np.flatnonzero(over)}


def _too_near(polygons: Sequence[Polygon], gap_mm: float) -> set[tuple[int, int]]:
    tree = shapely.STRtree(polygons)
    array = np.asarray(polygons, dtype=object)
    if gap_mm > SLACK_MM:
        pairs = tree.query(array, predicate="dwithin", distance=gap_mm - SLACK_MM).T
        return {(int(a), int(b)) for a, b in pairs if a < b}
    pairs = tree.query(array, predicate="intersects").T
    return {(int(a), int(b)) for a, b in pairs if a < b and _overlap(polygons[a], polygons[b])}


def _overlap(one: Polygon, other: Polygon) -> bool:
    """Do two parts share more than an edge of no thickness?"""
    return bool(one.buffer(-SLACK_MM).intersects(other))
