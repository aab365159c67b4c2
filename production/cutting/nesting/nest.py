"""The way in: nest parts on sheets, with every layout checked before it is handed out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from bom.kernel.errors import ProblemError
from production.cutting.nesting.check import check_nest
from production.cutting.nesting.intake import job_problems
from production.cutting.nesting.job import (
    NestedSheet,
    NestProgress,
    NestResult,
    NestSettings,
    PartShape,
    Placement,
    SheetStock,
    Unplaced,
)
from production.cutting.nesting.search import Plan, search
from production.cutting.nesting.shapes import Laid, Shape, prepare
from production.cutting.nesting.sheetroom import sheet_mm2
from production.cutting.nesting.watch import Watch


def nest(
    parts: Sequence[PartShape],
    stocks: Sequence[SheetStock],
    settings: NestSettings,
    progress: Callable[[NestProgress], bool] = lambda _: True,
) -> NestResult:
    """Lay the parts out on as few, as cheap sheets as the time allows.

    `progress` is called a few times a second and answers True to go on, False to stop with the best layout
    so far. Parts that fit no sheet, or for which no sheet is left, come back as `unplaced` with the reason.
    The search is limited by the clock, so two runs may give different layouts: keep the result.

    Raises `ProblemError` when a part, a sheet or a setting makes no sense, or when the layout found does not
    pass the independent checker (then nothing is returned).
    """
    problems = job_problems(parts, stocks, settings)
    if problems:
        raise ProblemError(*problems)
    shapes = {part.code: prepare(part) for part in parts if part.quantity > 0}
    misfits = {
        code: shape
        for code, shape in shapes.items()
        if not any(shape.fitting(stock, settings.margin_mm) for stock in stocks)
    }
    fitting = {code: shape for code, shape in shapes.items() if code not in misfits}
    wanted = {code: one.part.quantity for code, one in fitting.items() if not one.part.is_filler}
    fillers = {code: one.part.quantity for code, one in fitting.items() if one.part.is_filler}
    watch = Watch(settings.seconds, sum(wanted.values()), progress)
    plan, notes = search(fitting, stocks, wanted, settings, watch, fillers)
    unplaced = [_misfit(shape, stocks, settings) for shape in misfits.values()]
    unplaced += _fillers_left(plan, fillers)
    unplaced += [_left_over(code, count, watch.stopped) for code, count in sorted(plan.rest.items())]
    result = _result(plan, shapes, unplaced, notes, watch)
    problems = check_nest(parts, stocks, settings, result)
    if problems:
        raise ProblemError(*problems)
    return result


def _misfit(shape: Shape, stocks: Sequence[SheetStock], settings: NestSettings) -> Unplaced:
    sizes = " or ".join(f"{laid.width_mm:.0f} × {laid.height_mm:.0f} mm" for laid in _sizes(shape))
    largest = max(stocks, key=lambda s: s.length_mm * s.width_mm, default=None)
    room = (
        f"; the largest sheet, {largest.code}, has {largest.length_mm - 2 * settings.margin_mm:.0f} × "
        f"{largest.width_mm - 2 * settings.margin_mm:.0f} mm inside its margins"
        if largest
        else "; there are no sheets"
    )
    reason = f"fits no sheet in any allowed rotation: it needs {sizes}{room}"
    return Unplaced(shape.code, shape.part.quantity, reason)


def _sizes(shape: Shape) -> list[Laid]:
    seen: dict[tuple[int, int], Laid] = {}
    for laid in shape.laid:
        seen.setdefault((round(laid.width_mm), round(laid.height_mm)), laid)
    return list(seen.values())


def _left_over(code: str, count: int, stopped: bool) -> Unplaced:
    reason = "the search was stopped before it was placed" if stopped else "no sheet is left to cut it from"
    return Unplaced(code, count, reason)


def _fillers_left(plan: Plan, fillers: dict[str, int]) -> list[Unplaced]:
    left = dict(fillers)
    for run in plan.runs:
        for code, count in run.sheet.counts().items():
            if code in left:
                left[code] -= count * run.times
    return [
        Unplaced(code, count, "no sheet had room to fill")
        for code, count in sorted(left.items())
        if count > 0
    ]


def _result(
    plan: Plan,
    shapes: dict[str, Shape],
    unplaced: list[Unplaced],
    notes: tuple[str, ...],
    watch: Watch,
) -> NestResult:
    sheets: list[NestedSheet] = []
    placements: list[Placement] = []
    for layout, run in enumerate(plan.runs, start=1):
        stock = run.sheet.stock
        for _ in range(run.times):
            number = len(sheets) + 1
            use = run.sheet.area_mm2 / sheet_mm2(stock)
            sheets.append(
                NestedSheet(
                    number,
                    stock.code,
                    stock.length_mm,
                    stock.width_mm,
                    run.sheet.used_length_mm,
                    use,
                    layout,
                )
            )
            placements += [replace(placement, sheet=number) for placement in run.sheet.placements]
    largest = max((sheet.length_mm * sheet.width_mm for sheet in sheets), default=1.0)
    area = sum(shapes[placement.part].area_mm2 for placement in placements)
    return NestResult(
        tuple(sheets),
        tuple(placements),
        tuple(unplaced),
        area / largest,
        watch.spent,
        watch.stopped,
        notes,
    )
