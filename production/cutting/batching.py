"""Gathering what the laser owes into batches of one grade and thickness, and nesting each on sheets.

Loads the nesting, so only background work imports this module.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from bom.geometry.models import FlatContour, FlatPart
from bom.geometry.outlines import Contour, from_text
from production.cutting.nesting.job import NestProgress, NestResult, NestSettings, PartShape
from production.cutting.nesting.nest import nest
from production.cutting.nesting.outside import covering_rings
from production.cutting.nesting.times import CutTime, FeedRow, Speed, cut_times, part_minutes, usual_speed
from production.cutting.raws import Metal, Raw
from production.cutting.speeds import speeds_in_force
from production.shop.hours import WorkingDays

# A batch longer than half a two-shift day keeps urgent orders waiting for parts they do not need: practice.
MOST_MINUTES = 300.0
# A metal of which little is used reaches further ahead, until it fills so many sheets.
SHEETS_WORTH_CUTTING, REACH = 2.0, 3
# What a nest takes over the bare cutting of its parts: travel between them. Measured on nests of this kind.
TRAVEL = 1.05
# Nesting earlier batches well is worth more than later ones, which the next plan will nest again.
NEAR_DAYS, NEAR_WEIGHT = 5, 2.0
# Between parts about the thickness of the steel stays, 5 mm at the least: common practice, no source.
LEAST_GAP_MM = 5.0
NO_FILLERS: Mapping[int, int] = {}
LEAST_SECONDS, SECONDS_A_PIECE = 0.5, 0.05
ROTATIONS: Mapping[str, tuple[float, ...]] = {
    FlatPart.Turning.QUARTERS: (0.0, 90.0, 180.0, 270.0),
    FlatPart.Turning.HALF: (0.0, 180.0),
    FlatPart.Turning.FREE: tuple(45.0 * turn for turn in range(8)),
}


@dataclass(frozen=True)
class Owed:
    """So many of a flat part that an order (none: the shelf) needs on a day; its steel is there from `steel_on`."""

    order_id: int | None
    item_id: int
    quantity: int
    needed_on: date
    steel_on: date


@dataclass(frozen=True)
class Flat:
    """A flat part as the nesting sees it; `minutes` to cut one, `area_mm2` without its holes.

    `speed` is what its metal is cut at; none: the shipped figures of its thickness.
    """

    pk: int
    item_id: int
    metal: Metal
    shape: PartShape
    minutes: float
    area_mm2: float
    speed: Speed | None = None


@dataclass(frozen=True)
class Gathered:
    """Parts to cut together."""

    metal: Metal
    owed: tuple[Owed, ...]
    minutes: float

    @property
    def needed_on(self) -> date:
        return min(one.needed_on for one in self.owed)

    @property
    def steel_on(self) -> date:
        return max(one.steel_on for one in self.owed)

    @property
    def pieces(self) -> int:
        return sum(one.quantity for one in self.owed)

    @property
    def order_ids(self) -> frozenset[int]:
        return frozenset(one.order_id for one in self.owed if one.order_id is not None)


@dataclass(frozen=True)
class Spot:
    """Where one part lies, and for which order it is; a filler lies there only because there was room."""

    part_id: int
    order_id: int | None
    x_mm: float
    y_mm: float
    rotation_deg: float
    mirrored: bool
    is_filler: bool = False


@dataclass(frozen=True)
class LaidSheet:
    """One sheet with its parts; `minutes` include loading and unloading and come from `time` at `speed`."""

    raw: Raw
    used_length_mm: float
    use: float
    minutes: float
    spots: tuple[Spot, ...]
    time: CutTime
    speed: Speed


@dataclass(frozen=True)
class Batch:
    """A gathering laid out. `left` says in sentences which parts found no sheet."""

    gathered: Gathered
    settings: NestSettings
    sheets: tuple[LaidSheet, ...]
    bound_sheets: float
    left: tuple[str, ...]

    @property
    def minutes(self) -> float:
        return sum(sheet.minutes for sheet in self.sheets)

    @property
    def area_mm2(self) -> float:
        return sum(sheet.raw.area_mm2 for sheet in self.sheets)

    @property
    def use(self) -> float:
        """Area of parts over area of sheets."""
        parts = sum(sheet.use * sheet.raw.area_mm2 for sheet in self.sheets)
        return parts / self.area_mm2 if self.sheets else 0.0


def read_flats(item_ids: Collection[int]) -> dict[int, Flat]:
    """Flat parts by item, with the speeds in force. Four queries.

    An item without a shape is left out: the laser cannot cut it.
    """
    rows = list(FlatPart.objects.select_related("item").filter(item_id__in=item_ids))
    rings: dict[int, list[Contour]] = defaultdict(list)
    for part_id, vertices in (
        FlatContour.objects.filter(part__in=rows)
        .order_by("part_id", "sequence")
        .values_list("part_id", "vertices")
    ):
        rings[part_id].append(from_text(vertices))
    book = speeds_in_force()
    return {
        row.item_id: _flat(row, rings[row.pk], book.speed(row.grade, float(row.thickness_mm)))
        for row in rows
        if rings[row.pk]
    }


def _flat(row: FlatPart, contours: Sequence[Contour], speed: Speed) -> Flat:
    outer, *holes = covering_rings(contours)
    shape = PartShape(
        code=row.item.code,
        outer=outer,
        holes=tuple(holes),
        quantity=0,
        rotations_deg=ROTATIONS[row.turning],
        may_mirror=row.may_mirror,
    )
    minutes = part_minutes(shape, float(row.thickness_mm), _feeds(row.thickness_mm, speed)) * TRAVEL
    metal = (row.grade, row.thickness_mm)
    return Flat(row.pk, row.item_id, metal, shape, minutes, float(row.area_mm2), speed)


def _feeds(thickness_mm: Decimal, speed: Speed) -> tuple[FeedRow]:
    return (FeedRow(float(thickness_mm), speed.feed_mm_per_min, speed.pierce_seconds),)


def gather(
    owed: Iterable[Owed],
    flats: Mapping[int, Flat],
    days: WorkingDays,
    today: date,
    batch_days: int,
    sheet_mm2: Mapping[Metal, float],
) -> list[Gathered]:
    """Batches of one grade and thickness, the first needed first.

    A batch begins with the first part still owed and takes what is needed within `batch_days` working days of it
    (or of today, where that is later), until it would keep the laser longer than `MOST_MINUTES`. Where that
    would not fill `SHEETS_WORTH_CUTTING` sheets of `sheet_mm2`, it looks `REACH` times as far ahead. Parts whose
    steel comes later than the batch could begin are left to a later one, so that nothing waits for them.
    """
    by_metal: dict[Metal, list[Owed]] = defaultdict(list)
    for one in owed:
        if one.item_id in flats and one.quantity > 0:
            by_metal[flats[one.item_id].metal].append(one)
    batches = [
        batch
        for metal, parts in by_metal.items()
        for batch in _windows(parts, flats, days, today, batch_days, sheet_mm2.get(metal, 0.0))
    ]
    return sorted(batches, key=lambda batch: (batch.needed_on, batch.metal))


def _windows(
    owed: Sequence[Owed],
    flats: Mapping[int, Flat],
    days: WorkingDays,
    today: date,
    batch_days: int,
    sheet_mm2: float,
) -> Iterable[Gathered]:
    """One order's parts of a metal are never split over two batches: it would wait for both."""
    left = sorted(_groups(owed, flats, today), key=lambda group: (group.day, group.owed[0].order_id or 0))
    while left:
        batch, left = _fill(left, days, batch_days, SHEETS_WORTH_CUTTING * sheet_mm2)
        taken = tuple(one for group in batch for one in group.owed)
        yield Gathered(flats[owed[0].item_id].metal, taken, sum(group.minutes for group in batch))


