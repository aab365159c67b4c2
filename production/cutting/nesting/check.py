"""Is a nest right? An independent checker: it shares only the data of `job` with the solver.

Every outline is placed afresh from the placement's own numbers and measured exactly.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from bom.kernel.errors import Problem
from production.cutting.nesting.job import (
    NestedSheet,
    NestResult,
    NestSettings,
    PartShape,
    Placement,
    Ring,
    SheetStock,
)

TOLERANCE_MM = 1e-3
TOLERANCE_DEG = 1e-6
AGAIN = "Nest the parts again; if it happens twice, keep the job's files and report it."


def check_nest(
    parts: Sequence[PartShape],
    stocks: Sequence[SheetStock],
    settings: NestSettings,
    result: NestResult,
) -> list[Problem]:
    """Every way in which the result breaks the job; an empty list means that it may be cut.

    Checked: sheets exist and are not more than there are; every part is placed or listed as unplaced
    exactly as often as wanted; only allowed rotations and mirrorings; margins kept; gaps kept between
    outlines and holes; used length and use stated truly.
    """
    known = {part.code: part for part in parts}
    problems = [*_sheet_problems(stocks, result.sheets)]
    problems += _stranger_problems(known, result)
    if problems:
        return problems
    problems += _quantity_problems(known, result)
    problems += _turn_problems(known, result.placements)
    by_code = {stock.code: stock for stock in stocks}
    seen: set[tuple[object, ...]] = set()
    for sheet, placements in _by_sheet(result):
        # Sheets of one stock that carry the very same placements are measured once.
        spots = [replace(placement, sheet=0) for placement in placements]
        same = (sheet.stock_code, sheet.used_length_mm, sheet.use, *spots)
        if same in seen:
            continue
        seen.add(same)
        polygons = [_outline(known[placement.part], placement) for placement in placements]
        stock = by_code[sheet.stock_code]
        problems += _margin_problems(sheet, stock, placements, polygons, settings.margin_mm)
        problems += _clamp_problems(sheet, stock, placements, polygons)
        problems += _gap_problems(sheet, placements, polygons, settings.gap_mm)
        problems += _figure_problems(sheet, stock, polygons)
    return problems


def _by_sheet(result: NestResult) -> Iterable[tuple[NestedSheet, list[Placement]]]:
    groups: dict[int, list[Placement]] = defaultdict(list)
    for placement in result.placements:
        groups[placement.sheet].append(placement)
    return [(sheet, groups[sheet.number]) for sheet in result.sheets]


def _outline(part: PartShape, placement: Placement) -> Polygon:
    """The part's outline and holes where the placement puts them."""
    angle = math.radians(placement.rotation_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    side = -1.0 if placement.mirrored else 1.0

    def moved(ring: Ring) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        x, y = np.asarray(ring, dtype=float).T
        x = x * side
        return np.column_stack([x * cos - y * sin + placement.x_mm, x * sin + y * cos + placement.y_mm])

    return Polygon(moved(part.outer), [moved(hole) for hole in part.holes])


def _sheet_problems(stocks: Sequence[SheetStock], sheets: Sequence[NestedSheet]) -> Iterable[Problem]:
    by_code = {stock.code: stock for stock in stocks}
    if [sheet.number for sheet in sheets] != list(range(1, len(sheets) + 1)):
        yield Problem("The sheets of the nest are not numbered 1, 2, 3 …", "nest", AGAIN)
    for sheet in sheets:
        stock = by_code.get(sheet.stock_code)
        if stock is None or (stock.length_mm, stock.width_mm) != (sheet.length_mm, sheet.width_mm):
            yield Problem(f"There is no such sheet as {sheet.stock_code}", _place(sheet), AGAIN)
    for code, used in Counter(sheet.stock_code for sheet in sheets).items():
        count = by_code[code].count if code in by_code else None
        if count is not None and used > count:
            yield Problem(f"The nest takes {used} sheets of {code} but there are {count}", "nest", AGAIN)


def _stranger_problems(known: Mapping[str, PartShape], result: NestResult) -> Iterable[Problem]:
    codes = {placement.part for placement in result.placements} | {left.code for left in result.unplaced}
    for code in sorted(codes - known.keys()):
        yield Problem(f"Part {code} is in the nest but not in the job", "nest", AGAIN)
    numbers = {sheet.number for sheet in result.sheets}
    for number in sorted({placement.sheet for placement in result.placements} - numbers):
        yield Problem(f"Parts lie on sheet {number}, which the nest does not have", "nest", AGAIN)


def _quantity_problems(known: Mapping[str, PartShape], result: NestResult) -> Iterable[Problem]:
    placed = Counter(placement.part for placement in result.placements)
    left: Counter[str] = Counter()
    for unplaced in result.unplaced:
        left[unplaced.code] += unplaced.quantity
        if unplaced.quantity < 1 or not unplaced.reason.strip():
            yield Problem(
                f"Part {unplaced.code} is listed as left over without number or reason", "nest", AGAIN
            )
    for code, part in known.items():
        if placed[code] + left[code] != part.quantity:
            what = f"Part {code}: {part.quantity} wanted, {placed[code]} placed, {left[code]} left over"
            yield Problem(what, "nest", AGAIN)


def _turn_problems(known: Mapping[str, PartShape], placements: Sequence[Placement]) -> Iterable[Problem]:
    for placement in placements:
        part = known[placement.part]
        if not any(_same_angle(placement.rotation_deg, allowed) for allowed in part.rotations_deg):
            what = f"Part {part.code} is turned by {placement.rotation_deg:g}°, which is not allowed for it"
            yield Problem(what, f"sheet {placement.sheet}", AGAIN)
        if placement.mirrored and not part.may_mirror:
            what = f"Part {part.code} is mirrored, which is not allowed for it"
            yield Problem(what, f"sheet {placement.sheet}", AGAIN)


def _same_angle(one: float, other: float) -> bool:
    return abs((one - other + 180.0) % 360.0 - 180.0) <= TOLERANCE_DEG


def _margin_problems(
    sheet: NestedSheet,
    stock: SheetStock,
    placements: Sequence[Placement],
    polygons: Sequence[Polygon],
    margin_mm: float,
) -> Iterable[Problem]:
    length, width = stock.length_mm, stock.width_mm
    outline = stock.outline or ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    metal = Polygon(outline, stock.holes)
    wide = metal.buffer(TOLERANCE_MM)
    shapely.prepare(wide)
    for placement, polygon in zip(placements, polygons, strict=True):
        edge = float(metal.boundary.distance(polygon))
        if not wide.covers(polygon):
            yield Problem(f"Part {placement.part} lies off the sheet's metal", _place(sheet), AGAIN)
        elif edge < margin_mm - TOLERANCE_MM:
            what = f"Part {placement.part} comes within {edge:.3f} mm of the sheet's edge"
            yield Problem(f"{what}, {margin_mm:g} are wanted", _place(sheet), AGAIN)


def _clamp_problems(
    sheet: NestedSheet, stock: SheetStock, placements: Sequence[Placement], polygons: Sequence[Polygon]
) -> Iterable[Problem]:
    for clamp in stock.clamps:
        x, y = clamp.x_mm, clamp.y_mm
        held = shapely.box(x, y, x + clamp.length_mm, y + clamp.width_mm)
        for placement, polygon in zip(placements, polygons, strict=True):
            shared = polygon.intersection(held).area
            if shared > TOLERANCE_MM * held.length:
                what = f"Part {placement.part} lies by {shared:.1f} mm² where the sheet is held at {x:g}, {y:g} mm"
                yield Problem(what, _place(sheet), AGAIN)


def _gap_problems(
    sheet: NestedSheet, placements: Sequence[Placement], polygons: Sequence[Polygon], gap_mm: float
) -> Iterable[Problem]:
    tree = shapely.STRtree(polygons)
    for first, polygon in enumerate(polygons):
        for second in tree.query(polygon.buffer(gap_mm + 1.0).envelope):
            if second <= first:
                continue
            fault = _fault(polygon, polygons[second], gap_mm)
            if fault:
                what = f"Parts {placements[first].part} and {placements[second].part} {fault}"
                yield Problem(what, _place(sheet), AGAIN)


def _fault(one: Polygon, other: Polygon, gap_mm: float) -> str:
    distance = one.distance(other)
    if distance <= 0.0:
        shared = one.intersection(other).area
        # Two parts may touch along their whole length when no gap is asked for.
        if shared > TOLERANCE_MM * max(one.length, other.length):
            return f"overlap by {shared:.1f} mm²"
    if distance < gap_mm - TOLERANCE_MM:
        return f"are {distance:.3f} mm apart, {gap_mm:g} are wanted"
    return ""


def _figure_problems(sheet: NestedSheet, stock: SheetStock, polygons: Sequence[Polygon]) -> Iterable[Problem]:
    if not polygons:
        yield Problem("The sheet carries no part", _place(sheet), AGAIN)
        return
    used = max(polygon.bounds[2] for polygon in polygons)
    if abs(used - sheet.used_length_mm) > TOLERANCE_MM:
        what = f"The used length is given as {sheet.used_length_mm:.2f} mm but is {used:.2f} mm"
        yield Problem(what, _place(sheet), AGAIN)
    whole = Polygon(stock.outline, stock.holes).area if stock.outline else sheet.length_mm * sheet.width_mm
    use = sum(polygon.area for polygon in polygons) / whole
    if abs(use - sheet.use) > 1e-6:
        yield Problem(f"The use is given as {sheet.use:.4f} but is {use:.4f}", _place(sheet), AGAIN)


def _place(sheet: NestedSheet) -> str:
    return f"sheet {sheet.number} ({sheet.stock_code})"
