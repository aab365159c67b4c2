"""A sheet with its parts as a drawing: plain data in, plain data out, millimetres; the template draws it.

A placement turns the part about its own origin (after mirroring, where asked) and then moves it; the sheet's lower left
corner is the origin and y goes up. SVG's y goes down, so the parts hang in one mirrored group, and texts stand
outside of it at points worked out here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from bom.geometry.outlines import Point, from_text, svg_path

# Letters are about 0.62 of their height wide in the system fonts; from memory, only used to choose a size.
LETTER_WIDTH = 0.62
# The smallest text that can still be read at two metres when a 3 m sheet is drawn 900 pixels wide (from memory).
SMALLEST_TEXT_MM = 34.0
LARGEST_TEXT_MM = 64.0
EDGE_MM = 110.0


@dataclass(frozen=True)
class Shape:
    """The outline of a part: an SVG path (holes included, even-odd) and the corner points of its outside."""

    path: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Placed:
    """One part on the sheet as the database holds it, with what to call it."""

    id: int
    part_id: int
    code: str
    mark: int
    order: str
    state: str
    x_mm: float
    y_mm: float
    rotation_deg: float
    mirrored: bool


@dataclass(frozen=True)
class Text:
    """A line of text centred on a point of the drawing, y down."""

    x: float
    y: float
    size: float
    words: str


@dataclass(frozen=True)
class DrawnPart:
    """One part ready to be drawn."""

    id: int
    mark: int
    path: str
    transform: str
    state: str
    title: str
    texts: tuple[Text, ...]


@dataclass(frozen=True)
class Drawing:
    """A whole sheet ready to be drawn; `view_box` leaves room for the dimensions.

    `outline` is the path of an offcut that is no rectangle, y up; clamps are x, y, length and width.
    """

    length_mm: float
    width_mm: float
    margin_mm: float
    used_mm: float
    view_box: str
    parts: tuple[DrawnPart, ...]
    bar_mm: float
    outline: str = ""
    clamps: tuple[tuple[float, float, float, float], ...] = ()

    @property
    def inner_length_mm(self) -> float:
        return self.length_mm - 2 * self.margin_mm

    @property
    def inner_width_mm(self) -> float:
        return self.width_mm - 2 * self.margin_mm

    @property
    def shows_rest(self) -> bool:
        """Whether enough of the sheet is left to be worth drawing as an offcut."""
        return not self.outline and self.length_mm - self.used_mm >= 100

    @property
    def rest_mm(self) -> float:
        return self.length_mm - self.used_mm


def shape_of(contours: Sequence[str]) -> Shape:
    """The shape of a part from its contours as text (see `bom.geometry.outlines`), the outside first.

    Raises:
        ProblemError: a contour cannot be read.
    """
    read = [from_text(text) for text in contours]
    corners = tuple(point for edge in read[0].edges for point in edge.corners())
    return Shape(" ".join(svg_path(contour) for contour in read), corners)


def draw_sheet(
    *,
    length_mm: float,
    width_mm: float,
    margin_mm: float,
    used_mm: float,
    shapes: Mapping[int, Shape],
    placed: Sequence[Placed],
    outline: Sequence[Point] = (),
    holes: Sequence[Sequence[Point]] = (),
    clamps: Sequence[tuple[float, float, float, float]] = (),
) -> Drawing:
    """The drawing of a sheet. `shapes` holds the outline of every part by its id; an offcut brings its own outline and
    holes.

    Raises:
        KeyError: a placed part has no shape.
    """
    return Drawing(
        length_mm=length_mm,
        width_mm=width_mm,
        margin_mm=margin_mm,
        used_mm=used_mm,
        view_box=f"{-EDGE_MM:g} {-EDGE_MM:g} {length_mm + 2 * EDGE_MM:g} {width_mm + 2 * EDGE_MM + 40:g}",
        parts=tuple(_draw_part(one, shapes[one.part_id], width_mm) for one in placed),
        bar_mm=500.0 if length_mm >= 1000 else 100.0,
        outline="".join(_ring_path(ring) for ring in (outline, *holes)),
        clamps=tuple(clamps),
    )


def _ring_path(ring: Sequence[Point]) -> str:
    path = "".join(f"{'L' if at else 'M'}{x:.1f} {y:.1f}" for at, (x, y) in enumerate(ring))
    return f"{path}Z" if path else ""


def place_point(point: Point, one: Placed) -> Point:
    """Where a point of the part lies on the sheet: mirrored, turned counter-clockwise, moved."""
    x, y = (-point[0], point[1]) if one.mirrored else point
    angle = radians(one.rotation_deg)
    return (x * cos(angle) - y * sin(angle) + one.x_mm, x * sin(angle) + y * cos(angle) + one.y_mm)


def _draw_part(one: Placed, shape: Shape, width_mm: float) -> DrawnPart:
    mirror = " scale(-1 1)" if one.mirrored else ""
    corners = [place_point(point, one) for point in shape.points]
    return DrawnPart(
        id=one.id,
        mark=one.mark,
        path=shape.path,
        transform=f"translate({one.x_mm:.3f} {one.y_mm:.3f}) rotate({one.rotation_deg:.3f}){mirror}",
        state=one.state,
        title=f"{one.mark}: {one.code}, {f'order {one.order}' if one.order else 'for the rack'}",
        texts=_texts(one, corners, width_mm),
    )


def _texts(one: Placed, corners: Sequence[Point], width_mm: float) -> tuple[Text, ...]:
    """Code over order where they fit, else the mark alone, else nothing: the list beside it names every mark."""
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    low, high = min(y for _, y in corners), max(y for _, y in corners)
    across, up = (left + right) / 2, width_mm - (low + high) / 2
    room, height = (right - left) * 0.9, (high - low) * 0.9
    lines = [f"{one.mark} · {one.code}", one.order] if one.order else [f"{one.mark} · {one.code}"]
    size = _fitting(lines, room, height)
    if size < SMALLEST_TEXT_MM:
        lines = [str(one.mark)]
        size = _fitting(lines, room, height)
    if size < SMALLEST_TEXT_MM / 2:
        return ()
    top = up - (len(lines) - 1) * size * 0.6 + size * 0.35
    return tuple(Text(across, top + index * size * 1.2, size, line) for index, line in enumerate(lines))


def _fitting(lines: Sequence[str], room: float, height: float) -> float:
    widest = max(len(line) for line in lines)
    return min(LARGEST_TEXT_MM, room / (widest * LETTER_WIDTH), height / (len(lines) * 1.2))
