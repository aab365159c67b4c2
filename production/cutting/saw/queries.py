"""What the saw's pages show, asked for many rows at once."""

from collections.abc import Iterable, Sequence

from django.db.models import Case, Count, F, Q, QuerySet, When

from inventory.stock.models import Balance, Location, Lot
from production.cutting.saw.drawing import BarDrawing, Piece, draw_bar
from production.cutting.saw.models import BarBatch, SawBar, SawCut
from production.cutting.shelves import Fetch


def open_bars() -> QuerySet[SawBar]:
    """Bars to saw: the begun ones first, then those of begun batches, then in the order of the plan."""
    return (
        SawBar.objects.filter(batch__state__in=BarBatch.OPEN)
        .exclude(state=SawBar.State.DONE)
        .select_related("batch__item", "lot", "by")
        .annotate(
            rank=Case(
                When(state=SawBar.State.BEGUN, then=0),
                When(batch__state=BarBatch.State.BEGUN, then=1),
                default=2,
            )
        )
        .order_by("rank", F("batch__starts_at").asc(nulls_last=True), "batch__number", "number")
    )


def batches() -> QuerySet[BarBatch]:
    """Every bar batch with how many bars and pieces it has, for the list."""
    bad = Q(bars__cuts__state__in=SawCut.BAD)
    return (
        BarBatch.objects.select_related("item")
        .annotate(
            bar_count=Count("bars", distinct=True),
            pieces=Count("bars__cuts"),
            bad=Count("bars__cuts", filter=bad),
        )
        .order_by(F("starts_at").asc(nulls_last=True), "number")
    )


def cuts_of(bar: SawBar) -> list[SawCut]:
    """The cuts of a bar in their order. One query."""
    return list(bar.cuts.select_related("item__sawn_ends", "order").order_by("sequence"))


def drawing_of(bar: SawBar, cuts: Iterable[SawCut]) -> BarDrawing:
    pieces = [
        Piece(cut.sequence, float(cut.length_mm), float(cut.first_deg), float(cut.second_deg), cut.state)
        for cut in cuts
    ]
    return draw_bar(float(bar.length_mm), float(bar.batch.kerf_mm), float(bar.batch.trim_mm), pieces)


def where_to_fetch(bars: Sequence[SawBar]) -> dict[int, Fetch]:
    """By bar what to fetch and where: its own offcut, else a whole bar from the first shelf that holds its metres.

    Absent when none lies on a shelf. One query; the bars bring their batch and lot.
    """
    lying = list(
        Balance.objects.filter(
            item__in={bar.batch.item_id for bar in bars}, location__kind=Location.Kind.SHELF, quantity__gt=0
        )
        .select_related("location", "lot")
        .order_by("location__walk_order", "location__code", "lot__received_on", "lot_id")
    )
    found = {}
    for bar in bars:
        balance = next((one for one in lying if _holds(one, bar)), None)
        if balance is not None:
            lot = balance.lot
            cast = (lot.cast or ("" if bar.is_offcut else lot.code)) if lot else ""
            left = balance.quantity - bar.length_mm / 1000
            found[bar.pk] = Fetch(
                balance.location.code, cast, left, lot.code if lot and bar.is_offcut else ""
            )
    return found


def _holds(one: Balance, bar: SawBar) -> bool:
    if one.item_id != bar.batch.item_id:
        return False
    if bar.is_offcut:
        return one.lot_id == bar.lot_id
    is_offcut = one.lot is not None and one.lot.kind == Lot.Kind.OFFCUT
    return not is_offcut and one.quantity * 1000 >= bar.length_mm
