"""Folded parts: the flat between bend lines, and the part seen from its edge once folded. Lengths in mm. No Django.

A folded sketch is drawn where all bend lines run the same way, as they do on channels, angles and brackets; for
others the bend list still holds, and a person reads the drawing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from bom.geometry.bending import BendFigures
from bom.geometry.outlines import FlatOutline, Point, flatten

PARALLEL_DEG = 0.1
SAME_LINE_MM = 0.01
SAGITTA_MM = 0.02

_Side = Callable[[Point], float]


@dataclass(frozen=True)
class Line:
    """A bend line in the flat."""

    start: Point
    end: Point

    @property
    def direction(self) -> Point:
        length = math.dist(self.start, self.end)
        return ((self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length)


@dataclass(frozen=True)
class Strips:
    """The flat cut up by its bend lines: the order of the bends across it, and the legs from edge to bend to edge."""

    order: tuple[int, ...]
    legs_mm: tuple[float, ...]


@dataclass(frozen=True)
class SideView:
    """A folded part from its edge: the middle line of the sheet as an SVG path (y up), and where each leg's middle is.

    `box` is least x, least y, greatest x, greatest y of the sheet.
    """

    path: str
    legs: tuple[Point, ...]
    corners: tuple[Point, ...]
    box: tuple[float, float, float, float]


def strips(outline: FlatOutline, lines: Sequence[Line]) -> Strips | None:
    """The legs of the flat, measured where all bend lines are; None where the lines do not run the same way, or two
    of them lie on one straight line.
    """
    if not lines or not _all_parallel(lines):
        return None
    along = lines[0].direction
    across = _across(along)
    offsets = [_dot(line.start, across) for line in lines]
    order = tuple(sorted(range(len(lines)), key=lambda at: offsets[at]))
    points = _within_band(flatten(outline.outer, SAGITTA_MM), along, _common_band(lines, along))
    edges = [_dot(point, across) for point in points]
    places = [min(edges), *(offsets[at] for at in order), max(edges)]
    legs = tuple(right - left for left, right in pairwise(places))
    return Strips(order, legs) if all(leg > SAME_LINE_MM for leg in legs) else None


def distance_to_holes_mm(outline: FlatOutline, line: Line) -> float:
    """Least distance of a bend line to the edge of a hole; infinite without holes, 0 where the line crosses one."""
    nearest = math.inf
    for inner in outline.inners:
        points = flatten(inner, SAGITTA_MM)
        sides = [_signed_distance(point, line) for point in points if _beside(point, line)]
        if sides and min(sides) <= 0 <= max(sides):
            return 0.0
        nearest = min([nearest, *(abs(side) for side in sides)])
    return nearest


def runs_across(outline: FlatOutline, line: Line) -> bool:
    """Whether the part reaches to both sides of the line, within its length."""
    points = _within_band(flatten(outline.outer, SAGITTA_MM), line.direction, _band(line, line.direction))
    sides = [_signed_distance(point, line) for point in points]
    return bool(sides) and min(sides) < -SAME_LINE_MM and max(sides) > SAME_LINE_MM


def side_view(
    legs_mm: Sequence[float], bends: Sequence[BendFigures], upwards: Sequence[bool]
) -> SideView | None:
    """The part folded, seen from its edge; None where a leg is shorter than the arcs take."""
    halves = [0.0, *(one.allowance_mm / 2 for one in bends), 0.0]
    straights = [leg - halves[at] - halves[at + 1] for at, leg in enumerate(legs_mm)]
    if any(straight < 0 for straight in straights):
        return None
    x = y = heading = 0.0
    parts, middles, corners = ["M0 0"], [], [(0.0, 0.0)]
    for at, straight in enumerate(straights):
        cosine, sine = math.cos(heading), math.sin(heading)
        middles.append((x + cosine * straight / 2, y + sine * straight / 2))
        x, y = x + cosine * straight, y + sine * straight
        corners.append((x, y))
        parts.append(f"L{x:.3f} {y:.3f}")
        if at < len(bends):
            turn = math.radians(bends[at].angle_deg) * (1 if upwards[at] else -1)
            radius = bends[at].inside_radius_mm + bends[at].thickness_mm / 2
            x, y = _arc_end(x, y, heading, turn, radius)
            heading += turn
            corners.append((x, y))
            parts.append(f"A{radius:.3f} {radius:.3f} 0 0 {int(turn > 0)} {x:.3f} {y:.3f}")
    half = bends[0].thickness_mm / 2 if bends else 0.0
    across, up = [one[0] for one in corners], [one[1] for one in corners]
    box = (min(across) - half, min(up) - half, max(across) + half, max(up) + half)
    return SideView("".join(parts), tuple(middles), tuple(corners), box)


def _arc_end(x: float, y: float, heading: float, turn: float, radius: float) -> Point:
    side = math.copysign(1.0, turn)
    centre = (x - math.sin(heading) * radius * side, y + math.cos(heading) * radius * side)
    after = heading + turn
    return (centre[0] + math.sin(after) * radius * side, centre[1] - math.cos(after) * radius * side)


def _across(along: Point) -> Point:
    """The direction square to the lines, from left to right or upwards, so that legs are counted as they are seen."""
    forwards = 1.0 if along[1] - along[0] > 0 else -1.0
    return (forwards * along[1], -forwards * along[0])


def _all_parallel(lines: Sequence[Line]) -> bool:
    ux, uy = lines[0].direction
    least = math.sin(math.radians(PARALLEL_DEG))
    return all(abs(ux * line.direction[1] - uy * line.direction[0]) <= least for line in lines)


def _band(line: Line, along: Point) -> tuple[float, float]:
    ends = sorted((_dot(line.start, along), _dot(line.end, along)))
    return (ends[0], ends[1])


def _common_band(lines: Sequence[Line], along: Point) -> tuple[float, float]:
    """What all the lines share of their direction; where they share nothing, all of them together."""
    bands = [_band(line, along) for line in lines]
    low, high = max(band[0] for band in bands), min(band[1] for band in bands)
    if low < high:
        return (low, high)
    return (min(band[0] for band in bands), max(band[1] for band in bands))


def _within_band(points: Sequence[Point], along: Point, band: tuple[float, float]) -> list[Point]:
    """The polygon cut off at both ends of the band (by Sutherland and Hodgman's method)."""
    low, high = band
    kept = _cut(list(points), lambda point: _dot(point, along) - low)
    return _cut(kept, lambda point: high - _dot(point, along))


def _cut(points: list[Point], inside: _Side) -> list[Point]:
    kept: list[Point] = []
    for one, other in zip(points, [*points[1:], *points[:1]], strict=True):
        a, b = inside(one), inside(other)
        if a >= 0:
            kept.append(one)
        if (a >= 0) != (b >= 0):
            share = a / (a - b)
            kept.append((one[0] + (other[0] - one[0]) * share, one[1] + (other[1] - one[1]) * share))
    return kept


def _dot(one: Point, other: Point) -> float:
    return one[0] * other[0] + one[1] * other[1]


def _signed_distance(point: Point, line: Line) -> float:
    ux, uy = line.direction
    return ux * (point[1] - line.start[1]) - uy * (point[0] - line.start[0])


def _beside(point: Point, line: Line) -> bool:
    low, high = _band(line, line.direction)
    return low <= _dot(point, line.direction) <= high
