"""Parts as exact polygons in every orientation they may be laid at."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely import affinity
from shapely.geometry import Polygon

from production.cutting.nesting.job import PartShape, Placement, Point, SheetStock

# An outline with more points than this is replaced, for strip packing only, by one that may cut its
# corners by SIMPLIFY_MM; the separation asked for grows by as much.
PLAIN_POINTS = 40
SIMPLIFY_MM = 0.15


@dataclass(frozen=True)
class Laid:
    """A part in one orientation, moved so that its bounding box begins at (0, 0).

    `shift` is what the part's own origin moved by: a placement at box corner (x, y) has the
    translation (x, y) + shift.
    """

    code: str
    rotation_deg: float
    mirrored: bool
    polygon: Polygon
    shift: Point
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Shape:
    """A part prepared for nesting."""

    part: PartShape
    polygon: Polygon

    @property
    def code(self) -> str:
        return self.part.code

    @cached_property
    def area_mm2(self) -> float:
        """Net area, holes taken out."""
        return float(self.polygon.area)

    @cached_property
    def outer_area_mm2(self) -> float:
        """Area inside the outer outline, holes counted."""
        return float(Polygon(self.polygon.exterior).area)

    @cached_property
    def laid(self) -> tuple[Laid, ...]:
        """Every different orientation; those that give the same polygon are kept once."""
        found: list[Laid] = []
        for mirrored in (False, True) if self.part.may_mirror else (False,):
            for rotation in self.part.rotations_deg:
                one = _lay(self.part.code, self.polygon, rotation, mirrored)
                if not any(_same(one, other) for other in found):
                    found.append(one)
        return tuple(found)

    @cached_property
    def strip_outline(self) -> tuple[Point, ...]:
        """The outer outline for the strip packer, with fewer points where there are many."""
        return tuple(self._strip_ring.coords)[:-1]

    @cached_property
    def strip_slack_mm(self) -> float:
        """How far the true outline may stand out of `strip_outline`."""
        return SIMPLIFY_MM if self._strip_ring is not self.polygon.exterior else 0.0

    @cached_property
    def _strip_ring(self) -> shapely.LinearRing:
        ring = self.polygon.exterior
        if len(ring.coords) <= PLAIN_POINTS:
            return ring
        plain = Polygon(ring).simplify(SIMPLIFY_MM)
        return plain.exterior if plain.is_valid and not plain.is_empty else ring

    def fitting(self, stock: SheetStock, margin_mm: float) -> tuple[Laid, ...]:
        """The orientations in which the part goes on the sheet inside its margins."""
        length = stock.length_mm - 2 * margin_mm + 1e-6
        width = stock.width_mm - 2 * margin_mm + 1e-6
        return tuple(laid for laid in self.laid if laid.width_mm <= length and laid.height_mm <= width)


def prepare(part: PartShape) -> Shape:
    """The part with its exact polygon (outer outline minus holes)."""
    return Shape(part, shapely.remove_repeated_points(Polygon(part.outer, part.holes)))


def turned(polygon: Polygon, rotation_deg: float, mirrored: bool) -> Polygon:
    """Mirror (x becomes −x) when asked, then rotate about the origin. Quarter turns are exact."""
    if mirrored:
        polygon = affinity.affine_transform(polygon, (-1, 0, 0, 1, 0, 0))
    quarters, rest = divmod(rotation_deg % 360, 90)
    if rest == 0:
        cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[int(quarters)]
        return affinity.affine_transform(polygon, (cos, -sin, sin, cos, 0, 0))
    return affinity.rotate(polygon, rotation_deg, origin=(0, 0))


def placed_polygon(shape: Shape, placement: Placement) -> Polygon:
    """The part's polygon where the placement puts it on the sheet."""
    polygon = turned(shape.polygon, placement.rotation_deg, placement.mirrored)
    return affinity.translate(polygon, placement.x_mm, placement.y_mm)


def _lay(code: str, polygon: Polygon, rotation_deg: float, mirrored: bool) -> Laid:
    polygon = turned(polygon, rotation_deg, mirrored)
    left, low, right, high = polygon.bounds
    at_zero = affinity.translate(polygon, -left, -low)
    return Laid(code, rotation_deg, mirrored, at_zero, (-left, -low), right - left, high - low)


def _same(one: Laid, other: Laid) -> bool:
    if abs(one.width_mm - other.width_mm) > 1e-6 or abs(one.height_mm - other.height_mm) > 1e-6:
        return False
    return bool(one.polygon.symmetric_difference(other.polygon).area < 1e-6 * one.polygon.area)
