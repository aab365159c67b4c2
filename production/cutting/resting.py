"""What is left of a sheet after its parts: plain data in, plain data out, millimetres. No library is needed.

Nests are filled from the left, so the rest lies on the right: for each strip across the sheet it begins behind the
part that reaches furthest right. Bays narrower than `NARROW_MM` are given up, because nothing is cut from them and
the shears cannot follow them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

Point = tuple[float, float]

STRIP_MM = 10.0
# A bay narrower than this is waste; a rest whose rectangle is smaller is not worth a place: common practice, no source.
NARROW_MM = 120.0
# Outlines are kept in thousandths, sizes in tenths of a millimetre.
EDGE_MM = 0.06
LEAST_SIDE_MM = 200.0
# Less metal than this beside a hole is none.
HOLE_EDGE_MM = 1.0


@dataclass(frozen=True)
class Rest:
    """The rest of a sheet with its corner at 0, 0: the outline as it lies, and the largest rectangle inside it.

    `left_mm` is where it begins on the sheet. `share` is its area over the area of the whole sheet. `holes` were in
    the sheet before; the area is without them.
    """

    outline: tuple[Point, ...]
    length_mm: float
    width_mm: float
    area_mm2: float
    left_mm: float
    share: float
    holes: tuple[tuple[Point, ...], ...] = ()

    @property
    def is_worth_keeping(self) -> bool:
        return min(self.length_mm, self.width_mm) >= LEAST_SIDE_MM

    @property
    def sheet_outline(self) -> tuple[Point, ...]:
        """The outline where it lies on the sheet."""
        return tuple((x + self.left_mm, y) for x, y in self.outline)


def rest_of(
    length_mm: float,
    width_mm: float,
    parts: Sequence[Sequence[Point]],
    gap_mm: float,
    *,
    straight: bool = False,
    metal: Sequence[Point] = (),
    holes: Sequence[Sequence[Point]] = (),
) -> Rest | None:
    """The rest of a sheet whose parts have these outer outlines; none where nothing is left.

    `gap_mm` stays between parts and rest. `straight` cuts it off along one line across the sheet. The outline
    comes nowhere nearer to a part than the gap, to within the strips' 10 mm, which are always rounded away from
    the rest. `metal` is the outline of an offcut that is no rectangle: nothing is left where it has none.
    `holes` that lie within the rest stay holes of it; it begins behind those that its outline would run through.
    """
    count = max(1, math.ceil(width_mm / STRIP_MM))
    reach = _reach(parts, count, gap_mm)
    if metal:
        reach = [max(pair) for pair in zip(reach, _off_metal(metal, count, length_mm, width_mm), strict=True)]
    reach = _drawn(reach, length_mm, straight)
    while cut := [hole for hole in holes if _is_cut(hole, reach)]:
        reach = [max(pair) for pair in zip(reach, _reach(cut, count, HOLE_EDGE_MM), strict=True)]
        reach = _drawn(reach, length_mm, straight)
    left = min(reach)
    if left >= length_mm:
        return None
    outline = _outline(reach, length_mm, width_mm, left)
    inside = [hole for hole in holes if _is_inside(hole, reach)]
    length, width = _largest(reach, length_mm, width_mm, inside)
    area = polygon_area_mm2(outline) - sum(map(polygon_area_mm2, inside))
    kept = tuple(tuple((x - left, y) for x, y in hole) for hole in inside)
    return Rest(outline, length, width, area, left, area / (length_mm * width_mm), kept)


def polygon_area_mm2(points: Sequence[Point]) -> float:
    """Area of a closed outline (shoelace)."""
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2


def _reach(parts: Sequence[Sequence[Point]], count: int, gap_mm: float) -> list[float]:
    """For each strip, how far right the parts reach with their gap, rounded up to a whole centimetre."""
    reach = [0.0] * count
    for ring in parts:
        for one, other in zip(ring, (*ring[1:], ring[0]), strict=True):
            low, high = sorted((one[1], other[1]))
            first = max(0, math.floor((low - gap_mm) / STRIP_MM))
            last = min(count - 1, max(first, math.ceil((high + gap_mm) / STRIP_MM) - 1))
            for strip in range(first, last + 1):
                bottom, top = strip * STRIP_MM - gap_mm, (strip + 1) * STRIP_MM + gap_mm
                far = max(_x_at(one, other, y) for y in (max(low, bottom), min(high, top)))
                reach[strip] = max(reach[strip], far + gap_mm)
    return [math.ceil(round(x / STRIP_MM, 6)) * STRIP_MM for x in reach]


def _drawn(reach: Sequence[float], length_mm: float, straight: bool) -> list[float]:
    """Where the rest begins in each strip: along one line where it is straight, narrow bays given up."""
    drawn = [max(reach)] * len(reach) if straight else reach
    return [min(length_mm, x) for x in _closed(drawn, round(NARROW_MM / STRIP_MM))]


def _strips(hole: Sequence[Point], count: int) -> range:
    """The strips that a hole with a little metal around it lies in."""
    low, high = min(y for _, y in hole) - HOLE_EDGE_MM, max(y for _, y in hole) + HOLE_EDGE_MM
    return range(max(0, math.floor(low / STRIP_MM)), min(count, math.ceil(high / STRIP_MM)))


def _is_inside(hole: Sequence[Point], reach: Sequence[float]) -> bool:
    left = min(x for x, _ in hole) - HOLE_EDGE_MM
    return all(reach[strip] <= left for strip in _strips(hole, len(reach)))


def _is_cut(hole: Sequence[Point], reach: Sequence[float]) -> bool:
    """Whether the outline of the rest would run through the hole: neither all of it inside nor all of it outside."""
    right = max(x for x, _ in hole)
    is_outside = all(reach[strip] >= right for strip in _strips(hole, len(reach)))
    return not is_outside and not _is_inside(hole, reach)


def _off_metal(metal: Sequence[Point], count: int, length_mm: float, width_mm: float) -> list[float]:
    """For each strip, where the metal begins that goes on to the sheet's right edge; that edge where it does not."""
    edges = list(zip(metal, (*metal[1:], metal[0]), strict=True))
    right = [sorted((a[1], b[1])) for a, b in edges if min(a[0], b[0]) >= length_mm - EDGE_MM]
    found = []
    for strip in range(count):
        low, high = strip * STRIP_MM, min((strip + 1) * STRIP_MM, width_mm)
        if not any(under <= low + EDGE_MM and over >= high - EDGE_MM for under, over in right):
            found.append(length_mm)
            continue
        within = [
            (a, b) for a, b in edges if a[1] != b[1] and max(a[1], b[1]) > low and min(a[1], b[1]) < high
        ]
        ends = [
            _x_at(a, b, min(high, max(low, y)))
            for a, b in within
            if min(a[0], b[0]) < length_mm - EDGE_MM
            for y in (min(a[1], b[1]), max(a[1], b[1]))
        ]
        found.append(math.ceil(round(max(ends, default=0.0) / STRIP_MM, 6)) * STRIP_MM)
    return found


