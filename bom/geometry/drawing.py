"""What outlines are drawn with: round and long holes, polygons with rounded corners, links. All in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from bom.geometry.checks import check_outline
from bom.geometry.outlines import Contour, FlatOutline, Point, Vertex
from bom.kernel.errors import Problem, ProblemError


def circle(x_mm: float, y_mm: float, diameter_mm: float) -> Contour:
    """A round hole as two half circles."""
    radius = diameter_mm / 2
    return Contour((Vertex(x_mm - radius, y_mm, 1.0), Vertex(x_mm + radius, y_mm, 1.0)))


def obround(
    x_mm: float, y_mm: float, length_mm: float, width_mm: float, *, turned_deg: float = 0.0
) -> Contour:
    """A slot with round ends about its middle; `length_mm` is over all and more than `width_mm`."""
    if length_mm <= width_mm:
        raise refusal(f"A slot of {length_mm:g} mm is not longer than its width of {width_mm:g} mm")
    half, radius = (length_mm - width_mm) / 2, width_mm / 2
    cosine, sine = math.cos(math.radians(turned_deg)), math.sin(math.radians(turned_deg))
    corners = ((-half, -radius, 0.0), (half, -radius, 1.0), (half, radius, 0.0), (-half, radius, 1.0))
    return Contour(
        tuple(Vertex(x_mm + u * cosine - v * sine, y_mm + u * sine + v * cosine, b) for u, v, b in corners)
    )


def rounded(points: Sequence[Point], radii_mm: float | Sequence[float]) -> Contour:
    """A polygon whose corners are rounded with arcs; one radius for all or one for each, 0 for a sharp one.

    A radius that takes more of an edge than there is, is refused with the number of the corner.
    """
    count = len(points)
    radii = [float(radii_mm)] * count if isinstance(radii_mm, int | float) else list(radii_mm)
    used = [_tangent_mm(points, at, radii[at]) for at in range(count)]
    for at in range(count):
        edge = math.dist(points[at], points[(at + 1) % count])
        if used[at] + used[(at + 1) % count] > edge + 1e-9:
            raise refusal(f"The radius at corner {at + 1} is too large for an edge of {edge:g} mm")
    vertices = [vertex for at in range(count) for vertex in _corner(points, at, used[at])]
    joined = [
        one for one, after in zip(vertices, (*vertices[1:], vertices[0]), strict=True) if _apart(one, after)
    ]
    return Contour(tuple(joined))


def tapered_link(first: tuple[float, float, float], second: tuple[float, float, float]) -> Contour:
    """The band round two circles, each given as x, y and radius, with straight sides that touch both."""
    (x1, y1, r1), (x2, y2, r2) = first, second
    apart = math.dist((x1, y1), (x2, y2))
    if apart <= abs(r1 - r2):
        raise refusal("One end of the link lies within the other")
    along, half = math.atan2(y2 - y1, x2 - x1), math.acos((r1 - r2) / apart)
    far, near = math.tan(half / 2), math.tan((math.pi - half) / 2)

    def at(x: float, y: float, radius: float, direction: float, bulge: float) -> Vertex:
        return Vertex(x + radius * math.cos(direction), y + radius * math.sin(direction), bulge)

    return Contour(
        (
            at(x1, y1, r1, along + half, near),
            at(x1, y1, r1, along - half, 0.0),
            at(x2, y2, r2, along - half, far),
            at(x2, y2, r2, along + half, 0.0),
        )
    )


def rectangle(length_mm: float, width_mm: float) -> tuple[Point, ...]:
    """The corners of a rectangle from the origin, counter-clockwise."""
    return ((0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm))


def grid(columns: int, rows: int, pitch_x_mm: float, pitch_y_mm: float, middle: Point) -> list[Point]:
    """Points in columns and rows about `middle`."""
    left, low = middle[0] - (columns - 1) * pitch_x_mm / 2, middle[1] - (rows - 1) * pitch_y_mm / 2
    return [(left + c * pitch_x_mm, low + r * pitch_y_mm) for r in range(rows) for c in range(columns)]


def bolt_circle(count: int, diameter_mm: float, middle: Point = (0.0, 0.0)) -> list[Point]:
    """Points evenly on a circle, straddling the x axis."""
    turns = (math.tau * at / count + math.pi / count for at in range(count))
    return [
        (middle[0] + diameter_mm / 2 * math.cos(turn), middle[1] + diameter_mm / 2 * math.sin(turn))
        for turn in turns
    ]


def checked(outer: Contour, inners: Iterable[Contour] = ()) -> FlatOutline:
    """The outline, or a ProblemError with everything that keeps it from being cut."""
    outline = FlatOutline(outer, tuple(inners))
    problems = check_outline(outline)
    if problems:
        raise ProblemError(*problems)
    return outline


def _tangent_mm(points: Sequence[Point], at: int, radius_mm: float) -> float:
    return radius_mm * math.tan(abs(_turning(points, at)) / 2) if radius_mm else 0.0


def _turning(points: Sequence[Point], at: int) -> float:
    """How far the outline turns at a corner, in radians, positive to the left."""
    (ax, ay), (bx, by), (cx, cy) = points[at - 1], points[at], points[(at + 1) % len(points)]
    turn = math.atan2(cy - by, cx - bx) - math.atan2(by - ay, bx - ax)
    return math.remainder(turn, math.tau)


def _corner(points: Sequence[Point], at: int, used_mm: float) -> list[Vertex]:
    corner, before, after = points[at], points[at - 1], points[(at + 1) % len(points)]
    if not used_mm:
        return [Vertex(*corner)]
    begin, end = _towards(corner, before, used_mm), _towards(corner, after, used_mm)
    return [Vertex(*begin, math.tan(_turning(points, at) / 4)), Vertex(*end)]


def _towards(start: Point, goal: Point, by_mm: float) -> Point:
    share = by_mm / math.dist(start, goal)
    return (start[0] + (goal[0] - start[0]) * share, start[1] + (goal[1] - start[1]) * share)


def _apart(one: Vertex, other: Vertex) -> bool:
    return math.dist(one.point, other.point) > 1e-6


def refusal(what: str) -> ProblemError:
    """Dimensions that do not go together."""
    return ProblemError(Problem(what, mend="Change the dimensions so that they go together"))
