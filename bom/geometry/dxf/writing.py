"""Flat parts as DXF text, without a library: plain entities of the oldest ASCII form, which every laser reads.

Round holes are written as circles, everything else as polylines with bulges, so that arcs stay exact. Millimetres,
stated in the header. Layers: CUT, MARK, BEND.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bom.geometry.outlines import Contour, FlatOutline, Vertex
from bom.geometry.strips import Line

CUT_LAYER, MARK_LAYER, BEND_LAYER = "CUT", "MARK", "BEND"
# Colour numbers of the format: white, green, red.
_COLOURS = {CUT_LAYER: 7, MARK_LAYER: 3, BEND_LAYER: 1}
_MILLIMETRES = 4

Open = tuple[tuple[Vertex, ...], bool]


def dxf_text(outline: FlatOutline, *, bends: Sequence[Line] = (), marks: Sequence[Open] = ()) -> str:
    """One part as a whole file. `marks` are rows of vertices, each with whether it is closed."""
    entities = [
        *(line for contour in outline.contours for line in _contour(contour)),
        *(line for vertices, is_closed in marks for line in _polyline(MARK_LAYER, vertices, is_closed)),
        *(line for bend in bends for line in _line(BEND_LAYER, bend)),
    ]
    return _text(
        [*_header(), *_tables(), "0", "SECTION", "2", "ENTITIES", *entities, "0", "ENDSEC", "0", "EOF"]
    )


def _header() -> Iterator[str]:
    yield from ("0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", "AC1009")
    yield from ("9", "$INSUNITS", "70", str(_MILLIMETRES), "9", "$MEASUREMENT", "70", "1", "0", "ENDSEC")


def _tables() -> Iterator[str]:
    yield from ("0", "SECTION", "2", "TABLES", "0", "TABLE", "2", "LAYER", "70", str(len(_COLOURS)))
    for name, colour in _COLOURS.items():
        yield from ("0", "LAYER", "2", name, "70", "0", "62", str(colour), "6", "CONTINUOUS")
    yield from ("0", "ENDTAB", "0", "ENDSEC")


def _contour(contour: Contour) -> Iterator[str]:
    circle = _circle(contour)
    if circle is None:
        yield from _polyline(CUT_LAYER, contour.vertices, True)
        return
    x, y, radius = circle
    yield from ("0", "CIRCLE", "8", CUT_LAYER, "10", _figure(x), "20", _figure(y), "40", _figure(radius))


def _circle(contour: Contour) -> tuple[float, float, float] | None:
    """Centre and radius of two half circles that begin at the left, as a circle is read back."""
    if len(contour.vertices) != 2 or any(vertex.bulge != 1.0 for vertex in contour.vertices):
        return None
    left, right = contour.vertices
    if left.y_mm != right.y_mm or left.x_mm >= right.x_mm:
        return None
    return ((left.x_mm + right.x_mm) / 2, left.y_mm, (right.x_mm - left.x_mm) / 2)


def _polyline(layer: str, vertices: Sequence[Vertex], is_closed: bool) -> Iterator[str]:
    yield from ("0", "POLYLINE", "8", layer, "66", "1", "70", str(int(is_closed)))
    for vertex in vertices:
        yield from ("0", "VERTEX", "8", layer, "10", _figure(vertex.x_mm), "20", _figure(vertex.y_mm))
        if vertex.bulge:
            yield from ("42", _figure(vertex.bulge))
    yield from ("0", "SEQEND", "8", layer)


def _line(layer: str, line: Line) -> Iterator[str]:
    (x1, y1), (x2, y2) = line.start, line.end
    yield from ("0", "LINE", "8", layer, "10", _figure(x1), "20", _figure(y1))
    yield from ("11", _figure(x2), "21", _figure(y2))


def _figure(value: float) -> str:
    """The shortest decimal that stands for the same number, so that nothing is lost on the way."""
    return f"{value:.17f}".rstrip("0").rstrip(".") if abs(value) < 1e-4 and value else repr(float(value))


def _text(lines: Sequence[str]) -> str:
    return "\r\n".join(lines) + "\r\n"
