"""What the laser's pages show, asked for many sheets at once."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Case, Count, F, Prefetch, Q, QuerySet, When
from django.utils import timezone

from bom.geometry.models import FlatContour
from bom.items.models import Item
from production.cutting.clamping import clamps_of_the_laser
from production.cutting.drawing import Drawing, Placed, Shape, draw_sheet, shape_of
from production.cutting.marking import Marking
from production.cutting.metal import metal_of
from production.cutting.models import CutBatch, CutPlacement, CutSheet, CutStretch

# Fewer sheets say little, and smaller differences are not worth a change: common practice, no source.
PACE_SHEETS, LEAST_SHEETS, WORTH_SAYING = 20, 5, 0.05
ON_THE_FLOOR = (CutBatch.State.RELEASED, CutBatch.State.BEGUN, CutBatch.State.DONE)


@dataclass(frozen=True)
class PartRow:
    """The parts of one mark on a sheet: same item, same order."""

    mark: int
    code: str
    name: str
    order: str
    count: int
    bad: int
    placements: tuple[CutPlacement, ...]
    is_filler: bool = False

    @property
    def good(self) -> int:
        return self.count - self.bad

    def next_good(self, marking: Marking) -> int | None:
        """The placement that the next "one is bad" marks."""
        return next((one.pk for one in self.placements if one.pk not in marking.bad), None)


def open_batches() -> QuerySet[CutBatch]:
    """Batches to cut, the begun ones first, then in the order of the plan, with their sheets."""
    return (
        CutBatch.objects.filter(state__in=CutBatch.OPEN)
        .annotate(
            parts=Count("sheets__placements"),
            rank=Case(When(state=CutBatch.State.BEGUN, then=0), default=1),
        )
        .order_by("rank", F("starts_at").asc(nulls_last=True), "number")
        .prefetch_related(
            Prefetch("sheets", CutSheet.objects.select_related("item", "lot", "by").order_by("number"))
        )
    )


def floor_batches() -> QuerySet[CutBatch]:
    """Every batch that is or was on the floor, for the list."""
    placements = Q(sheets__placements__state__in=[CutPlacement.State.SCRAP, CutPlacement.State.LOST])
    return CutBatch.objects.filter(state__in=ON_THE_FLOOR).annotate(
        sheet_count=Count("sheets", distinct=True),
        parts=Count("sheets__placements"),
        bad=Count("sheets__placements", filter=placements),
    )


def next_sheet(batch: CutBatch) -> CutSheet | None:
    """The begun sheet of a batch, else its first waiting one. Uses the prefetched sheets."""
    sheets = list(batch.sheets.all())
    begun = [one for one in sheets if one.state == CutSheet.State.BEGUN]
    waiting = [one for one in sheets if one.state == CutSheet.State.WAITING]
    return next(iter(begun or waiting), None)


def placements_of(sheet: CutSheet) -> list[CutPlacement]:
    """The parts on a sheet, from left to right."""
    return list(
        sheet.placements.select_related("part__item", "order").order_by(
            "part__item__code", "order__number", "is_filler", "id"
        )
    )


def part_rows(placements: Sequence[CutPlacement], marking: Marking) -> list[PartRow]:
    """The parts grouped under marks 1, 2, 3 …; `placements` as `placements_of` orders them."""
    rows = []
    for mark, (_, group) in enumerate(
        groupby(placements, key=lambda one: (one.part_id, one.order_id, one.is_filler)), start=1
    ):
        members = tuple(group)
        first = members[0]
        rows.append(
            PartRow(
                mark,
                first.part.item.code,
                first.part.item.name,
                first.order.number if first.order else "",
                len(members),
                sum(_is_bad(one, marking) for one in members),
                members,
                first.is_filler,
            )
        )
    return rows


def drawing_of(sheet: CutSheet, rows: Iterable[PartRow], marking: Marking) -> Drawing:
    """The sheet drawn, as it lies and as it is held; two queries, one for all outlines on it."""
    rows = list(rows)
    parts = {one.part_id for row in rows for one in row.placements}
    contours: dict[int, list[str]] = {}
    for part_id, vertices in (
        FlatContour.objects.filter(part_id__in=parts)
        .order_by("part_id", "sequence")
        .values_list("part_id", "vertices")
    ):
        contours.setdefault(part_id, []).append(vertices)
    shapes: dict[int, Shape] = {part_id: shape_of(texts) for part_id, texts in contours.items()}
    metal = metal_of(sheet)
    placed = [_placed(one, row, marking) for row in rows for one in row.placements if one.part_id in shapes]
    return draw_sheet(
        length_mm=float(sheet.length_mm),
        width_mm=float(sheet.width_mm),
        margin_mm=float(sheet.batch.margin_mm),
        used_mm=float(sheet.used_length_mm),
        shapes=shapes,
        placed=placed,
        outline=metal.outline,
        holes=metal.holes,
        clamps=[(one.x_mm, one.y_mm, one.length_mm, one.width_mm) for one in clamps_of_the_laser()],
    )


def fillers_of(batch: CutBatch) -> list[tuple[str, str, int]]:
    """Code, name and number of the parts that fill the sheets of a batch for the shelf. One query."""
    rows = CutPlacement.objects.filter(sheet__batch=batch, is_filler=True).values_list(
        "part__item__code", "part__item__name"
    )
    return list(rows.annotate(count=Count("id")).order_by("part__item__code"))


def bad_parts(sheet_ids: Iterable[int]) -> Counter[int]:
    """How many bad parts each sheet had."""
    rows = (
        CutPlacement.objects.filter(
            sheet_id__in=sheet_ids, state__in=[CutPlacement.State.SCRAP, CutPlacement.State.LOST]
        )
        .values_list("sheet_id")
        .annotate(count=Count("id"))
        .order_by()
    )
    return Counter(dict(rows))


def minutes_taken(sheet_ids: Iterable[int]) -> dict[int, float]:
    """By sheet the minutes it was worked on, pauses left out; the running one up to now. One query."""
    return minutes_of(CutStretch.objects.filter(sheet_id__in=list(sheet_ids)))


def minutes_of(stretches: Iterable[CutStretch]) -> dict[int, float]:
    """The same of stretches read already."""
    now, sums = timezone.now(), defaultdict[int, float](float)
    for one in stretches:
        sums[one.sheet_id] += ((one.ended_at or now) - one.began_at).total_seconds() / 60
    return dict(sums)


@dataclass(frozen=True)
class Pace:
    """What the last sheets took beside what was reckoned for them, in minutes; both over the same sheets."""

    sheets: int
    took: float
    reckoned: float

    @property
    def ratio(self) -> float:
        """What reckoned minutes would have to be multiplied by."""
        return self.took / self.reckoned if self.reckoned else 1.0

    @property
    def is_worth_a_proposal(self) -> bool:
        return self.sheets >= LEAST_SHEETS and abs(self.ratio - 1) >= WORTH_SAYING


def pace() -> Pace | None:
    """The pace of the laser over its last counted sheets whose time was kept; none before the first. Two queries."""
    last = list(
        CutSheet.objects.filter(state=CutSheet.State.DONE, stretches__ended_as=CutStretch.End.DONE)
        .order_by("-finished_at")
        .distinct()
        .values_list("pk", "minutes", "finished_at")[:PACE_SHEETS]
    )
    if not last:
        return None
    took = minutes_taken(pk for pk, *_ in last)
    return Pace(len(last), sum(took.values()), float(sum(minutes for _, minutes, _ in last)))


def largest_sheet_mm() -> tuple[float, float]:
    """Length and width of the largest sheet that is bought; 3000 × 1500 before the first is entered. One query."""
    sizes = Item.objects.filter(kind=Item.Kind.SHEET, is_active=True, length_mm__gt=0, width_mm__gt=0)
    found = (
        sizes.order_by((F("length_mm") * F("width_mm")).desc()).values_list("length_mm", "width_mm").first()
    )
    return (float(found[0] or 0), float(found[1] or 0)) if found else (3000.0, 1500.0)


def _is_bad(one: CutPlacement, marking: Marking) -> bool:
    return one.pk in marking.bad or one.state in (CutPlacement.State.SCRAP, CutPlacement.State.LOST)


def _placed(one: CutPlacement, row: PartRow, marking: Marking) -> Placed:
    return Placed(
        id=one.pk,
        part_id=one.part_id,
        code=row.code,
        mark=row.mark,
        order=row.order,
        state="marked" if one.pk in marking.bad else one.state,
        x_mm=float(one.x_mm),
        y_mm=float(one.y_mm),
        rotation_deg=float(one.rotation_deg),
        mirrored=one.mirrored,
    )
