"""Does the job make sense? Asked before any nesting, so that the answer names the part and the mend."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from shapely.geometry import Polygon
from shapely.validation import explain_validity

from bom.kernel.errors import Problem
from production.cutting.nesting.job import NestSettings, PartShape, Ring, SheetStock

# An offcut's size is kept in tenths of a millimetre.
BOX_MM = 0.11
REDRAW = "Mend the part's drawing and take it in again"


def job_problems(
    parts: Sequence[PartShape], stocks: Sequence[SheetStock], settings: NestSettings
) -> list[Problem]:
    """Everything in the job that cannot be nested as it stands."""
    problems = [problem for part in parts for problem in _part_problems(part)]
    problems += _twice("part", [part.code for part in parts])
    problems += _twice("sheet", [stock.code for stock in stocks])
    problems += [problem for stock in stocks for problem in _stock_problems(stock)]
    problems += _setting_problems(settings)
    return problems


def _part_problems(part: PartShape) -> Iterable[Problem]:
    place = f"part {part.code}"
    if part.quantity < 0:
        yield Problem(f"The quantity is {part.quantity}", place, "Give 0 or more")
    if not part.rotations_deg:
        yield Problem("No rotation is allowed", place, "Allow at least one angle, 0 for as drawn")
    elif not all(math.isfinite(angle) for angle in part.rotations_deg):
        yield Problem("An allowed rotation is not a number", place, "Give angles in degrees")
    fault = _outline_fault(part)
    if fault:
        yield Problem(fault, place, REDRAW)


def _outline_fault(part: PartShape) -> str:
    return _ring_fault((part.outer, *part.holes))


def _ring_fault(rings: tuple[Ring, ...]) -> str:
    for ring in rings:
        if len(set(ring)) < 3:
            return "An outline has fewer than three different points"
        if not all(math.isfinite(x) and math.isfinite(y) for x, y in ring):
            return "An outline has a point that is not a number"
    polygon = Polygon(rings[0], rings[1:])
    if not polygon.is_valid:
        return f"The outline crosses itself or its holes ({explain_validity(polygon)})"
    return "" if polygon.area > 0 else "The outline encloses no area"


def _stock_problems(stock: SheetStock) -> Iterable[Problem]:
    place = f"sheet {stock.code}"
    sizes = (stock.length_mm, stock.width_mm)
    if not all(math.isfinite(size) and size > 0 for size in sizes):
        yield Problem("Length and width must be above 0 mm", place, "Give the sheet's true size")
    if stock.count is not None and stock.count < 0:
        yield Problem(f"The count is {stock.count}", place, "Give 0 or more, or leave it open")
    if stock.outline:
        fault = _stock_outline_fault(stock)
        if fault:
            yield Problem(fault, place, "Measure the offcut again and enter its outline")
    for clamp in stock.clamps:
        figures = (clamp.x_mm, clamp.y_mm, clamp.length_mm, clamp.width_mm)
        if not all(map(math.isfinite, figures)) or min(clamp.length_mm, clamp.width_mm) <= 0:
            yield Problem("A clamp has no size", place, "Give its corner and sides in mm")
    if not (math.isfinite(stock.price) and stock.price >= 0):
        yield Problem(f"The price is {stock.price}", place, "Give 0 or more")


def _stock_outline_fault(stock: SheetStock) -> str:
    fault = _ring_fault((stock.outline, *stock.holes))
    if fault:
        return fault
    box = Polygon(stock.outline).bounds
    sides = (0.0, 0.0, stock.length_mm, stock.width_mm)
    if any(abs(one - other) > BOX_MM for one, other in zip(box, sides, strict=True)):
        return (
            f"The outline's box is {box[0]:g}, {box[1]:g} to {box[2]:g}, {box[3]:g} mm, not the stated size"
        )
    return ""


def _setting_problems(settings: NestSettings) -> Iterable[Problem]:
    place = "nest settings"
    for name, value in (("gap", settings.gap_mm), ("margin", settings.margin_mm)):
        if not (math.isfinite(value) and value >= 0):
            yield Problem(f"The {name} is {value} mm", place, "Give 0 mm or more")
    if not (math.isfinite(settings.seconds) and settings.seconds >= 0):
        yield Problem(f"The time is {settings.seconds} s", place, "Give 0 s or more")
    if settings.workers < 1:
        yield Problem(f"The number of workers is {settings.workers}", place, "Give 1 or more")
    if not 0.0 <= settings.rest_worth <= 1.0:
        yield Problem(f"The worth of a rest is {settings.rest_worth}", place, "Give a share from 0 to 1")
    if not 0.3 <= settings.fill_target <= 1.0:
        yield Problem(f"The fill target is {settings.fill_target}", place, "Give a share from 0.3 to 1")


def _twice(what: str, codes: Sequence[str]) -> Iterable[Problem]:
    for code, count in Counter(codes).items():
        if count > 1:
            yield Problem(f"The {what} is listed {count} times", f"{what} {code}", "List it once")
