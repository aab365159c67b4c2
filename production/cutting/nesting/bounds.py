"""What no layout can beat: parts with half the gap around them, holes left open, against the room of sheets."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from production.cutting.nesting.job import NestSettings, SheetStock
from production.cutting.nesting.shapes import Shape


def bound_equivalents(
    shapes: Mapping[str, Shape],
    wanted: Mapping[str, int],
    stocks: Sequence[SheetStock],
    settings: NestSettings,
) -> float:
    """Sheets of the largest size that every layout needs at the least, the last counted to its used length.

    Parts keep the gap, so that outlines grown by half of it do not overlap; they lie inside the margins, themselves
    grown by half a gap. And the last sheet is at least as long as its longest part, laid the shortest way.
    """
    if not stocks or not any(wanted.values()):
        return 0.0
    largest = max(stocks, key=lambda stock: stock.length_mm * stock.width_mm)
    gap, margin = settings.gap_mm, settings.margin_mm
    length = max(largest.length_mm - 2 * margin + gap, 1.0)
    width = max(largest.width_mm - 2 * margin + gap, 1.0)
    area = sum(grown_mm2(shapes[code], gap) * count for code, count in wanted.items() if count > 0)
    full = max(0, math.ceil(area / (length * width)) - 1)
    used = (area - full * length * width) / width + margin - gap
    if full == 0:
        lying = (
            min(laid.width_mm for laid in shapes[code].laid) for code, count in wanted.items() if count > 0
        )
        used = max(used, margin + max(lying))
    return full + max(0.0, used) / largest.length_mm


def grown_mm2(shape: Shape, gap_mm: float) -> float:
    """Area of the part grown by half the gap, never more than it truly is: the corners' arcs are cut by chords."""
    return float(shape.polygon.buffer(gap_mm / 2).area) if gap_mm > 0 else shape.area_mm2
