"""Draws the flat parts: from length, width and hole of a part to the dimensions of its family of shapes."""

from collections.abc import Callable
from functools import lru_cache
from typing import Protocol

from bom.geometry import shapes
from bom.geometry.checks import check_outline
from bom.geometry.drawing import circle, refusal
from bom.geometry.outlines import (
    FlatOutline,
    area_mm2,
    bounding_box,
    cut_length_mm,
    pierces,
    to_text,
    transform,
)
from production.site.demo.recipes import Outline

_LOCATING_HOLE_MM = 5
# Where the hole may lie, as shares of length and width; the first free place is taken.
_PLACES = tuple((x / 20, y / 20) for x in range(3, 18) for y in range(3, 10))


class Drawn(Protocol):
    """What a drawing needs to know of a part. Lengths in mm."""

    @property
    def code(self) -> str: ...
    @property
    def shape(self) -> str: ...
    @property
    def length(self) -> int: ...
    @property
    def width(self) -> int: ...
    @property
    def hole(self) -> float: ...
    @property
    def bends(self) -> int: ...
    @property
    def handed(self) -> bool: ...


def draw(part: Drawn, *, mirrored: bool) -> Outline:
    """The flat shape of a part as it is stored, with its corner at 0, 0; ProblemError if it cannot be cut.

    A part with two hands that is not folded gets a locating hole off its middle line: it tells the hands apart.
    """
    is_marked = part.handed and not part.bends
    outline = _at_corner(_shape(part.shape, part.length, part.width, part.hole, is_marked), mirrored=mirrored)
    left, low, right, high = bounding_box(outline)
    return Outline(
        contours=tuple(to_text(contour) for contour in outline.contours),
        area_mm2=round(area_mm2(outline), 2),
        cut_length_mm=round(cut_length_mm(outline), 1),
        pierces=pierces(outline),
        length_mm=round(right - left, 1),
        width_mm=round(high - low, 1),
        bends=part.bends,
        may_mirror=not part.handed,
    )


@lru_cache(maxsize=1024)
def _shape(family: str, length: float, width: float, hole: float, is_marked: bool) -> FlatOutline:
    """Both hands are one drawing, and drawing means checking, which takes time."""
    outline = _FAMILIES[family](length, width, hole)
    return _with_locating_hole(outline) if is_marked else outline


def _with_locating_hole(outline: FlatOutline) -> FlatOutline:
    left, low, right, high = bounding_box(outline)
    for along, up in _PLACES:
        hole = circle(left + along * (right - left), low + up * (high - low), _LOCATING_HOLE_MM)
        drilled = FlatOutline(outline.outer, (*outline.inners, hole))
        if not check_outline(drilled):
            return drilled
    raise refusal("There is no room for the locating hole")


def _at_corner(outline: FlatOutline, *, mirrored: bool) -> FlatOutline:
    turned = transform(outline, mirrored=mirrored)
    left, low, _, _ = bounding_box(turned)
    return transform(turned, dx_mm=-left, dy_mm=-low)


def _plate(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.rectangular_plate(length, width, 6, hole, 2, 2, length * 0.7, width * 0.58)


def _channel(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.rectangular_plate(length, width, 4, hole, 3, 2, length * 0.32, width * 0.62)


def _gusset(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.gusset(length, width, clip_mm=width / 6, nose_mm=width / 6)


def _hanger(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.hanger_plate(width, length, 2 * hole, 2, 2.4 * hole, hole)


def _arch(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.hanger_plate(width, length, hole, 2, 24, 11)


def _slotted(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.coupling_plate(length, width, 4, 2 * hole, hole, 10)


def _splice(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.tongue_splice(length, width, 6, 2 * hole, hole)


def _doubler(length: float, width: float, hole: float) -> FlatOutline:
    nose = length / 4
    return shapes.drawbar_doubler(length, width, nose, plug_slots=max(1, int((length - 2 * nose) / 52)))


def _post_side(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.winch_post_plate(width, width * 0.65, length, 10, 1 if length < 240 else 2, hole)


def _lamp(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.light_bracket(length, width * 0.68, width * 0.32, length * 0.48, width * 0.36, hole)


def _stay(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.mudguard_stay(length, width, length / 12)


def _clamp(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.axle_clamp_plate(length, width, hole, length * 0.74, width * 0.54, 17)


def _bunk(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.bunk_bracket(length, width * 0.6, width, length * 0.38)


def _fork(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.keel_roller_bracket(length * 0.52, length * 0.24, width, hole, length * 0.13)


def _flange(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.flange_ring(length, hole, 4, (length + hole) / 2, 11)


def _eye(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.tie_down_tab(width, length, hole)


def _arm(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.roller_arm(length - width, hole, 17, (width - hole) / 2)


def _bow(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.bow_stop_cheek(width, length, width * 0.36, hole)


def _window(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.plate_holder(length, width, length * 0.55)


def _spare(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.spare_wheel_plate(length, 5, hole)


def _washer(length: float, width: float, hole: float) -> FlatOutline:
    return shapes.washer_plate(length, hole)


_FAMILIES: dict[str, Callable[[float, float, float], FlatOutline]] = {
    "plate": _plate,
    "channel": _channel,
    "gusset": _gusset,
    "hanger": _hanger,
    "arch": _arch,
    "slotted": _slotted,
    "splice": _splice,
    "doubler": _doubler,
    "post side": _post_side,
    "lamp": _lamp,
    "stay": _stay,
    "clamp": _clamp,
    "bunk": _bunk,
    "fork": _fork,
    "flange": _flange,
    "eye": _eye,
    "arm": _arm,
    "bow": _bow,
    "window": _window,
    "spare": _spare,
    "washer": _washer,
    "cap": shapes.end_cap,
    "saddle": shapes.jockey_clamp_plate,
}