@dataclass(frozen=True)
class _Group:
    """What one order needs of a metal: ordinals of the day it can and should be cut by, and of the steel's day."""

    owed: tuple[Owed, ...]
    day: int
    steel: int
    minutes: float
    area_mm2: float


def _groups(owed: Sequence[Owed], flats: Mapping[int, Flat], today: date) -> Iterable[_Group]:
    by_order: dict[tuple[int, int], list[Owed]] = defaultdict(list)
    for one in owed:
        # Shelf parts are wanted by nobody in particular, so each stands by its day.
        by_order[one.order_id or 0, 0 if one.order_id else one.needed_on.toordinal()].append(one)
    for parts in by_order.values():
        steel = max(one.steel_on for one in parts)
        yield _Group(
            owed=tuple(parts),
            day=max(min(one.needed_on for one in parts), steel, today).toordinal(),
            steel=steel.toordinal(),
            minutes=sum(flats[one.item_id].minutes * one.quantity for one in parts),
            area_mm2=sum(flats[one.item_id].area_mm2 * one.quantity for one in parts),
        )


def _fill(
    groups: Sequence[_Group], days: WorkingDays, batch_days: int, worth_mm2: float
) -> tuple[list[_Group], list[_Group]]:
    """The groups of one batch, and those left over. The first group always goes in."""
    begin = groups[0].day
    until, limit = (days.shift(begin, batch_days * times - 1) for times in (1, REACH))
    batch: list[_Group] = []
    left: list[_Group] = []
    minutes = area = 0.0
    for group in groups:
        is_wanted = group.day <= until or (area < worth_mm2 and group.day <= limit)
        fits = not batch or minutes + group.minutes <= MOST_MINUTES
        if is_wanted and fits and group.steel <= begin:
            batch.append(group)
            minutes += group.minutes
            area += group.area_mm2
        else:
            left.append(group)
    return batch, left


