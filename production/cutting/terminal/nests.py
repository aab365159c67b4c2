"""A nest as tables and as a file of results."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from production.cutting.nesting.job import NestedSheet, NestResult, PartShape, Point
from production.cutting.terminal.telling import table

NO_OFFCUTS: Mapping[str, Point] = {}
"""By offcut where the corner of its box lies in its drawing."""


def as_words(
    parts: Sequence[PartShape], result: NestResult, offcuts: Mapping[str, Point] = NO_OFFCUTS
) -> str:
    """The nest for people: sheet by sheet, part by part, then the bound and what is left over."""
    on_sheet = Counter((placement.sheet, placement.part) for placement in result.placements)
    sheets = [
        (
            str(sheet.number),
            f"{sheet.length_mm:.6g} × {sheet.width_mm:.6g}"
            + (f" {sheet.stock_code}" if sheet.stock_code in offcuts else ""),
            str(sum(count for (number, _), count in on_sheet.items() if number == sheet.number)),
            f"{100 * sheet.use:.1f} %",
            f"{sheet.used_length_mm:.0f}",
        )
        for sheet in result.sheets
    ]
    placed = Counter(placement.part for placement in result.placements)
    rows = [
        (part.code, str(part.quantity), str(placed[part.code]), _where(part.code, on_sheet)) for part in parts
    ]
    said = [
        table(("sheet", "size mm", "parts", "use", "used to mm"), sheets),
        "",
        table(("part", "wanted", "placed", "on sheets"), rows),
        "",
        f"Sheets: {len(result.sheets)}, or {result.sheet_equivalents:.2f} with the last to its used length; "
        f"the area alone needs {result.area_bound_sheets:.2f}.",
    ]
    if result.stopped:
        said.append("The search was ended early.")
    said += result.notes
    said += [f"Left over: {one.quantity} × {one.code}: {one.reason}." for one in result.unplaced]
    return "\n".join(said)


def as_json(result: NestResult, offcuts: Mapping[str, Point] = NO_OFFCUTS) -> dict[str, object]:
    """The nest as the file of results holds it: parts turned about their drawing's origin, then moved.

    A sheet that is an offcut names its file, and where the sheet's corner (0, 0) lies in that drawing.
    """
    return {
        "sheets": [_sheet(sheet, offcuts) for sheet in result.sheets],
        "placements": [
            {
                "file": one.part,
                "sheet": one.sheet,
                "x_mm": round(one.x_mm, 6),
                "y_mm": round(one.y_mm, 6),
                "rotation_deg": one.rotation_deg,
                "mirrored": one.mirrored,
            }
            for one in result.placements
        ],
        "unplaced": [
            {"file": one.code, "quantity": one.quantity, "reason": one.reason} for one in result.unplaced
        ],
        "bound_sheets": round(result.area_bound_sheets, 4),
        "stopped": result.stopped,
    }


def _sheet(sheet: NestedSheet, offcuts: Mapping[str, Point]) -> dict[str, object]:
    corner = offcuts.get(sheet.stock_code)
    drawn = {"offcut": sheet.stock_code, "corner_mm": [round(one, 6) for one in corner]} if corner else {}
    return drawn | {
        "number": sheet.number,
        "length_mm": sheet.length_mm,
        "width_mm": sheet.width_mm,
        "use": round(sheet.use, 4),
        "used_length_mm": round(sheet.used_length_mm, 3),
    }


def _where(code: str, on_sheet: Counter[tuple[int, str]]) -> str:
    numbers = sorted(sheet for sheet, part in on_sheet if part == code)
    return ", ".join(map(str, numbers[:12])) + (" …" if len(numbers) > 12 else "")