def _x_at(one: Point, other: Point, y: float) -> float:
    if one[1] == other[1]:
        return max(one[0], other[0])
    share = min(1.0, max(0.0, (y - one[1]) / (other[1] - one[1])))
    return one[0] + share * (other[0] - one[0])


def _closed(reach: Sequence[float], window: int) -> list[float]:
    """Fills bays narrower than the window. Beyond the sheet's edges there is nothing, so bays at an edge count too."""
    # The lowest ground of every window that still fits, then for each strip the best window that holds it.
    if len(reach) <= window:
        return [max(reach)] * len(reach)
    tops = [max(reach[at : at + window]) for at in range(len(reach) - window + 1)]
    return [
        min(tops[max(0, strip - window + 1) : min(strip, len(tops) - 1) + 1]) for strip in range(len(reach))
    ]


def _outline(reach: Sequence[float], length_mm: float, width_mm: float, left: float) -> tuple[Point, ...]:
    """Counter-clockwise from the lower right: up the straight edge, then down the steps."""
    right = length_mm - left
    points = [(right, 0.0), (right, width_mm)]
    at = width_mm
    for strip in range(len(reach) - 1, -1, -1):
        x, below = reach[strip] - left, strip * STRIP_MM
        if points[-1][0] == x and len(points) > 2:
            points[-1] = (x, below)
        else:
            points += [(x, at), (x, below)]
        at = below
    return tuple(_without_repeats(points))


def _without_repeats(points: Sequence[Point]) -> list[Point]:
    kept = [point for index, point in enumerate(points) if point != points[index - 1]]
    return kept or list(points)


def _largest(
    reach: Sequence[float], length_mm: float, width_mm: float, holes: Sequence[Sequence[Point]] = ()
) -> Point:
    """Sides of the largest rectangle: every run of strips, as long as its furthest reach and its holes leave."""
    spans = [(_strips(hole, len(reach)), min(x for x, _ in hole), max(x for x, _ in hole)) for hole in holes]
    best = (0.0, 0.0)
    for low in range(len(reach)):
        far = 0.0
        for high in range(low, len(reach)):
            far = max(far, reach[high])
            in_way = sorted((a, b) for run, a, b in spans if run.start <= high and run.stop > low)
            sides = (
                _longest(far, length_mm, in_way),
                min((high + 1) * STRIP_MM, width_mm) - low * STRIP_MM,
            )
            if sides[0] * sides[1] > best[0] * best[1]:
                best = sides
    return best


def _longest(begin: float, end: float, in_way: Sequence[Point]) -> float:
    """The longest stretch from begin to end that none of the intervals, sorted, lies in."""
    longest = 0.0
    for left, right in in_way:
        longest = max(longest, left - begin)
        begin = max(begin, right)
    return max(longest, end - begin)
