"""Sketches of a part in SVG: plain data for the templates. Everything in mm, y down as SVG counts. No Django."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bom.geometry.bending import BendFigures
from bom.geometry.outlines import Contour, FlatOutline, Point, bounding_box, centroid, svg_path
from bom.geometry.strips import Line, SideView

# Shares of the larger side of a drawing: margin for dimensions, text height.
MARGIN, TEXT = 0.16, 0.042
NARROWEST = 0.28


@dataclass(frozen=True)
class Label:
    """Words about a point of the sketch."""

    x: float
    y: float
    words: str
    anchor: str = "middle"


@dataclass(frozen=True)
class Sketch:
    """Lines and labels. `outline` is filled, `bends` are dash-dotted, `dimensions` thin; y is already down."""

    view_box: str
    text_mm: float
    outline: str
    bends: tuple[str, ...]
    dimensions: str
    labels: tuple[Label, ...]
    middles: tuple[Point, ...] = ()
    marked: tuple[str, ...] = ()
    thickness_mm: float = 0.0

    @property
    def core_mm(self) -> float:
        """What is left of the sheet's thickness between its two drawn edges."""
        return max(self.thickness_mm - self.text_mm / 6, self.thickness_mm / 3)

    @property
    def ring_mm(self) -> float:
        return self.text_mm * 0.35

    @property
    def cross(self) -> str:
        reach = self.text_mm * 0.7
        return f"M{-reach:.2f} 0H{reach:.2f}M0 {-reach:.2f}V{reach:.2f}"


def flat_sketch(
    outline: FlatOutline, lines: Sequence[Line], directions: Sequence[str], marked: Sequence[str] = ()
) -> Sketch:
    """The flat part with its bend lines, overall dimensions and centre of gravity; `marked` are SVG paths, y up."""
    left, low, right, high = bounding_box(outline)
    size = max(right - left, high - low)
    text, room = size * TEXT, size * MARGIN
    path = " ".join(svg_path(contour) for contour in outline.contours)
    labels = [
        Label((left + right) / 2, room * 0.62 - low, f"{right - left:g}"),
        Label(left - room * 0.2, -(low + high) / 2, f"{high - low:g}", "end"),
        *_bend_labels(lines, directions, text),
    ]
    dimensions = (
        f"M{left:g} {room * 0.75 - low:g}H{right:g}m0 {-text / 3:g}v{text * 2 / 3:g}"
        f"M{left:g} {room * 0.75 - low - text / 3:g}v{text * 2 / 3:g}"
        f"M{left - room * 0.12:g} {-low:g}V{-high:g}m{-text / 3:g} 0h{text * 2 / 3:g}"
        f"M{left - room * 0.12 - text / 3:g} {-low:g}h{text * 2 / 3:g}"
    )
    x, y = centroid(outline)
    beyond = room * 0.75 if lines else room * 0.35
    box = (left - room, -high - beyond, right - left + room + beyond, high - low + room + beyond)
    return Sketch(
        view_box=_view_box(box, size),
        text_mm=text,
        outline=path,
        bends=tuple(_line_path(line, room * 0.25) for line in lines),
        dimensions=dimensions,
        labels=tuple(labels),
        middles=((x, -y),),
        marked=tuple(marked),
    )


def open_path(contour: Contour) -> str:
    """The contour as an SVG path without the edge that would close it."""
    parts = svg_path(contour).removesuffix("Z")
    last = max(parts.rfind("L"), parts.rfind("A"))
    return parts[:last] if last > 0 else parts


def folded_sketch(view: SideView, bends: Sequence[BendFigures], legs_mm: Sequence[float]) -> Sketch:
    """The folded part from its edge, each outside leg with its length, each bend with its angle."""
    left, low, right, high = view.box
    size = max(right - left, high - low)
    text, room = size * TEXT, size * (MARGIN + 0.04)
    labels = [
        _beside_leg(view.corners[2 * at], view.corners[2 * at + 1], f"{leg:.1f}", bends[0].thickness_mm, text)
        for at, leg in enumerate(legs_mm)
    ]
    for at, figures in enumerate(bends):
        x, y = view.corners[2 * at + 2]
        before = view.corners[2 * at + 1]
        middle = ((x + before[0]) / 2, (y + before[1]) / 2)
        away = text * 1.2 + bends[0].thickness_mm / 2
        labels.append(_away(middle, _middle(view.box), f"{figures.angle_deg:g}°", away, text))
    box = (left - room, -high - room, right - left + 2 * room, high - low + 2 * room)
    return Sketch(
        view_box=_view_box(box, size),
        text_mm=text,
        outline=view.path,
        bends=(),
        dimensions="",
        labels=tuple(labels),
        thickness_mm=bends[0].thickness_mm,
    )


def _beside_leg(start: Point, end: Point, words: str, thickness: float, text: float) -> Label:
    """To the right of the leg as it runs, which is outside where the bends go up."""
    length = math.dist(start, end) or 1.0
    out_x, out_y = (end[1] - start[1]) / length, -(end[0] - start[0]) / length
    away = thickness / 2 + text * 0.9
    x, y = (start[0] + end[0]) / 2 + out_x * away, (start[1] + end[1]) / 2 + out_y * away
    anchor = "middle" if abs(out_x) < 0.5 else "start" if out_x > 0 else "end"
    return Label(x, -y + text * 0.35, words, anchor)


def _away(point: Point, middle: Point, words: str, away: float, text: float) -> Label:
    """Further from the middle of the sketch than the point."""
    length = math.dist(point, middle) or 1.0
    x = point[0] + (point[0] - middle[0]) / length * away
    y = point[1] + (point[1] - middle[1]) / length * away
    return Label(x, -y + text * 0.35, words, "start" if point[0] > middle[0] else "end")


def _middle(box: tuple[float, float, float, float]) -> Point:
    return ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def _bend_labels(lines: Sequence[Line], directions: Sequence[str], text: float) -> list[Label]:
    found = []
    for at, (line, direction) in enumerate(zip(lines, directions, strict=True), 1):
        x, y = max(line.start, line.end, key=lambda point: (point[1], point[0]))
        ux, uy = line.direction
        steep = abs(uy) > abs(ux)
        place = (x, -y - text * 1.5) if steep else (x + text * 1.6, -y + text * 0.35)
        found.append(Label(*place, f"{at} {direction}", "middle" if steep else "start"))
    return found


def _line_path(line: Line, beyond: float) -> str:
    (x1, y1), (x2, y2), (ux, uy) = line.start, line.end, line.direction
    return (
        f"M{x1 - ux * beyond:.2f} {-(y1 - uy * beyond):.2f}L{x2 + ux * beyond:.2f} {-(y2 + uy * beyond):.2f}"
    )


def _view_box(box: tuple[float, float, float, float], size: float) -> str:
    """The box, made no flatter than the page can show with readable text."""
    x, y, width, height = box
    least = NARROWEST * size
    if height < least:
        y, height = y - (least - height) / 2, least
    if width < least:
        x, width = x - (least - width) / 2, least
    return f"{x:.1f} {y:.1f} {width:.1f} {height:.1f}"
