"""Whether an outline can be cut: every contour closed and simple, every hole inside and clear of the rest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from bom.geometry.outlines import Contour, FlatOutline, Point, flatten
from bom.kernel.errors import Problem

SAGITTA_MM = 0.02
TOUCHING_MM = 0.05
SHORTEST_MM = 0.001

Segment = tuple[Point, Point]


def check_outline(outline: FlatOutline) -> list[Problem]:
    """Everything that keeps the outline from being cut; empty for a good one.

    Contours are compared as chords that stray at most 0.02 mm; closer than 0.05 mm counts as touching.
    """
    named = list(zip(_names(outline), outline.contours, strict=True))
    problems = [problem for name, contour in named for problem in _contour_problems(name, contour)]
    if problems:
        return problems
    flat = {name: flatten(contour, SAGITTA_MM) for name, contour in named}
    problems = [
        Problem(
            "The contour crosses or touches itself", name, "Check the order of its vertices and its radii"
        )
        for name, points in flat.items()
        if self_crossing(points)
    ]
    return problems or list(_holes_out_of_place(flat))


def _names(outline: FlatOutline) -> list[str]:
    return ["outside", *(f"hole {number}" for number in range(1, len(outline.inners) + 1))]


def _contour_problems(name: str, contour: Contour) -> Iterator[Problem]:
    count = len(contour.vertices)
    if count < 2 or (count == 2 and not any(vertex.bulge for vertex in contour.vertices)):
        yield Problem(
            f"The contour has {count} vertices", name, "Give at least three, or two joined by an arc"
        )
        return
    for number, edge in enumerate(contour.edges, start=1):
        if edge.chord_mm < SHORTEST_MM:
            mend = "Leave one of the two out; a full circle takes two half circles"
            yield Problem(f"Vertices {number} and {number % count + 1} are the same point", name, mend)
    if contour.area_mm2 < SHORTEST_MM:
        yield Problem("The contour encloses no area", name, "Check the order of its vertices")


def _holes_out_of_place(flat: dict[str, tuple[Point, ...]]) -> Iterator[Problem]:
    (outside, outer), *holes = flat.items()
    for name, points in holes:
        if touching_point(points, outer):
            yield Problem(f"The hole touches the {outside}", name, "Move it inwards or make it smaller")
        elif not is_inside(points[0], outer):
            yield Problem(f"The hole lies beyond the {outside}", name, "Move it inwards")
    for (name, points), (other, others) in combinations(holes, 2):
        if touching_point(points, others):
            yield Problem(f"The hole touches {other}", name, "Move them apart or join them to one contour")
        elif is_inside(points[0], others) or is_inside(others[0], points):
            yield Problem(
                f"One hole lies within the other: this and {other}", name, "Leave the inner one out"
            )


def _segments(points: tuple[Point, ...]) -> list[Segment]:
    return list(zip(points, (*points[1:], points[0]), strict=True))


def self_crossing(points: tuple[Point, ...]) -> Point | None:
    """Where a closed row of points crosses, touches or runs back over itself; none where it does not."""
    segments = _segments(points)
    last = len(segments) - 1
    for at, to in _pairs_by_x(segments):
        one, other = segments[at], segments[to]
        if to - at == 1 or (at, to) == (0, last):
            before, after = (one, other) if to - at == 1 else (other, one)
            if last > 1 and _turns_back(before, after):
                return after[0]
        elif _near(one, other, 0.0) and _cross_each_other(one, other):
            return _meeting(one, other)
    return None


def _meeting(one: Segment, other: Segment) -> Point:
    """Where two segments cross; for those that only touch, the end that does."""
    (a, b), (c, d) = one, other
    before, after = _side(c, d, a), _side(c, d, b)
    if before * after < 0:
        share = before / (before - after)
        return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
    ends = [(_distance_mm(point, other), point) for point in one]
    return min(ends + [(_distance_mm(point, one), point) for point in other])[1]


def _pairs_by_x(segments: list[Segment]) -> Iterator[tuple[int, int]]:
    """Pairs of places whose segments share some x, lower place first; sorting spares looking at the rest."""
    spans = sorted((min(a[0], b[0]), max(a[0], b[0]), at) for at, (a, b) in enumerate(segments))
    for begin, (_, right, at) in enumerate(spans):
        for left, _, to in spans[begin + 1 :]:
            if left > right:
                break
            yield (at, to) if at < to else (to, at)


def _turns_back(one: Segment, following: Segment) -> bool:
    """Whether the second of two joined segments runs back along the first."""
    (ax, ay), (bx, by) = one
    (_, _), (cx, cy) = following
    ux, uy, vx, vy = bx - ax, by - ay, cx - bx, cy - by
    return abs(ux * vy - uy * vx) <= 1e-9 * math.hypot(ux, uy) * math.hypot(vx, vy) and ux * vx + uy * vy < 0


def touching_point(points: tuple[Point, ...], others: tuple[Point, ...]) -> Point | None:
    """Where two closed rows of points cross or come nearer than 0.05 mm; none where they do not."""
    box, theirs = box_of(points), _segments(others)
    theirs = [segment for segment in theirs if _near(box, segment, TOUCHING_MM)]
    for one in _segments(points) if theirs else ():
        for other in theirs:
            if _near(one, other, TOUCHING_MM) and (
                _cross_each_other(one, other) or _gap_mm(one, other) < TOUCHING_MM
            ):
                return _meeting(one, other)
    return None


def box_of(points: tuple[Point, ...]) -> Segment:
    """The diagonal of the points' box."""
    across, up = [x for x, _ in points], [y for _, y in points]
    return ((min(across), min(up)), (max(across), max(up)))


def _near(one: Segment, other: Segment, by_mm: float) -> bool:
    """Whether their boxes meet, grown by `by_mm`: cheap, and false for nearly all pairs."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    return (
        min(ax, bx) <= max(cx, dx) + by_mm
        and min(cx, dx) <= max(ax, bx) + by_mm
        and min(ay, by) <= max(cy, dy) + by_mm
        and min(cy, dy) <= max(ay, by) + by_mm
    )


def _cross_each_other(one: Segment, other: Segment) -> bool:
    (a, b), (c, d) = one, other
    sides = (_side(c, d, a), _side(c, d, b), _side(a, b, c), _side(a, b, d))
    if sides[0] * sides[1] < 0 and sides[2] * sides[3] < 0:
        return True
    return any(abs(side) < 1e-9 for side in sides) and _gap_mm(one, other) < 1e-6


def _side(start: Point, end: Point, point: Point) -> float:
    return (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])


def _gap_mm(one: Segment, other: Segment) -> float:
    """Distance of two segments that do not cross: some end is nearest."""
    return min(*(_distance_mm(point, other) for point in one), *(_distance_mm(point, one) for point in other))


def _distance_mm(point: Point, segment: Segment) -> float:
    (ax, ay), (bx, by) = segment
    ux, uy = bx - ax, by - ay
    square = ux * ux + uy * uy
    along = ((point[0] - ax) * ux + (point[1] - ay) * uy) / square if square else 0.0
    along = min(1.0, max(0.0, along))
    return math.dist(point, (ax + along * ux, ay + along * uy))


def is_inside(point: Point, ring: tuple[Point, ...]) -> bool:
    """Whether a ray to the right crosses the ring an odd number of times."""
    x, y = point
    crossings = sum(
        1
        for (ax, ay), (bx, by) in _segments(ring)
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax)
    )
    return crossings % 2 == 1
