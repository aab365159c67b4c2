"""Paths from a DXF file, by ezdxf. Only the reading process imports this module.

Lines, arcs, circles and polylines with bulges stay exact. Splines and ellipses become chords that stray at most
`TOLERANCE_MM`. Blocks are taken apart. What is drawn mirrored (extrusion downwards) is mirrored back.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import ezdxf
from ezdxf.lldxf.const import DXFError

from bom.geometry.dxf.paths import INSUNITS, TOLERANCE_MM, UNITS, Flaw, Path
from bom.geometry.outlines import Vertex

MOST_ENTITIES = 20_000
DEEPEST_BLOCK = 4
# Of the chord's middle alone the library looks; a quarter of the tolerance there keeps the whole chord within it.
CHORD_SHARE = 0.25
FEWEST_CHORDS = 8
DEEPEST_HALVING = 12
# What carries no geometry of the part and may be drawn anywhere.
SILENT = {
    "TEXT",
    "MTEXT",
    "DIMENSION",
    "POINT",
    "LEADER",
    "MULTILEADER",
    "VIEWPORT",
    "ATTDEF",
    "ATTRIB",
    "IMAGE",
}


@dataclass
class Extract:
    """Everything read: paths in mm, entities by layer, the unit and where it came from, flaws."""

    paths: list[Path] = field(default_factory=list)
    layers: Counter[str] = field(default_factory=Counter)
    unit: str = ""
    unit_is_stated: bool = False
    left_out: Counter[str] = field(default_factory=Counter)
    flaws: list[Flaw] = field(default_factory=list)


def extract(path: str, unit_if_unstated: str) -> Extract:
    """Read a file. Whatever is wrong with it becomes a flaw; nothing is raised but for want of memory or time."""
    found = Extract()
    try:
        drawing = ezdxf.readfile(path)
    except MemoryError:
        raise
    except (OSError, DXFError, UnicodeError) as error:
        found.flaws.append(Flaw(f"This is not a DXF that can be read ({_words(error)})", _SAVE_AGAIN))
        return found
    except Exception as error:  # the library meets a broken file with whatever its parser ran into
        found.flaws.append(Flaw(f"The DXF is damaged ({type(error).__name__}: {_words(error)})", _SAVE_AGAIN))
        return found
    scale = _scale(drawing, unit_if_unstated, found)
    if scale:
        for entity in _entities(drawing.modelspace(), found):
            _take(entity, scale, found)
    return found


_SAVE_AGAIN = "Save it again as DXF from your drawing program, and look whether the file is whole"


def _words(error: Exception) -> str:
    return " ".join(str(error).split())[:160]


def _scale(drawing: Any, unit_if_unstated: str, found: Extract) -> float:
    """Length of the drawing's unit in mm; 0 with a flaw where it is not known."""
    try:
        stated = int(drawing.header.get("$INSUNITS", 0) or 0)
    except (TypeError, ValueError):
        stated = 0
    if stated:
        found.unit_is_stated = True
        found.unit = INSUNITS.get(stated, "")
        if not found.unit:
            mend = "Save it in millimetres"
            found.flaws.append(
                Flaw(f"The file states a unit that parts are not drawn in ($INSUNITS {stated})", mend)
            )
    else:
        found.unit = unit_if_unstated
        if not found.unit:
            what = "The file does not say in which unit it is drawn"
            found.flaws.append(Flaw(what, "Choose the unit below and read it again"))
    return UNITS.get(found.unit, 0.0)


def _entities(space: Any, found: Extract) -> Iterator[tuple[Any, str, str]]:
    """Every entity with its handle and layer, blocks taken apart."""
    count = 0
    for entity in space:
        for one, handle, layer in _apart(entity, str(entity.dxf.handle or ""), _layer(entity), 0, found):
            count += 1
            if count > MOST_ENTITIES:
                found.flaws.append(
                    Flaw(f"The drawing has more than {MOST_ENTITIES} entities", "Save the part alone")
                )
                return
            yield one, handle, layer


