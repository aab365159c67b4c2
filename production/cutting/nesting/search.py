"""Sheet after sheet until every part lies somewhere; then the last sheet is drawn together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from production.cutting.nesting.bounds import bound_equivalents
from production.cutting.nesting.fill import FINE_CELLS, MIDDLE_CELLS, QUICK_CELLS, Filled, Filler
from production.cutting.nesting.job import NestSettings, SheetStock
from production.cutting.nesting.mix import Shelf, next_stock
from production.cutting.nesting.onesheet import Aim, fill_sheet
from production.cutting.nesting.shapes import Shape
from production.cutting.nesting.sheetroom import sheet_mm2
from production.cutting.nesting.watch import Watch
from production.cutting.nesting.worth import kept_length_mm, net_cost

STRIP_SHARE = 0.75
# With less for each sheet, trying orders on the grid was seen to do better than the strip packer.
ENOUGH_STRIP_SECONDS = 0.9
LONG_STRIP_SECONDS = 12.0
OTHER_STOCKS_SHARE = 0.25
MOST_TRIES = 400
# As near to the bound as this, in sheets, nothing is left to win.
NOTHING = 1e-6


@dataclass(frozen=True)
class Run:
    """A layout cut `times` times over."""

    sheet: Filled
    times: int


@dataclass(frozen=True)
class Plan:
    """A whole answer: runs in cutting order and the parts that found no sheet."""

    runs: tuple[Run, ...]
    rest: dict[str, int]

    @property
    def rest_count(self) -> int:
        return sum(self.rest.values())

    @property
    def equivalents(self) -> float:
        """Sheets used, the last counted only up to its used length."""
        if not self.runs:
            return 0.0
        last = self.runs[-1].sheet
        return sum(run.times for run in self.runs) - 1 + last.used_length_mm / last.stock.length_mm

    @property
    def use(self) -> float:
        """Net area of the parts over the area of the sheets, the last counted to its used length."""
        if not self.runs:
            return 0.0
        parts = sum(run.sheet.area_mm2 * run.times for run in self.runs)
        last = self.runs[-1].sheet
        open_mm = last.stock.length_mm - last.used_length_mm
        areas = sum(sheet_mm2(run.sheet.stock) * run.times for run in self.runs)
        return parts / max(areas - open_mm * last.stock.width_mm, parts)

    def cost(self, settings: NestSettings, by_area: bool) -> float:
        """Price (or area) of all sheets less the worth of the offcuts kept."""
        return sum(
            run.times * net_cost(run.sheet.stock, run.sheet.used_length_mm, settings, by_area)
            for run in self.runs
        )


@dataclass(frozen=True)
class Way:
    """How one pass over the job is made."""

    seconds: float
    seed: int
    fill: float
    cells: int
    strip: bool
    preferred: str | None = None
    noise: float = 0.0


def one_pass(filler: Filler, stocks: Sequence[SheetStock], wanted: Mapping[str, int], way: Way) -> Plan:
    """Fill sheets until nothing is left that fits, or the caller stops."""
    pool = dict(wanted)
    filler.vary(way.seed, way.noise)
    shelf = Shelf.full(stocks)
    runs: list[Run] = []
    ends = filler.watch.spent + way.seconds
    aim = Aim(way.fill) if way.strip else None
    while any(pool.values()) and not filler.watch.stopped:
        stock = next_stock(filler.shapes, pool, shelf, filler.settings, way.preferred)
        if stock is None:
            break
        left = ends - filler.watch.spent
        sheet = fill_sheet(filler, stock, pool, way.cells, aim=aim, seconds=left, seed=way.seed)
        if not sheet.placements:
            shelf.close(stock)
            continue
        run = Run(sheet, _repeats(sheet, pool, shelf.has(stock)))
        runs.append(run)
        shelf.take(stock, run.times)
        for code, count in sheet.counts().items():
            pool[code] -= count * run.times
    return Plan(_draw_last(filler, runs, way), {code: count for code, count in pool.items() if count > 0})


def _repeats(sheet: Filled, pool: Mapping[str, int], left: int | None) -> int:
    """How often the layout can be cut from the pool and the shelf."""
    times = min(pool[code] // count for code, count in sheet.counts().items())
    return times if left is None else min(times, left)


def _draw_last(filler: Filler, runs: Sequence[Run], way: Way) -> tuple[Run, ...]:
    """Shorten the last sheet; when it is one of a series it is split off first."""
    if not runs or filler.watch.stopped:
        return tuple(runs)
    last = runs[-1]
    shorter = shortened(filler, last.sheet, way.cells)
    if shorter is last.sheet:
        return tuple(runs)
    series = [Run(last.sheet, last.times - 1)] if last.times > 1 else []
    return (*runs[:-1], *series, Run(shorter, 1))


def shortened(filler: Filler, sheet: Filled, cells: int) -> Filled:
    """Move the right-most part into a gap or a hole further left, again and again while that helps."""
    while len(sheet.placements) > 1 and filler.watch.go_on():
        edge = sheet.used_length_mm
        index = max(range(len(sheet.polygons)), key=lambda i: sheet.polygons[i].bounds[2])
        without = sheet.without({index})
        code = sheet.placements[index].part
        moved = filler.on_grid(without, {code: 1}, cells, right_mm=edge - 1.0)
        if len(moved.placements) < len(sheet.placements):
            return sheet
        sheet = moved
    return sheet


def better(one: Plan, other: Plan, settings: NestSettings, by_area: bool) -> bool:
    """Is `one` the better plan: fewer parts left over, then cheaper, then shorter."""
    costs = [round(plan.cost(settings, by_area), 6) for plan in (one, other)]
    return (one.rest_count, costs[0], one.equivalents) < (other.rest_count, costs[1], other.equivalents)


def search(
    shapes: Mapping[str, Shape],
    stocks: Sequence[SheetStock],
    wanted: Mapping[str, int],
    settings: NestSettings,
    watch: Watch,
    fillers: Mapping[str, int],
) -> tuple[Plan, tuple[str, ...]]:
    """A quick plan first, then better ones while time lasts. Returns the best, filled up, and notes for people."""
    watch.bound_sheets = bound_equivalents(shapes, wanted, stocks, settings)
    filler = Filler(shapes, settings, watch)
    contest = _Contest(filler, stocks, wanted)
    contest.enter(_quick(settings))
    for code in _other_main_stocks(stocks):
        if watch.spent < OTHER_STOCKS_SHARE * settings.seconds:
            contest.enter(replace(_quick(settings), preferred=code))
    share = STRIP_SHARE * watch.left / contest.layouts
    if share < ENOUGH_STRIP_SECONDS:
        contest.vary_until(0.0)
    else:
        for way in _strip_ways(contest, settings, watch.left):
            contest.enter(way)
    return _with_fillers(filler, contest.best, fillers), tuple(dict.fromkeys(filler.notes))


def _with_fillers(filler: Filler, plan: Plan, fillers: Mapping[str, int]) -> Plan:
    """The plan with fillers in holes and gaps, as many as are wanted; nothing reaches into an offcut worth keeping.

    A layout that comes several times is filled alike as often as the fillers last.
    """
    left = dict(fillers)
    runs: list[Run] = []
    for run in plan.runs:
        times = run.times
        while times:
            each = {code: -(-count // times) for code, count in left.items() if count > 0}
            sheet = _filled_up(filler, run.sheet, each)
            added = {
                code: sheet.counts()[code] - run.sheet.counts().get(code, 0)
                for code in each
                if code in sheet.counts()
            }
            added = {code: count for code, count in added.items() if count > 0}
            same = min([times, *(left[code] // count for code, count in added.items())])
            runs.append(Run(sheet, max(1, same)))
            times -= runs[-1].times
            for code, count in added.items():
                left[code] -= count * runs[-1].times
    return Plan(tuple(runs), plan.rest)


def _filled_up(filler: Filler, sheet: Filled, wanted: Mapping[str, int]) -> Filled:
    if not wanted or filler.watch.stopped:
        return sheet
    is_kept = kept_length_mm(sheet.stock, sheet.used_length_mm, filler.settings) > 0
    return filler.on_grid(sheet, wanted, MIDDLE_CELLS, sheet.used_length_mm if is_kept else math.inf)


class _Contest:
    """Passes over the same job made in different ways; the best plan stays."""

    def __init__(self, filler: Filler, stocks: Sequence[SheetStock], wanted: Mapping[str, int]) -> None:
        self.filler = filler
        self.best = Plan((), dict(wanted))
        self.best_way: Way | None = None
        self._stocks = stocks
        self._wanted = wanted
        self._by_area = all(stock.price <= 0 for stock in stocks)

    @property
    def layouts(self) -> int:
        """Different layouts to expect of a careful pass: many sheets repeat few."""
        return max(1, min(3, sum(run.times for run in self.best.runs)))

    def enter(self, way: Way) -> None:
        """Make a pass; a stopped pass counts only when nothing better is there."""
        if self.filler.watch.stopped or self.is_best_possible:
            return
        plan = one_pass(self.filler, self._stocks, self._wanted, way)
        if better(plan, self.best, self.filler.settings, self._by_area):
            self.best, self.best_way = plan, way
            self._tell(plan)

    @property
    def is_best_possible(self) -> bool:
        """Everything placed on sheets of one kind, and as short as the bound."""
        one_kind = len(self._stocks) == 1 and self.best.rest_count == 0
        return one_kind and self.best.equivalents <= self.filler.watch.bound_sheets + NOTHING

    def _tell(self, plan: Plan) -> None:
        watch = self.filler.watch
        watch.placed = sum(self._wanted.values()) - plan.rest_count
        watch.sheets = sum(run.times for run in plan.runs)
        watch.sheet_equivalents, watch.use = plan.equivalents, plan.use

    def vary_until(self, left: float) -> None:
        """Passes on the grid with blurred orders until so many seconds are left."""
        watch = self.filler.watch
        watch.step = "trying orders"
        longest = 0.0
        number = 0
        while (
            not watch.stopped
            and not self.is_best_possible
            and watch.left - longest > left
            and number < MOST_TRIES
        ):
            begun = watch.spent
            number += 1
            self.enter(_varied(self.filler.settings, number, self.best_way))
            longest = max(longest, watch.spent - begun)


def _quick(settings: NestSettings) -> Way:
    return Way(0.0, settings.seed, settings.fill_target, QUICK_CELLS, strip=False)


def _varied(settings: NestSettings, number: int, best: Way | None) -> Way:
    return Way(
        seconds=0.0,
        seed=settings.seed + number,
        fill=settings.fill_target,
        cells=MIDDLE_CELLS,
        strip=False,
        preferred=best.preferred if best else None,
        noise=0.15 if number % 2 else 0.4,
    )


def _other_main_stocks(stocks: Sequence[SheetStock]) -> list[str]:
    """Stocks of which there is plenty and which could serve as the main one."""
    return [stock.code for stock in stocks if stock.count is None or stock.count > 3][:4]


def _strip_ways(contest: _Contest, settings: NestSettings, left: float) -> list[Way]:
    """The careful passes to make in the time left: each with its own seed and fill."""
    contest.filler.watch.step = "packing sheets"
    passes = max(1, min(4, int(left / (LONG_STRIP_SECONDS * contest.layouts))))
    preferred = contest.best_way.preferred if contest.best_way else None
    return [
        Way(
            seconds=left / passes,
            seed=settings.seed + 101 * number,
            fill=settings.fill_target - 0.02 * number,
            cells=FINE_CELLS,
            strip=True,
            preferred=preferred,
        )
        for number in range(passes)
    ]
