"""Where parts may lie on a sheet that is no plain rectangle: an offcut with steps and holes, a sheet with clamps."""

from __future__ import annotations

import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from production.cutting.nesting.job import SheetStock
from production.cutting.nesting.raster import ARC_REACH, ARC_SEGMENTS


def sheet_mm2(stock: SheetStock) -> float:
    """Area of the sheet as it lies, its holes taken out."""
    if not stock.outline:
        return stock.length_mm * stock.width_mm
    return float(Polygon(stock.outline, stock.holes).area)


def room_of(stock: SheetStock, margin_mm: float) -> BaseGeometry | None:
    """Where parts may lie: the margin inside the true outline, off its holes and the clamps; None for a plain sheet.

    Never more than the true room: corners' arcs are taken larger by what their chords cut off.
    """
    if not stock.outline and not stock.clamps:
        return None
    if stock.outline:
        away = margin_mm * ARC_REACH + 1e-3 if margin_mm > 0 else 0.0
        room = Polygon(stock.outline, stock.holes).buffer(-away, quad_segs=ARC_SEGMENTS)
    else:
        room = box(margin_mm, margin_mm, stock.length_mm - margin_mm, stock.width_mm - margin_mm)
    for clamp in stock.clamps:
        room = room.difference(
            box(clamp.x_mm, clamp.y_mm, clamp.x_mm + clamp.length_mm, clamp.y_mm + clamp.width_mm)
        )
    return room


def blocked_of(stock: SheetStock, room: BaseGeometry) -> list[Polygon]:
    """What of the sheet's box is not room, in pieces."""
    rest = box(-1.0, -1.0, stock.length_mm + 1.0, stock.width_mm + 1.0).difference(room)
    pieces = rest.geoms if isinstance(rest, MultiPolygon) else [rest]
    return [piece for piece in pieces if isinstance(piece, Polygon) and not piece.is_empty]


def out_of_room(polygons: list[Polygon], room: BaseGeometry, slack_mm: float) -> set[int]:
    """Indices of the polygons that do not lie in the room, to within the slack."""
    wide = room.buffer(slack_mm)
    shapely.prepare(wide)
    return {index for index, polygon in enumerate(polygons) if not wide.covers(polygon)}
