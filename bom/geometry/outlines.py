"""Flat outlines with exact arcs: areas, cut lengths, masses, drawings. All lengths in mm, y upwards.

A contour is a closed row of vertices. The edge that leaves a vertex is straight for bulge 0, else an arc;
the bulge is the tangent of a quarter of the arc's angle, positive counter-clockwise, as in the polylines of
DXF. So bulge 1 is a half circle, and two vertices with bulge 1 are a circle.

Only the standard library is used: pages draw outlines and import this module.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from bom.kernel.errors import Problem, ProblemError

Point = tuple[float, float]
Box = tuple[float, float, float, float]

# S355 and S235 alike; Eurocode 3 tables of section dimensions use the same figure.
STEEL_KG_M3 = 7850.0
# Below this bulge the arc's own formulas lose their digits; the parabola through the arc is closer.
NEARLY_STRAIGHT = 1e-3
_QUARTER_TURNS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


@dataclass(frozen=True)
class Vertex:
    """A corner, and by its bulge the edge that leaves it."""

    x_mm: float
    y_mm: float
    bulge: float = 0.0

    @property
    def point(self) -> Point:
        return (self.x_mm, self.y_mm)


@dataclass(frozen=True)
class Edge:
    """One edge from `start` to `end`."""

    start: Point
    end: Point
    bulge: float

    @property
    def chord_mm(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def angle(self) -> float:
        """The angle of the arc in radians, signed like the bulge; 0 for a straight edge."""
        return 4 * math.atan(self.bulge)

    @property
    def radius_mm(self) -> float:
        """Radius of the arc. Only for a bulge other than 0."""
        return self.chord_mm * (1 + self.bulge**2) / (4 * abs(self.bulge))

    @property
    def centre(self) -> Point:
        """Centre of the arc. Only for a bulge other than 0."""
        (x1, y1), (x2, y2) = self.start, self.end
        reach = (1 - self.bulge**2) / (4 * self.bulge)
        return ((x1 + x2) / 2 - (y2 - y1) * reach, (y1 + y2) / 2 + (x2 - x1) * reach)

    @property
    def length_mm(self) -> float:
        return self.radius_mm * abs(self.angle) if self.bulge else self.chord_mm

    @property
    def cap_area_mm2(self) -> float:
        """Signed area between chord and arc."""
        if abs(self.bulge) < NEARLY_STRAIGHT:
            return self.chord_mm**2 * self.bulge / 3
        return self.radius_mm**2 * (self.angle - math.sin(self.angle)) / 2

    @property
    def cap_centroid(self) -> Point:
        """Centroid of the area between chord and arc. Only for a bulge other than 0.

        It lies 4 r sin³(θ/2) / (3 (θ − sin θ)) from the centre towards the middle of the arc (the
        centroid of a circular segment, from memory).
        """
        if abs(self.bulge) < NEARLY_STRAIGHT:
            (x1, y1), (x2, y2), out = self.start, self.end, self.bulge / 5
            return ((x1 + x2) / 2 + (y2 - y1) * out, (y1 + y2) / 2 - (x2 - x1) * out)
        angle, (cx, cy) = abs(self.angle), self.centre
        reach = 4 * self.radius_mm * math.sin(angle / 2) ** 3 / (3 * (angle - math.sin(angle)))
        middle = self.begins_at + self.angle / 2
        return (cx + reach * math.cos(middle), cy + reach * math.sin(middle))

    @property
    def begins_at(self) -> float:
        """Direction from the centre to the start, in radians. Only for a bulge other than 0."""
        cx, cy = self.centre
        return math.atan2(self.start[1] - cy, self.start[0] - cx)

    def corners(self) -> Iterator[Point]:
        """The start and those points of the arc that lie furthest in an axis direction."""
        yield self.start
        if self.bulge:
            (cx, cy), radius = self.centre, self.radius_mm
            for turn, (along_x, along_y) in enumerate(_QUARTER_TURNS):
                ahead = turn * math.pi / 2 - self.begins_at
                if (ahead if self.bulge > 0 else -ahead) % math.tau <= abs(self.angle):
                    yield (cx + radius * along_x, cy + radius * along_y)

    def points(self, sagitta_mm: float) -> Iterator[Point]:
        """The start and as many points of the arc that no chord strays further than `sagitta_mm`."""
        yield self.start
        if not self.bulge:
            return
        (cx, cy), radius, begin = self.centre, self.radius_mm, self.begins_at
        # From the half angle's sine, not from its cosine, which for a wide arc is 1 to the last digit.
        step = 4 * math.asin(math.sqrt(min(0.25, sagitta_mm / (2 * radius))))
        count = max(1, math.ceil(abs(self.angle) / step - 1e-9))
        for at in range(1, count):
            direction = begin + self.angle * at / count
            yield (cx + radius * math.cos(direction), cy + radius * math.sin(direction))


@dataclass(frozen=True)
class Contour:
    """A closed row of vertices; the last is joined to the first."""

    vertices: tuple[Vertex, ...]

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        following = (*self.vertices[1:], *self.vertices[:1])
        return tuple(
            Edge(one.point, other.point, one.bulge)
            for one, other in zip(self.vertices, following, strict=True)
        )

    @cached_property
    def signed_area_mm2(self) -> float:
        """Positive for counter-clockwise, arcs exact."""
        return sum(_cross(edge.start, edge.end) / 2 + edge.cap_area_mm2 for edge in self.edges)

    @property
    def area_mm2(self) -> float:
        return abs(self.signed_area_mm2)

    @property
    def length_mm(self) -> float:
        return sum(edge.length_mm for edge in self.edges)

    @property
    def moments_mm3(self) -> Point:
        """Signed first moments of the area about both axes: area times centroid."""
        along_x = along_y = 0.0
        for edge in self.edges:
            (x1, y1), (x2, y2) = edge.start, edge.end
            cross = _cross(edge.start, edge.end) / 6
            along_x += (x1 + x2) * cross
            along_y += (y1 + y2) * cross
            if edge.bulge:
                x, y = edge.cap_centroid
                along_x += x * edge.cap_area_mm2
                along_y += y * edge.cap_area_mm2
        return (along_x, along_y)


@dataclass(frozen=True)
class FlatOutline:
    """A flat part: its outside and its holes."""

    outer: Contour
    inners: tuple[Contour, ...] = ()

    @property
    def contours(self) -> tuple[Contour, ...]:
        return (self.outer, *self.inners)


def area_mm2(outline: FlatOutline) -> float:
    """Area of the outside less the holes, arcs exact."""
    return outline.outer.area_mm2 - sum(inner.area_mm2 for inner in outline.inners)


def cut_length_mm(outline: FlatOutline) -> float:
    """Length of all contours, without the lead-ins of the laser."""
    return sum(contour.length_mm for contour in outline.contours)


def pierces(outline: FlatOutline) -> int:
    """How often the laser starts: once for each contour."""
    return len(outline.contours)


def bounding_box(outline: FlatOutline) -> Box:
    """Least x, least y, greatest x, greatest y in mm, arcs exact."""
    corners = [point for edge in outline.outer.edges for point in edge.corners()]
    across, up = [point[0] for point in corners], [point[1] for point in corners]
    return (min(across), min(up), max(across), max(up))


def centroid(outline: FlatOutline) -> Point:
    """Centre of gravity of the flat part in mm. ProblemError for an outline without area."""
    area = area_mm2(outline)
    if area <= 0:
        raise ProblemError(Problem("The outline encloses no area", mend="Check the order of its vertices"))
    along_x = along_y = 0.0
    for contour in outline.contours:
        x, y = contour.moments_mm3
        sign = math.copysign(1.0, contour.signed_area_mm2) * (1 if contour is outline.outer else -1)
        along_x, along_y = along_x + sign * x, along_y + sign * y
    return (along_x / area, along_y / area)


def mass_kg(outline: FlatOutline, thickness_mm: float, density_kg_m3: float = STEEL_KG_M3) -> float:
    """Area times thickness times density."""
    return area_mm2(outline) * thickness_mm * density_kg_m3 / 1e9


def flatten(contour: Contour, sagitta_mm: float = 0.1) -> tuple[Point, ...]:
    """The contour as points, first not repeated; points lie on the arcs, chords stray at most `sagitta_mm`."""
    return tuple(point for edge in contour.edges for point in edge.points(sagitta_mm))


def svg_path(contour: Contour) -> str:
    """The contour as the `d` of an SVG path in mm. SVG counts y downwards: the drawing must flip it."""
    parts = [f"M{_short(contour.vertices[0].x_mm)} {_short(contour.vertices[0].y_mm)}"]
    for edge in contour.edges:
        end = f"{_short(edge.end[0])} {_short(edge.end[1])}"
        if edge.bulge:
            radius, large = _short(edge.radius_mm), int(abs(edge.bulge) > 1)
            parts.append(f"A{radius} {radius} 0 {large} {int(edge.bulge > 0)} {end}")
        else:
            parts.append(f"L{end}")
    return "".join([*parts, "Z"])


def transform(
    outline: FlatOutline,
    *,
    rotation_deg: float = 0.0,
    dx_mm: float = 0.0,
    dy_mm: float = 0.0,
    mirrored: bool = False,
) -> FlatOutline:
    """The outline mirrored (x becomes −x) when asked, then turned about the origin, then moved.

    Quarter turns are exact.
    """
    cosine, sine = _turn(rotation_deg)
    flip = -1.0 if mirrored else 1.0

    def moved(vertex: Vertex) -> Vertex:
        x, y = flip * vertex.x_mm, vertex.y_mm
        return Vertex(
            x * cosine - y * sine + dx_mm,
            x * sine + y * cosine + dy_mm,
            flip * vertex.bulge if vertex.bulge else 0.0,
        )

    contours = [Contour(tuple(moved(vertex) for vertex in contour.vertices)) for contour in outline.contours]
    return FlatOutline(contours[0], tuple(contours[1:]))


def to_text(contour: Contour) -> str:
    """The contour as "x,y,bulge;…", lengths to 0.001 mm and bulges to nine decimals."""
    return ";".join(
        f"{_short(vertex.x_mm)},{_short(vertex.y_mm)},{_short(vertex.bulge, 9)}"
        for vertex in contour.vertices
    )


def from_text(text: str) -> Contour:
    """The contour written by `to_text`. ProblemError with the number of each vertex that cannot be read."""
    vertices, problems = [], []
    for number, part in enumerate(text.strip().rstrip(";").split(";"), start=1):
        try:
            x, y, *bulge = (float(figure) for figure in part.split(","))
            vertex = Vertex(x, y, *bulge)
            if not all(map(math.isfinite, (x, y, *bulge))):
                raise ValueError(part)
            vertices.append(vertex)
        except (TypeError, ValueError):
            problems.append(
                Problem(
                    f"“{part.strip()}” is not a vertex", f"vertex {number}", "Write x,y or x,y,bulge in mm"
                )
            )
    if problems:
        raise ProblemError(*problems)
    return Contour(tuple(vertices))


def _cross(one: Point, other: Point) -> float:
    return one[0] * other[1] - other[0] * one[1]


def _turn(rotation_deg: float) -> Point:
    quarters, rest = divmod(rotation_deg % 360, 90)
    if not rest:
        return _QUARTER_TURNS[int(quarters) % 4]
    return (math.cos(math.radians(rotation_deg)), math.sin(math.radians(rotation_deg)))


def _short(value: float, decimals: int = 3) -> str:
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