def _layer(entity: Any) -> str:
    """Damaged entities may have none; they then lie on layer 0, as the format says."""
    return str(entity.dxf.layer) if entity.dxf.hasattr("layer") else "0"


def _apart(
    entity: Any, handle: str, layer: str, depth: int, found: Extract
) -> Iterator[tuple[Any, str, str]]:
    if entity.dxftype() != "INSERT":
        yield entity, handle, layer
        return
    if depth == DEEPEST_BLOCK:
        found.flaws.append(Flaw("A block holds blocks too deep", "Take the blocks apart", layer, handle))
        return
    try:
        for part in _within(entity):
            # What lies on layer 0 of a block takes the layer of where the block is put.
            inner = _layer(part)
            yield from _apart(part, handle, layer if inner == "0" else inner, depth + 1, found)
    except (MemoryError, RecursionError):
        raise
    except Exception as error:
        found.flaws.append(
            Flaw(f"The block cannot be taken apart ({_words(error)})", "Do it yourself", layer, handle)
        )


def _within(block: Any) -> Iterator[Any]:
    """What a block holds where it is put; a block put in rows and columns is put once for each."""
    if block.mcount > MOST_ENTITIES:
        raise ValueError(f"it is put {block.mcount} times")
    for one in block.multi_insert() if block.mcount > 1 else (block,):
        yield from one.virtual_entities()


def _take(one: tuple[Any, str, str], scale: float, found: Extract) -> None:
    entity, handle, layer = one
    kind = str(entity.dxftype())
    found.layers[layer] += 1
    if kind in SILENT:
        found.left_out[kind] += 1
        return
    reader = _READERS.get(kind)
    if reader is None:
        mend = "Draw it with lines, arcs and polylines, or put it on a layer that is ignored"
        found.flaws.append(Flaw(f"A {kind} cannot be cut", mend, layer, handle))
        return
    try:
        vertices, is_closed = reader(entity, scale)
        flaw = _flaw_of_plane(entity) if vertices else "It has no points"
    except MemoryError:
        raise
    except Exception as error:
        flaw, vertices = f"It cannot be read ({_words(error) or type(error).__name__})", []
    if flaw:
        found.flaws.append(Flaw(f"{kind}: {flaw}", "Draw it anew", layer, handle))
        return
    vertices = _mirrored(vertices) if _extrusion_z(entity) < 0 and kind in _IN_OBJECT_PLANE else vertices
    found.paths.append(Path(kind, layer, handle, tuple(vertices), is_closed))


def _extrusion_z(entity: Any) -> float:
    return float(entity.dxf.extrusion.z) if entity.dxf.hasattr("extrusion") else 1.0


def _flaw_of_plane(entity: Any) -> str:
    if entity.dxf.hasattr("extrusion"):
        x, y = entity.dxf.extrusion.x, entity.dxf.extrusion.y
        if math.hypot(x, y) > 1e-9:
            return "It is drawn in another plane than the part"
    return ""


def _mirrored(vertices: list[Vertex]) -> list[Vertex]:
    return [Vertex(-one.x_mm, one.y_mm, -one.bulge) for one in vertices]


_Read = tuple[list[Vertex], bool]


def _line(entity: Any, scale: float) -> _Read:
    start, end = entity.dxf.start, entity.dxf.end
    return [Vertex(start.x * scale, start.y * scale), Vertex(end.x * scale, end.y * scale)], False


def _arc(entity: Any, scale: float) -> _Read:
    centre, radius = entity.dxf.center, abs(entity.dxf.radius)
    begin = math.radians(entity.dxf.start_angle)
    sweep = math.radians(entity.dxf.end_angle - entity.dxf.start_angle) % math.tau or math.tau
    # More than a half circle as two arcs: the bulge of a nearly full one would be huge.
    parts = 1 if sweep <= math.pi + 1e-9 else 2
    bulge = math.tan(sweep / parts / 4)
    angles = [begin + sweep * at / parts for at in range(parts + 1)]
    points = [
        ((centre.x + radius * math.cos(a)) * scale, (centre.y + radius * math.sin(a)) * scale) for a in angles
    ]
    is_full = math.isclose(sweep, math.tau)
    bulges = [bulge] * parts + [0.0]
    vertices = [Vertex(*point, one) for point, one in zip(points, bulges, strict=True)]
    return (vertices[:-1], True) if is_full else (vertices, False)


