"""What is left of a cut sheet goes back to a shelf: a lot of its own, with its true outline, its cast and a label.

In stock an offcut is that share of a whole sheet which its area is, so that sums of sheets, their value and the
netting stay right whatever is cut up.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from bom.geometry.models import FlatContour
from bom.geometry.outlines import Contour, Vertex, flatten, from_text, to_text
from bom.kernel.errors import Problem, ProblemError
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.models import Balance, Location, Lot
from production.cutting.drawing import Placed, place_point
from production.cutting.metal import metal_of
from production.cutting.models import CutPlacement, CutSheet
from production.cutting.nesting.job import Ring
from production.cutting.resting import Rest, rest_of

STEPPED, STRAIGHT = "stepped", "straight"
SHAPES = {STEPPED: "as it lies, with its steps", STRAIGHT: "cut off straight"}


@dataclass(frozen=True)
class Keep:
    """Where the rest of a sheet goes, and whether it is first cut off straight."""

    place: Location
    shape: str = STEPPED


def rests_on(
    sheet: CutSheet,
    shapes: Iterable[str] = tuple(SHAPES),
    placements: Sequence[CutPlacement] | None = None,
) -> dict[str, Rest]:
    """By shape the rest that the sheet's layout leaves; absent where nothing is left.

    Two queries, one where the placements are handed in.
    """
    placements = list(sheet.placements.all()) if placements is None else placements
    texts = dict(
        FlatContour.objects.filter(part__in={one.part_id for one in placements}, sequence=0).values_list(
            "part_id", "vertices"
        )
    )
    rings = {part_id: flatten(from_text(text)) for part_id, text in texts.items()}
    parts = [
        tuple(place_point(point, _placed(one)) for point in rings[one.part_id])
        for one in placements
        if one.part_id in rings
    ]
    length, width, gap = float(sheet.length_mm), float(sheet.width_mm), float(sheet.batch.gap_mm)
    metal = metal_of(sheet)
    found = {
        shape: rest_of(
            length, width, parts, gap, straight=shape == STRAIGHT, metal=metal.outline, holes=metal.holes
        )
        for shape in shapes
    }
    return {shape: rest for shape, rest in found.items() if rest is not None}


def _placed(one: CutPlacement) -> Placed:
    return Placed(
        id=one.pk,
        part_id=one.part_id,
        code="",
        mark=0,
        order="",
        state=one.state,
        x_mm=float(one.x_mm),
        y_mm=float(one.y_mm),
        rotation_deg=float(one.rotation_deg),
        mirrored=one.mirrored,
    )


def kept_offcut(sheet: CutSheet, keep: Keep, cast: str, where: str) -> tuple[Lot, Decimal]:
    """The lot of a sheet's offcut and how much of a whole sheet it is. Call inside a transaction.

    Raises:
        ProblemError: nothing worth keeping is left, the shape is unknown, or the place is no shelf.
    """
    if keep.shape not in SHAPES or keep.place.kind != Location.Kind.SHELF:
        raise ProblemError(
            Problem("The offcut has no shelf to go to", where, "Choose a shelf and how it is cut off.")
        )
    rest = rests_on(sheet, [keep.shape]).get(keep.shape)
    share = _share(sheet, rest)
    if rest is None or not rest.is_worth_keeping or share <= 0:
        raise ProblemError(
            Problem("Nothing worth keeping is left of the sheet", where, "Finish it without an offcut.")
        )
    lot, _ = Lot.objects.update_or_create(
        item_id=sheet.item_id,
        code=f"{sheet.batch.number}-{sheet.number}",
        defaults={
            "kind": Lot.Kind.OFFCUT,
            "cast": cast,
            "received_on": timezone.localdate(),
            "length_mm": _tenths(rest.length_mm),
            "width_mm": _tenths(rest.width_mm),
            "outline": _ring_text(rest.outline),
            "holes": "\n".join(map(_ring_text, rest.holes)),
        },
    )
    return lot, share


def _ring_text(ring: Ring) -> str:
    return to_text(Contour(tuple(Vertex(x, y) for x, y in ring)))


def _share(sheet: CutSheet, rest: Rest | None) -> Decimal:
    """Area of the rest over that of a whole sheet of its item, however small the piece it was cut from."""
    whole = float(sheet.item.length_mm or sheet.length_mm) * float(sheet.item.width_mm or sheet.width_mm)
    return Decimal(repr(rest.area_mm2 / whole)).quantize(PLACES) if rest else Decimal(0)


def offcut_lines(
    raw: Balance, lot: Lot, share: Decimal, keep: Keep, conversion: Location
) -> list[ledger.Line]:
    """The movements that bring the offcut to its shelf.

    Raises:
        ProblemError: more would come back than was taken.
    """
    if share >= raw.quantity:
        raise ProblemError(
            Problem(
                f"The offcut would be larger than the sheet it is cut from ({raw.quantity:f} of a sheet)",
                lot.code,
                "Count the sheet on its shelf, then finish again.",
            )
        )
    return [
        ledger.Line(raw.item_id, conversion.pk, -share, lot.pk),
        ledger.Line(raw.item_id, keep.place.pk, share, lot.pk),
    ]


def offcuts_lying(item_ids: set[int]) -> dict[int, list[Balance]]:
    """Offcuts on the shelves by item, in the order a picker walks past them. One query."""
    found: dict[int, list[Balance]] = defaultdict(list)
    for one in (
        Balance.objects.filter(
            item_id__in=item_ids,
            lot__kind=Lot.Kind.OFFCUT,
            location__kind=Location.Kind.SHELF,
            quantity__gt=0,
        )
        .select_related("location", "lot", "item")
        .order_by("location__walk_order", "location__code", "lot__code")
    ):
        found[one.item_id].append(one)
    return dict(found)


def _tenths(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.1"))
