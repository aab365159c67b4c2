"""Outlines with arcs as polygons that the true part never stands out of, so that gaps hold for the part as cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bom.geometry.outlines import Contour, Edge, Point
from production.cutting.nesting.job import Ring

STRAY_MM = 0.1


def covering_rings(contours: Sequence[Contour], stray_mm: float = STRAY_MM) -> tuple[Ring, ...]:
    """The outside and then the holes as polygons: material only ever added, by at most `stray_mm`.

    An arc that bulges out of the material is replaced by tangents, one that bulges into it by chords.
    """
    return tuple(_ring(contour, index > 0, stray_mm) for index, contour in enumerate(contours))


def inscribed_ring(contour: Contour, stray_mm: float = STRAY_MM) -> Ring:
    """The outline of a piece of metal as a polygon that never stands out of it: its area less at most the stray."""
    return _ring(contour, True, stray_mm)


def metal_rings(outer: Contour, inners: Sequence[Contour]) -> tuple[Ring, tuple[Ring, ...]]:
    """A piece of metal as polygons with its box's corner at 0, 0: its outline and its holes.

    They never claim metal that is not there: the outline stays within the true one, a hole covers its own.
    """
    ring = inscribed_ring(outer)
    holes = [covering_rings([inner])[0] for inner in inners]
    left, low = corner_of(ring)

    def moved(points: Ring) -> Ring:
        return tuple((x - left, y - low) for x, y in points)

    return moved(ring), tuple(moved(hole) for hole in holes)


def corner_of(ring: Ring) -> Point:
    """The lower left corner of the box around a ring."""
    return min(x for x, _ in ring), min(y for _, y in ring)


def _ring(contour: Contour, is_hole: bool, stray_mm: float) -> Ring:
    # Walking an outside counter-clockwise, arcs that turn left bulge out of the material; in holes it is reversed.
    outwards = (contour.signed_area_mm2 > 0) != is_hole
    points: list[Point] = []
    for edge in contour.edges:
        bulges_out = edge.bulge != 0 and (edge.bulge > 0) == outwards
        points += _tangents(edge, stray_mm) if bulges_out else edge.points(stray_mm)
    return tuple(points)


def _tangents(edge: Edge, stray_mm: float) -> Iterator[Point]:
    """The start, then where the tangents at the start, at points between and at the end meet."""
    yield edge.start
    (cx, cy), radius, begin = edge.centre, edge.radius_mm, edge.begins_at
    # Tangents that meet at half a step stand off the arc by r (1 / cos(step / 2) − 1).
    step = 2 * math.acos(radius / (radius + stray_mm))
    count = max(1, math.ceil(abs(edge.angle) / min(step, math.pi / 4) - 1e-9))
    reach = radius / math.cos(edge.angle / count / 2)
    for at in range(count):
        direction = begin + edge.angle * (at + 0.5) / count
        yield (cx + reach * math.cos(direction), cy + reach * math.sin(direction))
