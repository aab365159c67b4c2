"""What a drawing file holds, as plain data in mm: paths, what each is for, and what is wrong. No Django, no library."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bom.geometry.outlines import Edge, Point, Vertex

CUT, MARK, BEND, IGNORE = "cut", "mark", "bend", "ignore"
ROLES = {CUT: "cut", MARK: "mark", BEND: "bend line", IGNORE: "ignore"}

# Units by the number that the header's $INSUNITS gives them, and their length in mm.
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4}
INSUNITS = {1: "inch", 4: "mm", 5: "cm", 6: "m"}

TOLERANCE_MM = 0.02
"""How far a chord may stray from a spline or an ellipse."""

CURVES = ("SPLINE", "ELLIPSE")
"""Entities that become chords."""


@dataclass(frozen=True)
class Path:
    """One entity: its vertices and, by their bulges, edges. The last vertex has no edge unless the path is closed."""

    kind: str
    layer: str
    handle: str
    vertices: tuple[Vertex, ...]
    is_closed: bool = False

    @property
    def edges(self) -> tuple[Edge, ...]:
        following = (*self.vertices[1:], *(self.vertices[:1] if self.is_closed else ()))
        return tuple(
            Edge(one.point, other.point, one.bulge)
            for one, other in zip(self.vertices, following, strict=False)
        )

    @property
    def length_mm(self) -> float:
        return sum(edge.length_mm for edge in self.edges)

    @property
    def start(self) -> Point:
        return self.vertices[0].point

    @property
    def end(self) -> Point:
        return self.vertices[-1].point

    @property
    def is_finite(self) -> bool:
        figures = (figure for one in self.vertices for figure in (one.x_mm, one.y_mm, one.bulge))
        return all(math.isfinite(figure) for figure in figures)

    def turned_round(self) -> Path:
        """The same path from its end to its start."""
        bulges = [-one.bulge for one in self.vertices]
        leaving = [*bulges[-2::-1], bulges[-1] if self.is_closed else 0.0]
        points = [one.point for one in reversed(self.vertices)]
        vertices = tuple(Vertex(*point, bulge) for point, bulge in zip(points, leaving, strict=True))
        return replace(self, vertices=vertices)


@dataclass(frozen=True)
class Flaw:
    """Something wrong in the file, with its place: layer, handle and, where there is one, the point in mm."""

    what: str
    mend: str
    layer: str = ""
    handle: str = ""
    at: Point | None = None

    @property
    def where(self) -> str:
        parts = [
            f"layer {self.layer}" if self.layer else "",
            f"entity {self.handle}" if self.handle else "",
            f"at {self.at[0]:.3f}, {self.at[1]:.3f} mm" if self.at else "",
        ]
        return ", ".join(part for part in parts if part)


def flaw_of(path: Path, what: str, mend: str, at: Point | None = None) -> Flaw:
    """A flaw of a path, at its start unless another point is named."""
    return Flaw(what, mend, path.layer, path.handle, at or path.start)


def role_of(layer: str, rules: dict[str, str]) -> str | None:
    """What a layer is for: the rule of just that name, else the longest that ends in * and begins alike. Capital and
    small letters are the same, as in the format. None where no rule speaks of it."""
    name = layer.casefold()
    if name in rules:
        return rules[name]
    begun = [rule for rule in rules if rule.endswith("*") and name.startswith(rule[:-1])]
    return rules[max(begun, key=len)] if begun else None
