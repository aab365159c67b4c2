"""From the paths of a drawing to one part: contours joined and nested, marks, bend lines, and every flaw with its
place. Lengths in mm. No Django, no library.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from bom.geometry.checks import SAGITTA_MM, box_of, is_inside, self_crossing, touching_point
from bom.geometry.dxf.paths import BEND, CUT, MARK, Flaw, Path, flaw_of
from bom.geometry.outlines import Contour, FlatOutline, Point, Vertex, flatten
from bom.geometry.strips import Line, runs_across

JOIN_MM = 0.05
"""Ends as near as this are one point: what drawings that were converted once or twice leave between their lines."""

SHORTEST_MM = 0.001
FURTHEST_MM = 100_000.0
MOST_PATHS = 5_000
MOST_VERTICES = 50_000


@dataclass(frozen=True)
class Ring:
    """A closed contour and the path it begins with."""

    contour: Contour
    path: Path
    points: tuple[Point, ...]


@dataclass
class Sorted:
    """One part from a drawing. Without flaws `outline` is there and can be cut."""

    outline: FlatOutline | None = None
    rings: list[Ring] = field(default_factory=list)
    loose: list[Path] = field(default_factory=list)
    marks: list[Path] = field(default_factory=list)
    bends: list[Path] = field(default_factory=list)
    flaws: list[Flaw] = field(default_factory=list)


def sort_paths(paths: Iterable[tuple[str, Path]]) -> Sorted:
    """Sort paths, each with what its layer is for. Whatever is wrong is a flaw; nothing is mended in silence but
    gaps of `JOIN_MM` between ends."""
    found = Sorted()
    sound = _sound(list(paths), found)
    found.marks = [path for role, path in sound if role == MARK]
    found.rings, found.loose = _rings([path for role, path in sound if role == CUT], found.flaws)
    _check_rings(found)
    found.bends = _bends([path for role, path in sound if role == BEND], found)
    return found


def line_of(path: Path) -> Line:
    return Line(path.start, path.end)


def _sound(paths: list[tuple[str, Path]], found: Sorted) -> list[tuple[str, Path]]:
    """The paths that can be drawn at all, each once."""
    vertices = sum(len(path.vertices) for _, path in paths)
    if len(paths) > MOST_PATHS or vertices > MOST_VERTICES:
        what = f"The drawing has {len(paths)} entities with {vertices} points"
        mend = (
            f"At most {MOST_PATHS} and {MOST_VERTICES} are read: leave out what does not belong to the part"
        )
        found.flaws.append(Flaw(what, mend))
        return []
    kept, seen = [], set()
    for role, path in paths:
        if not path.is_finite or any(
            abs(figure) > FURTHEST_MM for one in path.vertices for figure in one.point
        ):
            what = "A coordinate is no number, or lies more than 100 m from the origin"
            found.flaws.append(Flaw(what, "Move the part to the origin", path.layer, path.handle))
            continue
        if path.length_mm < SHORTEST_MM:
            found.flaws.append(flaw_of(path, f"The {path.kind} has no length", "Delete it"))
            found.loose.append(path)
            continue
        key = (role, _likeness(path))
        if key in seen:
            found.flaws.append(flaw_of(path, f"The {path.kind} is drawn twice", "Delete one of the two"))
            continue
        seen.add(key)
        kept.append((role, path))
    return kept


def _likeness(path: Path) -> tuple[object, ...]:
    """Equal for paths drawn over one another, whichever way round and wherever a closed one begins."""
    edges = [
        (tuple(sorted((_rounded(edge.start), _rounded(edge.end)))), _rounded(_middle(path, at)))
        for at, edge in enumerate(path.edges)
    ]
    return tuple(sorted(edges))


def _middle(path: Path, at: int) -> Point:
    edge = path.edges[at]
    (x1, y1), (x2, y2) = edge.start, edge.end
    return ((x1 + x2) / 2 + (y2 - y1) * edge.bulge / 2, (y1 + y2) / 2 - (x2 - x1) * edge.bulge / 2)


def _rounded(point: Point) -> Point:
    return (round(point[0], 2) + 0.0, round(point[1], 2) + 0.0)


class _Nodes:
    """Ends of paths as numbered points; ends within `JOIN_MM` are the same point."""

    def __init__(self) -> None:
        self.points: list[Point] = []
        self.cells: defaultdict[tuple[int, int], list[int]] = defaultdict(list)

    def number(self, point: Point) -> int:
        cell = (math.floor(point[0] / JOIN_MM), math.floor(point[1] / JOIN_MM))
        around = [(cell[0] + dx, cell[1] + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
        near = [at for one in around for at in self.cells.get(one, ())]
        best = min(near, key=lambda at: math.dist(self.points[at], point), default=None)
        if best is not None and math.dist(self.points[best], point) <= JOIN_MM:
            return best
        self.points.append(point)
        self.cells[cell].append(len(self.points) - 1)
        return len(self.points) - 1


def _rings(paths: Sequence[Path], flaws: list[Flaw]) -> tuple[list[Ring], list[Path]]:
    """Closed contours in the order of the file, and the paths that make none."""
    nodes = _Nodes()
    ends: dict[int, tuple[int, int]] = {}
    at_node: defaultdict[int, list[int]] = defaultdict(list)
    rings: dict[int, list[Path]] = {}
    for at, path in enumerate(paths):
        if path.is_closed:
            rings[at] = [path]
            continue
        ends[at] = (nodes.number(path.start), nodes.number(path.end))
        for node in ends[at]:
            at_node[node].append(at)
    bad = _bad_nodes(paths, nodes, at_node, flaws)
    loose: list[Path] = []
    for group in _groups(ends, at_node):
        if any(node in bad for at in group for node in ends[at]):
            loose += [paths[at] for at in sorted(group)]
        else:
            rings[min(group)] = _chain(group, paths, ends, at_node)
    return [_ring(rings[at]) for at in sorted(rings)], loose


def _bad_nodes(
    paths: Sequence[Path], nodes: _Nodes, at_node: dict[int, list[int]], flaws: list[Flaw]
) -> set[int]:
    bad = {node for node, touching in at_node.items() if len(touching) != 2}
    open_ends = [node for node in bad if len(at_node[node]) == 1]
    for node in sorted(bad):
        path, point, count = paths[at_node[node][0]], nodes.points[node], len(at_node[node])
        if count == 1:
            others = [math.dist(point, nodes.points[other]) for other in open_ends if other != node]
            nearest = f"the nearest loose end is {min(others):.3f} mm away; " if others else ""
            flaws.append(
                flaw_of(
                    path,
                    "The contour is open here",
                    f"Join the ends: {nearest}ends within 0.05 mm are joined by themselves",
                    point,
                )
            )
        else:
            what = f"{count} lines meet in one point"
            flaws.append(flaw_of(path, what, "Leave two of them: a contour runs on to one line only", point))
    return bad


def _groups(ends: dict[int, tuple[int, int]], at_node: dict[int, list[int]]) -> list[set[int]]:
    """Open paths that hang together by their ends."""
    left, groups = dict.fromkeys(ends), []
    while left:
        first = next(iter(left))
        group, ahead = {first}, [first]
        while ahead:
            at = ahead.pop()
            left.pop(at, None)
            for other in (other for node in ends[at] for other in at_node[node]):
                if other not in group:
                    group.add(other)
                    ahead.append(other)
        groups.append(group)
    return groups


def _chain(
    group: set[int], paths: Sequence[Path], ends: dict[int, tuple[int, int]], at_node: dict[int, list[int]]
) -> list[Path]:
    """The paths of a closed contour one after the other, from the first in the file and the way it runs."""
    at = min(group)
    chain, node = [paths[at]], ends[at][1]
    for _ in range(len(group) - 1):
        one, other = at_node[node]
        at = other if one == at else one
        forwards = ends[at][0] == node
        chain.append(paths[at] if forwards else paths[at].turned_round())
        node = ends[at][1] if forwards else ends[at][0]
    return chain


def _ring(chain: list[Path]) -> Ring:
    if chain[0].is_closed:
        vertices = chain[0].vertices
    else:
        vertices = tuple(vertex for path in chain for vertex in path.vertices[:-1])
    contour = Contour(_without_repeats(vertices))
    return Ring(contour, chain[0], flatten(contour, SAGITTA_MM))


def _without_repeats(vertices: Sequence[Vertex]) -> tuple[Vertex, ...]:
    """Two vertices on one point are one, as where a polyline is closed and ends where it began."""
    following = [*vertices[1:], *vertices[:1]]
    kept = tuple(
        one
        for one, after in zip(vertices, following, strict=True)
        if math.dist(one.point, after.point) >= SHORTEST_MM
    )
    return kept or tuple(vertices)


def _check_rings(found: Sorted) -> None:
    crossed: set[int] = set()
    found.flaws += [*_crossing_themselves(found.rings, crossed), *_crossing_each_other(found.rings, crossed)]
    if not found.rings and not found.flaws:
        mend = "Give a layer that holds the contours the role “cut”"
        found.flaws.append(Flaw("The drawing has nothing to cut", mend))
    depths = _depths(found.rings)
    # What crosses lies neither within nor without; the others are still looked at.
    placed = [(ring, depths[at]) for at, ring in enumerate(found.rings) if at not in crossed]
    outsides = [ring for ring, depth in placed if depth == 0]
    for ring in outsides[1:] if not crossed else ():
        what = f"There are {len(outsides)} outsides beside each other"
        found.flaws.append(flaw_of(ring.path, what, "One drawing is one part: save each part by itself"))
    for ring, depth in placed:
        if depth > 1:
            mend = "It would fall out as a part of its own: save it by itself, or give its layer another role"
            found.flaws.append(flaw_of(ring.path, "An island lies within a hole", mend))
    if not found.flaws:
        holes = [ring.contour for ring, depth in placed if depth == 1]
        found.outline = FlatOutline(outsides[0].contour, tuple(holes))


def _crossing_themselves(rings: Sequence[Ring], crossed: set[int]) -> list[Flaw]:
    """Notes in `crossed` the places of rings that are no sound contour."""
    flaws: list[Flaw] = []
    for _at, ring in enumerate(rings):
        len(flaws)
        if point := self_crossing(ring.points):
            flaws.append(flaw_of(ring.path, "The contour crosses or touches itself", "Trim it there", point))
        elif ring.contour.area_mm2 < SHORTEST_MM:
            flaws.append(
                flaw_of(ring.path, "The contour encloses no area", "Delete it, or draw it as a mark")
            )
    return flaws


def _crossing_each_other(rings: Sequence[Ring], crossed: set[int]) -> list[Flaw]:
    """Notes in `crossed` the places of both rings that cross: the inner one is put right, or the outer."""
    boxes = [box_of(ring.points) for ring in rings]
    flaws = []
    for (at, ring), (to, other) in combinations(enumerate(rings), 2):
        if not _overlap(boxes[at], boxes[to]):
            continue
        if point := touching_point(ring.points, other.points):
            crossed |= {at, to}
            what = f"The contour crosses or touches that of entity {other.path.handle}"
            flaws.append(flaw_of(ring.path, what, "Move them apart or join them to one contour", point))
    return flaws


def _overlap(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    return all(
        one[0][axis] <= other[1][axis] + JOIN_MM and other[0][axis] <= one[1][axis] + JOIN_MM
        for axis in (0, 1)
    )


def _depths(rings: Sequence[Ring]) -> list[int]:
    """How many other contours each lies within; of use for those that cross no other."""
    boxes = [box_of(ring.points) for ring in rings]
    within: Counter[int] = Counter()
    for at, to in ((at, to) for at in range(len(rings)) for to in range(len(rings)) if at != to):
        if _overlap(boxes[at], boxes[to]) and rings[at].contour.area_mm2 < rings[to].contour.area_mm2:
            within[at] += is_inside(rings[at].points[0], rings[to].points)
    return [within[at] for at in range(len(rings))]


def _bends(paths: Sequence[Path], found: Sorted) -> list[Path]:
    kept = []
    for path in paths:
        if path.is_closed or not _is_straight(path):
            found.flaws.append(
                flaw_of(path, "A bend line must be one straight line", "Draw it anew as a line")
            )
            found.loose.append(path)
        elif found.outline and not runs_across(found.outline, line_of(path)):
            found.flaws.append(
                flaw_of(path, "The bend line does not cross the part", "Move it, or ignore its layer")
            )
            found.loose.append(path)
        else:
            kept.append(path)
    return kept


def _is_straight(path: Path) -> bool:
    return path.length_mm - math.dist(path.start, path.end) < SHORTEST_MM
