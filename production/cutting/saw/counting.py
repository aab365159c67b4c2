"""Counting at the saw: a bar is begun, stopped, finished with its good and bad pieces, or taken back.

Finishing is one posting, in metres: the bar leaves its shelf, the good pieces appear in the rack of cut parts with
the cast of their steel and are kept for their orders, an offcut worth keeping goes to a shelf with its length. What a
bad or lost piece took is used all the same; the piece is owed again and joins the next batch of its section at once.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.models import Balance, Location, Lot, Posting
from inventory.stock.queries import place
from production.cutting.keeping import GoodParts, cast_lots, cast_of, count_key, give_up_parts, keep_parts
from production.cutting.offcuts import offcuts_lying
from production.cutting.saw.asking import ask_to_gather
from production.cutting.saw.completing import begin_sawn_orders, finish_sawn_orders, reopen_sawn_orders
from production.cutting.saw.models import BarBatch, SawBar, SawCut, SawRules
from production.cutting.shelves import sheets_on_shelf
from production.orders.models import Order

NOTHING: Mapping[int, str] = {}
MM = Decimal(1000)


@dataclass(frozen=True)
class KeepBar:
    """The shelf that the rest of a bar goes to, and how long it was measured."""

    place: Location
    length_mm: Decimal


@transaction.atomic
def begin_bar(*, bar: SawBar, by: User, happened_at: datetime | None = None) -> SawBar:
    """The operator lays the bar on the saw. Beginning a bar that he has begun changes nothing.

    Raises:
        ProblemError: somebody else has begun it, or it is done.
    """
    bar = _locked(bar)
    if bar.state == SawBar.State.BEGUN:
        if bar.by_id == by.pk:
            return bar
        raise ProblemError(
            Problem(
                f"{bar.by} has begun this bar",
                named(bar),
                "Take the next one, or ask for it to be stopped first.",
            )
        )
    _refuse_done(bar)
    now = happened_at or timezone.now()
    bar.state, bar.began_at, bar.by, bar.problem = SawBar.State.BEGUN, now, by, ""
    bar.save(update_fields=["state", "began_at", "by", "problem"])
    if bar.batch.state == BarBatch.State.RELEASED:
        BarBatch.objects.filter(pk=bar.batch_id).update(state=BarBatch.State.BEGUN)
        bar.batch.state = BarBatch.State.BEGUN
    begin_sawn_orders(order_ids=_order_ids(bar), by=by)
    return bar


@transaction.atomic
def stop_bar(*, bar: SawBar, by: User, problem: str) -> SawBar:
    """Put a bar back to waiting with the reason.

    Raises:
        ProblemError: no reason, or it is done.
    """
    bar = _locked(bar)
    if not problem.strip():
        raise ProblemError(
            Problem("No reason was given for stopping", named(bar), "Say in a few words what stopped it.")
        )
    _refuse_done(bar)
    bar.state, bar.began_at, bar.by, bar.problem = SawBar.State.WAITING, None, by, problem.strip()[:200]
    bar.save(update_fields=["state", "began_at", "by", "problem"])
    return bar


@transaction.atomic
def finish_bar(
    *,
    bar: SawBar,
    by: User,
    scrapped: Mapping[int, str] = NOTHING,
    lost: Mapping[int, str] = NOTHING,
    cast: str = "",
    keep: KeepBar | None = None,
    happened_at: datetime | None = None,
) -> SawBar:
    """Count a sawn bar: `scrapped` and `lost` give the reason by cut id, every other piece is good.

    A second finish with the same marks changes nothing and posts nothing.

    Raises:
        ProblemError: a cut is not of this bar, a reason is missing, no such bar lies on a shelf, the offcut is longer
            than what can be left, or somebody counted the bar already with other marks.
    """
    bar = _locked(bar)
    if bar.state == SawBar.State.DONE:
        _refuse_other_marks(bar, {**scrapped, **lost})
        return bar
    if bar.state == SawBar.State.WAITING:
        bar = begin_bar(bar=bar, by=by, happened_at=happened_at)
    cuts = list(bar.cuts.select_related("item", "order__purpose"))
    _mark(bar, cuts, scrapped, lost)
    raw = _raw_bar(bar)
    cast = cast_of(raw.lot) or cast.strip()[:60]
    bar.offcut = _offcut(bar, cuts, keep, cast) if keep else None
    bar.posting = ledger.post(
        key=count_key(f"bar:{bar.batch.number}:{bar.number}"),
        kind=Posting.Kind.MAKE,
        lines=_lines(bar, raw, cuts, cast, keep),
        by=by,
        reason=named(bar),
        happened_at=happened_at,
    )
    bar.state, bar.by, bar.lot, bar.cast = SawBar.State.DONE, by, raw.lot, cast
    bar.finished_at = happened_at or timezone.now()
    bar.save(update_fields=["state", "by", "lot", "cast", "finished_at", "offcut", "posting"])
    keep_parts(_good(cuts), _by_key(cuts), by)
    _settle_batch(bar.batch)
    finish_sawn_orders(order_ids=_order_ids(bar), by=by)
    if scrapped or lost:
        ask_to_gather(plan=bar.batch.plan, item=bar.batch.item, by=by)
    return bar


@transaction.atomic
def undo_bar(*, bar: SawBar, by: User, reason: str) -> SawBar:
    """Take a count back by the mirror posting, as long as its pieces are still in the rack.

    Undoing an uncounted bar changes nothing.
    """
    bar = _locked(bar)
    if bar.state != SawBar.State.DONE or bar.posting is None:
        return bar
    cuts = list(bar.cuts.select_related("item", "order__purpose"))
    give_up_parts(_good(cuts), _by_key(cuts), {one.item_id: one.item for one in cuts}, named(bar))
    ledger.reverse(posting=bar.posting, by=by, reason=reason or f"count of {named(bar)} undone")
    bar.cuts.update(state=SawCut.State.WAITING, reason="")
    bar.state, bar.posting, bar.began_at, bar.finished_at = SawBar.State.WAITING, None, None, None
    bar.offcut, bar.cast = None, ""
    bar.lot = bar.lot if bar.is_offcut else None
    bar.save(update_fields=["state", "posting", "began_at", "finished_at", "offcut", "cast", "lot"])
    BarBatch.objects.filter(pk=bar.batch_id).update(state=BarBatch.State.BEGUN)
    reopen_sawn_orders(order_ids=_order_ids(bar), by=by)
    return bar


def named(bar: SawBar) -> str:
    """How people call a bar: "BB-00012, bar 3"."""
    return f"{bar.batch.number}, bar {bar.number}"


def _locked(bar: SawBar) -> SawBar:
    # The rules' row first: a gathering holds it while it replaces batches, so none goes while its bar is begun.
    SawRules.objects.select_for_update().filter(pk=1).first()
    BarBatch.objects.select_for_update().filter(pk=bar.batch_id).first()
    found = (
        SawBar.objects.select_related("batch__plan", "batch__item", "lot", "by", "posting")
        .filter(pk=bar.pk)
        .first()
    )
    if found is None:
        raise ProblemError(
            Problem(
                "This bar was planned anew meanwhile",
                f"bar {bar.number}",
                "Open the saw's list and take it there.",
            )
        )
    return found


def _refuse_done(bar: SawBar) -> None:
    if bar.state == SawBar.State.DONE:
        raise ProblemError(
            Problem("This bar is sawn already", named(bar), "Undo the count first if it was not.")
        )


def _mark(bar: SawBar, cuts: list[SawCut], scrapped: Mapping[int, str], lost: Mapping[int, str]) -> None:
    bad = {**scrapped, **lost}
    if strangers := set(bad) - {cut.pk for cut in cuts}:
        raise ProblemError(
            Problem(
                f"{len(strangers)} of the pieces marked as bad are not of this bar",
                named(bar),
                "Load the page again and mark them once more.",
            )
        )
    if any(not reason.strip() for reason in bad.values()):
        raise ProblemError(Problem("A bad piece has no reason", named(bar), "Choose a reason for each."))
    for cut in cuts:
        cut.reason = bad.get(cut.pk, "")[:120]
        cut.state = (
            SawCut.State.LOST
            if cut.pk in lost
            else SawCut.State.SCRAP
            if cut.pk in bad
            else SawCut.State.GOOD
        )
    SawCut.objects.bulk_update(cuts, ["state", "reason"])


def _refuse_other_marks(bar: SawBar, marks: Mapping[int, str]) -> None:
    counted = {one.pk: one.reason for one in bar.cuts.filter(state__in=SawCut.BAD)}
    if counted != marks:
        raise ProblemError(
            Problem(
                f"{bar.by or 'Somebody'} counted this bar already, with other pieces marked bad",
                named(bar),
                "Look at the count. Undo it there if yours is right.",
            )
        )


def _raw_bar(bar: SawBar) -> Balance:
    """The balance the bar is taken from: its offcut, else the first on the picker's way that holds so many metres."""
    section = bar.batch.item
    if bar.is_offcut:
        own = [one for one in offcuts_lying({section.pk}).get(section.pk, []) if one.lot_id == bar.lot_id]
        if own:
            return own[0]
        raise ProblemError(
            Problem(
                f"Offcut {bar.lot} of {section.code} lies on no shelf",
                named(bar),
                "Look for it and count it on its shelf, or have the batch planned anew.",
            )
        )
    lying = sheets_on_shelf(section.pk, bar.length_mm / MM)
    if lying:
        return lying[0]
    raise ProblemError(
        Problem(
            f"No bar of {section.code}, {format_quantity(bar.length_mm)} mm, lies on a shelf",
            named(bar),
            "Book it in at goods-in, or count the shelf if one is there, and finish again.",
        )
    )