def _circle(entity: Any, scale: float) -> _Read:
    centre, radius = entity.dxf.center, abs(entity.dxf.radius)
    return [
        Vertex((centre.x - radius) * scale, centre.y * scale, 1.0),
        Vertex((centre.x + radius) * scale, centre.y * scale, 1.0),
    ], True


def _lwpolyline(entity: Any, scale: float) -> _Read:
    points = entity.get_points("xyb")
    return [Vertex(x * scale, y * scale, bulge) for x, y, bulge in points], bool(entity.closed)


def _polyline(entity: Any, scale: float) -> _Read:
    if not entity.is_2d_polyline and not entity.is_3d_polyline:
        raise ValueError("it is a mesh")
    if entity.is_3d_polyline and len({round(vertex.dxf.location.z, 6) for vertex in entity.vertices}) > 1:
        raise ValueError("it leaves the plane of the part")
    vertices = [
        Vertex(
            vertex.dxf.location.x * scale,
            vertex.dxf.location.y * scale,
            vertex.dxf.bulge if entity.is_2d_polyline else 0.0,
        )
        for vertex in entity.vertices
        # Control points of a smoothed polyline are not on it.
        if not int(vertex.dxf.flags) & 16
    ]
    return vertices, bool(entity.is_closed)


def _ellipse(entity: Any, scale: float) -> _Read:
    points = list(entity.flattening(TOLERANCE_MM * CHORD_SHARE / scale, FEWEST_CHORDS))
    return _closed_up(points, scale)


def _spline(entity: Any, scale: float) -> _Read:
    """Chords over the part of the knots where the curve is defined; what an unclamped spline has outside of it is no
    part of the curve."""
    curve = entity.construction_tool()
    knots, count, order = list(curve.knots()), curve.count, curve.order
    inside = sorted({knot for knot in knots if knots[order - 1] <= knot <= knots[count]})
    points = [curve.point(inside[0])]
    for begin, end in pairwise(inside):
        for at in range(FEWEST_CHORDS):
            low, high = (begin + (end - begin) * (at + step) / FEWEST_CHORDS for step in (0, 1))
            _flatten(curve, (low, points[-1]), (high, curve.point(high)), TOLERANCE_MM / scale, points)
    if max(abs(point.z) for point in points) * scale > 1e-3:
        raise ValueError("it leaves the plane of the part")
    return _closed_up(points, scale)


_Placed = tuple[float, Any]


def _flatten(
    curve: Any, begin: _Placed, end: _Placed, tolerance: float, points: list[Any], depth: int = 0
) -> None:
    """Add the chord to `end`, halved until the curve strays from it at most half the tolerance at three places."""
    (low, start), (high, goal) = begin, end
    between = [curve.point(low + (high - low) * share) for share in (0.25, 0.5, 0.75)]
    if depth == DEEPEST_HALVING or all(_off(point, start, goal) <= tolerance / 2 for point in between):
        points.append(goal)
        return
    middle = ((low + high) / 2, between[1])
    _flatten(curve, begin, middle, tolerance, points, depth + 1)
    _flatten(curve, middle, end, tolerance, points, depth + 1)


def _off(point: Any, start: Any, end: Any) -> float:
    """Distance of a point from a chord."""
    chord = end - start
    square = chord.dot(chord)
    along = (point - start).dot(chord) / square if square else 0.0
    return float(point.distance(start + chord * min(1.0, max(0.0, along))))


def _closed_up(points: list[Any], scale: float) -> _Read:
    is_closed = len(points) > 2 and points[0].isclose(points[-1], abs_tol=1e-6)
    kept = points[:-1] if is_closed else points
    return [Vertex(point.x * scale, point.y * scale) for point in kept], is_closed


_IN_OBJECT_PLANE = {"ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE"}
_READERS = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
    "ELLIPSE": _ellipse,
}