def share_seconds(batches: Sequence[Gathered], seconds: float, today: date, days: WorkingDays) -> list[float]:
    """The time to nest each batch in: by its laser time, near ones twice.

    Few pieces soon lie as well as they ever will, so a small batch does not use all of its share.
    """
    near = days.shift(today.toordinal(), NEAR_DAYS)
    weights = [
        batch.minutes * (NEAR_WEIGHT if batch.needed_on.toordinal() <= near else 1.0) for batch in batches
    ]
    whole = sum(weights)
    return [
        min(seconds * weight / whole if whole else 0.0, LEAST_SECONDS + SECONDS_A_PIECE * batch.pieces)
        for batch, weight in zip(batches, weights, strict=True)
    ]


def lay_out(
    gathered: Gathered,
    flats: Mapping[int, Flat],
    raws: Sequence[Raw],
    seconds: float,
    progress: Callable[[NestProgress], bool],
    *,
    urgent: Collection[int] = (),
    fillers: Mapping[int, int] = NO_FILLERS,
) -> Batch:
    """Nest a gathering within about `seconds`; the layout has passed the nesting's own independent checker.

    Items in `urgent` go on the first sheets. `fillers` are items of this metal, and how many at the most may fill
    gaps for the shelf.

    Raises:
        ProblemError: a shape makes no sense, or the layout found does not pass the checker.
    """
    gap_mm = max(LEAST_GAP_MM, float(gathered.metal[1]))
    settings = NestSettings(seconds=seconds, gap_mm=gap_mm)
    wanted: dict[int, int] = defaultdict(int)
    for one in gathered.owed:
        wanted[one.item_id] += one.quantity
    shapes = [
        replace(flats[item_id].shape, quantity=count, priority=int(item_id in urgent))
        for item_id, count in sorted(wanted.items())
    ]
    if not raws:
        grade, thickness = gathered.metal
        none = f"There is no raw sheet of {grade} {thickness.normalize():f} mm; enter one to cut these parts."
        return Batch(gathered, settings, (), 0.0, (none,))
    shapes += [
        replace(flats[item_id].shape, code=filler_code(flats[item_id]), quantity=count, is_filler=True)
        for item_id, count in sorted(fillers.items())
        if count > 0 and item_id in flats and flats[item_id].metal == gathered.metal
    ]
    result = nest(shapes, [raw.stock for raw in raws], settings, progress)
    owed = {flats[item_id].shape.code for item_id in wanted}
    left = tuple(f"{one.quantity} × {one.code} {one.reason}." for one in result.unplaced if one.code in owed)
    sheets = _sheets(gathered, flats, raws, shapes, result)
    return Batch(gathered, settings, sheets, result.area_bound_sheets, left)


def filler_code(flat: Flat) -> str:
    """What the nesting calls a part that fills gaps, so that it may also be owed."""
    return f"{flat.shape.code} to fill"


def _sheets(
    gathered: Gathered,
    flats: Mapping[int, Flat],
    raws: Sequence[Raw],
    shapes: Sequence[PartShape],
    result: NestResult,
) -> tuple[LaidSheet, ...]:
    by_code = {raw.stock.code: raw for raw in raws}
    thickness = gathered.metal[1]
    speed = flats[gathered.owed[0].item_id].speed or usual_speed(float(thickness))
    feeds = _feeds(thickness, speed)
    found = cut_times(shapes, result, float(thickness), feeds, speed.travel_mm_per_min)
    times = {time.sheet: time for time in found}
    spots = _spots(gathered, flats, result)
    return tuple(
        LaidSheet(
            by_code[sheet.stock_code],
            sheet.used_length_mm,
            sheet.use,
            times[sheet.number].minutes + speed.sheet_minutes,
            tuple(spots[sheet.number]),
            times[sheet.number],
            speed,
        )
        for sheet in result.sheets
    )


def _spots(gathered: Gathered, flats: Mapping[int, Flat], result: NestResult) -> dict[int, list[Spot]]:
    """Parts on the first sheets go to the orders that need them first."""
    part_ids = {flats[one.item_id].shape.code: flats[one.item_id].pk for one in gathered.owed}
    filler_ids = {filler_code(flat): flat.pk for flat in flats.values()}
    waiting: dict[str, list[int | None]] = defaultdict(list)
    for one in sorted(gathered.owed, key=lambda one: (one.needed_on, one.order_id or 0), reverse=True):
        waiting[flats[one.item_id].shape.code] += [one.order_id] * one.quantity
    found: dict[int, list[Spot]] = defaultdict(list)
    for place in sorted(result.placements, key=lambda place: place.sheet):
        is_filler = place.part not in part_ids
        found[place.sheet].append(
            Spot(
                filler_ids[place.part] if is_filler else part_ids[place.part],
                None if is_filler else waiting[place.part].pop(),
                place.x_mm,
                place.y_mm,
                place.rotation_deg,
                place.mirrored,
                is_filler,
            )
        )
    return found