def _offcut(bar: SawBar, cuts: Iterable[SawCut], keep: KeepBar, cast: str) -> Lot:
    most = bar.length_mm - sum((cut.length_mm for cut in cuts), Decimal(0))
    if keep.place.kind != Location.Kind.SHELF or not 0 < keep.length_mm <= most:
        raise ProblemError(
            Problem(
                f"An offcut of {format_quantity(keep.length_mm)} mm cannot be left: the pieces leave at most "
                f"{format_quantity(max(most, Decimal(0)))} mm",
                named(bar),
                "Measure it again, and choose a shelf for it.",
            )
        )
    lot, _ = Lot.objects.update_or_create(
        item=bar.batch.item,
        code=f"{bar.batch.number}-{bar.number}",
        defaults={
            "kind": Lot.Kind.OFFCUT,
            "cast": cast,
            "received_on": timezone.localdate(),
            "length_mm": keep.length_mm.quantize(Decimal("0.1")),
        },
    )
    return lot


def _lines(
    bar: SawBar, raw: Balance, cuts: Iterable[SawCut], cast: str, keep: KeepBar | None
) -> list[ledger.Line]:
    rack, conversion = place("CUT"), place("CONV")
    metres = raw.quantity if bar.is_offcut else (bar.length_mm / MM).quantize(PLACES)
    lines = [
        ledger.Line(raw.item_id, raw.location_id, -metres, raw.lot_id),
        ledger.Line(raw.item_id, conversion.pk, metres, raw.lot_id),
    ]
    good = Counter(cut.item_id for cut in cuts if cut.state == SawCut.State.GOOD)
    lots = cast_lots(good, cast)
    for item_id, count in sorted(good.items()):
        lines += [
            ledger.Line(item_id, conversion.pk, -Decimal(count), lots.get(item_id)),
            ledger.Line(item_id, rack.pk, Decimal(count), lots.get(item_id)),
        ]
    if keep is not None and bar.offcut is not None:
        back = (keep.length_mm / MM).quantize(PLACES)
        lines += [
            ledger.Line(raw.item_id, conversion.pk, -back, bar.offcut.pk),
            ledger.Line(raw.item_id, keep.place.pk, back, bar.offcut.pk),
        ]
    return lines


def _good(cuts: Iterable[SawCut]) -> GoodParts:
    return Counter(
        (cut.order.pk, cut.item_id)
        for cut in cuts
        if cut.state == SawCut.State.GOOD and cut.order is not None and cut.order.is_open
    )


def _by_key(cuts: Iterable[SawCut]) -> dict[int, Order]:
    return {cut.order.pk: cut.order for cut in cuts if cut.order is not None}


def _order_ids(bar: SawBar) -> list[int]:
    return sorted({pk for pk in bar.cuts.values_list("order_id", flat=True) if pk})


def _settle_batch(batch: BarBatch) -> None:
    if not batch.bars.exclude(state=SawBar.State.DONE).exists():
        BarBatch.objects.filter(pk=batch.pk).update(state=BarBatch.State.DONE)
