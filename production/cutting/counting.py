"""Counting at the laser: a sheet is begun, stopped, finished with its good and bad parts, or taken back.

Finishing is one posting: the raw sheet leaves its shelf, the good parts appear in the rack of cut parts with the
cast of their steel and are kept for the orders they were cut for, and what is left of the sheet goes to a shelf.
A bad or lost part is not made (its steel is used all the same); it stays on its placement with the reason, and is
owed again.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Balance, Lot, Posting
from inventory.stock.queries import place
from production.cutting.completing import ON_THE_FLOOR, finish_cut_orders, reopen_laser
from production.cutting.joining import recut
from production.cutting.keeping import GoodParts, cast_lots, cast_of, count_key, give_up_parts, keep_parts
from production.cutting.models import CutBatch, CutPlacement, CutSheet, CutStretch
from production.cutting.offcuts import Keep, kept_offcut, offcut_lines, offcuts_lying
from production.cutting.shelves import no_offcut, no_sheet, sheets_on_shelf
from production.cutting.stopping import refuse_stopped, refused_parts
from production.orders.models import Order
from production.works import tracking
from production.works.models import WorksOperation

State = CutPlacement.State
NOTHING: Mapping[int, str] = {}
ONE = Decimal(1)


@transaction.atomic
def begin_sheet(*, sheet: CutSheet, by: User, happened_at: datetime | None = None) -> CutSheet:
    """The operator takes the sheet to the table, now or at `happened_at`.

    Beginning a sheet that he has begun changes nothing.

    Raises:
        ProblemError: somebody else has begun it, a part of it changed since it was laid out, or it is not to be
            cut now.
    """
    sheet = _locked(sheet)
    if sheet.state == CutSheet.State.BEGUN:
        if sheet.by_id == by.pk:
            return sheet
        raise ProblemError(
            Problem(
                f"{sheet.by} has begun this sheet",
                named(sheet),
                "Take the next one, or ask for it to be stopped here first.",
            )
        )
    _refuse_unless(sheet, CutSheet.State.WAITING, "begun")
    refuse_stopped(sheet, named(sheet))
    now = happened_at or timezone.now()
    sheet.state, sheet.began_at, sheet.by, sheet.problem = CutSheet.State.BEGUN, now, by, ""
    sheet.save(update_fields=["state", "began_at", "by", "problem"])
    CutStretch.objects.create(sheet=sheet, by=by, began_at=now)
    _begin_batch(sheet.batch)
    for operation in _laser_operations(_orders(sheet), WorksOperation.State.WAITING):
        tracking.begin_operation(operation=operation, by=by)
    return sheet


@transaction.atomic
def stop_sheet(*, sheet: CutSheet, by: User, problem: str) -> CutSheet:
    """Put a sheet back to waiting with the reason; the time worked on it is kept.

    It is cut later, or the next plan lays it out anew.
    """
    sheet = _locked(sheet)
    if not problem.strip():
        raise ProblemError(
            Problem(
                "No reason was given for stopping",
                where=named(sheet),
                mend="Say in a few words what stopped it.",
            )
        )
    if sheet.state == CutSheet.State.DONE:
        raise ProblemError(
            Problem(
                "This sheet is cut already", where=named(sheet), mend="Undo the count first if it was not."
            )
        )
    sheet.state, sheet.began_at, sheet.by = CutSheet.State.WAITING, None, by
    sheet.problem = problem.strip()[:200]
    sheet.save(update_fields=["state", "began_at", "by", "problem"])
    _end_stretch(sheet, CutStretch.End.STOPPED, sheet.problem)
    return sheet


@transaction.atomic
def finish_sheet(
    *,
    sheet: CutSheet,
    by: User,
    scrapped: Mapping[int, str] = NOTHING,
    lost: Mapping[int, str] = NOTHING,
    lot: Lot | None = None,
    cast: str = "",
    keep: Keep | None = None,
    happened_at: datetime | None = None,
) -> CutSheet:
    """Count a cut sheet: `scrapped` and `lost` give the reason by placement id, every other part is good.

    `lot` is the lot the sheet was taken from; without it the first on the picker's way is taken. `cast` is the
    number read off the sheet, for one whose lot does not say it. `keep` brings what is left to a shelf. A second
    finish of the same sheet with the same marks (a double click, two tabs) changes nothing and posts nothing.

    Raises:
        ProblemError: the batch is not on the floor, a placement is not of this sheet, a reason is missing, a part
            changed since it was laid out, no such sheet lies on a shelf, nothing is left to keep, or somebody
            counted it already with other marks.
    """
    sheet = _locked(sheet)
    if sheet.state == CutSheet.State.DONE:
        _refuse_other_marks(sheet, scrapped, lost)
        return sheet
    if sheet.state == CutSheet.State.WAITING:
        sheet = begin_sheet(sheet=sheet, by=by, happened_at=happened_at)
    _refuse_unless(sheet, CutSheet.State.BEGUN, "counted")
    refuse_stopped(sheet, named(sheet))
    placements = list(sheet.placements.select_related("part", "order__purpose"))
    _mark(sheet, placements, scrapped, lost)
    raw = _raw_sheet(sheet, lot or sheet.lot)
    cast = cast_of(raw.lot) or cast.strip()[:60]
    lines = _lines(raw, placements, cast)
    if keep is not None:
        sheet.offcut, share = kept_offcut(sheet, keep, cast, named(sheet))
        lines += offcut_lines(raw, sheet.offcut, share, keep, place("CONV"))
    sheet.posting = ledger.post(
        key=count_key(f"sheet:{sheet.batch.number}:{sheet.number}"),
        kind=Posting.Kind.MAKE,
        lines=lines,
        by=by,
        reason=named(sheet),
        happened_at=happened_at,
    )
    sheet.state, sheet.by, sheet.lot, sheet.cast = CutSheet.State.DONE, by, raw.lot, cast
    sheet.finished_at = happened_at or timezone.now()
    sheet.save(update_fields=["state", "finished_at", "by", "lot", "cast", "offcut", "posting"])
    _end_stretch(sheet, CutStretch.End.DONE)
    keep_parts(_good_by_order(placements), _by_key(placements), by)
    _settle_batch(sheet.batch)
    finish_cut_orders(order_ids=[order.pk for order in _orders(sheet)], by=by)
    recut(sheet=sheet, by=by)
    return sheet


@transaction.atomic
def undo_sheet(*, sheet: CutSheet, by: User, reason: str) -> CutSheet:
    """Take a count back by the mirror posting, as long as its parts are still in the rack.

    The sheet is waiting again and the raw sheet is back on its shelf. Undoing an uncounted sheet changes nothing.
    """
    sheet = _locked(sheet)
    if sheet.state != CutSheet.State.DONE or sheet.posting is None:
        return sheet
    placements = list(sheet.placements.select_related("part__item", "order__purpose"))
    items = {one.part.item_id: one.part.item for one in placements}
    give_up_parts(_good_by_order(placements), _by_key(placements), items, named(sheet))
    ledger.reverse(posting=sheet.posting, by=by, reason=reason or f"count of {named(sheet)} undone")
    sheet.placements.update(state=State.WAITING, reason="")
    sheet.state, sheet.posting, sheet.began_at, sheet.finished_at = CutSheet.State.WAITING, None, None, None
    sheet.offcut, sheet.cast = None, ""
    if sheet.lot is not None and sheet.lot.kind != Lot.Kind.OFFCUT:
        sheet.lot = None
    sheet.save(update_fields=["state", "posting", "began_at", "finished_at", "offcut", "cast", "lot"])
    CutBatch.objects.filter(pk=sheet.batch_id, state=CutBatch.State.DONE).update(state=CutBatch.State.BEGUN)
    reopen_laser(order_ids=[order.pk for order in _orders(sheet)], by=by)
    return sheet


def named(sheet: CutSheet) -> str:
    """How people call a sheet: "CB-00012, sheet 3"."""
    return f"{sheet.batch.number}, sheet {sheet.number}"


def _locked(sheet: CutSheet) -> CutSheet:
    # The batch row is the lock: two sheets of one batch must not both believe the other is still waiting.
    CutBatch.objects.select_for_update().get(pk=sheet.batch_id)
    return CutSheet.objects.select_related("batch", "item", "lot", "posting").get(pk=sheet.pk)


def _refuse_unless(sheet: CutSheet, state: CutSheet.State, verb: str) -> None:
    if sheet.state == state and sheet.batch.state in CutBatch.OPEN:
        return
    if sheet.batch.state == CutBatch.State.PROPOSED:
        what, mend = "Its plan is not released yet", "Wait for the production manager to release the plan."
    elif CutBatch.State.DROPPED in (sheet.batch.state, sheet.state):
        what, mend = (
            "A newer plan has dropped it",
            "Open the laser's list and take the batch that replaced it.",
        )
    else:
        what, mend = f"It is {sheet.get_state_display()}", "Load the page again to see where it stands."
    raise ProblemError(
        Problem(f"The sheet cannot be {verb}: {what[0].lower()}{what[1:]}", named(sheet), mend)
    )


def _mark(
    sheet: CutSheet, placements: list[CutPlacement], scrapped: Mapping[int, str], lost: Mapping[int, str]
) -> None:
    """Write good, scrap or lost on every placement."""
    bad = {**scrapped, **lost}
    if strangers := set(bad) - {placement.pk for placement in placements}:
        raise ProblemError(
            Problem(
                f"{len(strangers)} of the parts marked as bad do not lie on this sheet",
                where=named(sheet),
                mend="Load the page again and mark them once more.",
            )
        )
    if any(not reason.strip() for reason in bad.values()):
        raise ProblemError(
            Problem("A bad part has no reason", where=named(sheet), mend="Choose a reason for each bad part.")
        )
    refused = refused_parts(sheet)
    bad = {one.pk: refused[one.part_id] for one in placements if one.part_id in refused} | bad
    for placement in placements:
        placement.reason = bad.get(placement.pk, "")[:120]
        placement.state = (
            State.LOST if placement.pk in lost else State.SCRAP if placement.pk in bad else State.GOOD
        )
    CutPlacement.objects.bulk_update(placements, ["state", "reason"])


def _raw_sheet(sheet: CutSheet, lot: Lot | None) -> Balance:
    """The balance the raw sheet is taken from: the wanted cast first, else the first on the picker's way.

    A layout made for an offcut fits that one only.
    """
    if sheet.lot is not None and sheet.lot.kind == Lot.Kind.OFFCUT:
        lying = offcuts_lying({sheet.item_id}).get(sheet.item_id, [])
        own = [balance for balance in lying if balance.lot_id == sheet.lot_id]
        if not own:
            raise ProblemError(no_offcut(sheet, named(sheet)))
        return own[0]
    balances = sheets_on_shelf(sheet.item_id)
    chosen = [balance for balance in balances if lot is not None and balance.lot_id == lot.pk]
    if chosen or balances:
        return (chosen or balances)[0]
    raise ProblemError(no_sheet(sheet, named(sheet)))


def _lines(raw: Balance, placements: Iterable[CutPlacement], cast: str) -> list[ledger.Line]:
    cut, conversion = place("CUT"), place("CONV")
    taken = raw.quantity if raw.lot is not None and raw.lot.kind == Lot.Kind.OFFCUT else ONE
    good = Counter(one.part.item_id for one in placements if one.state == State.GOOD)
    lots = cast_lots(good, cast)
    lines = [
        ledger.Line(raw.item_id, raw.location_id, -taken, raw.lot_id),
        ledger.Line(raw.item_id, conversion.pk, taken, raw.lot_id),
    ]
    for item_id, count in sorted(good.items()):
        lot = lots.get(item_id)
        lines += [
            ledger.Line(item_id, conversion.pk, -Decimal(count), lot),
            ledger.Line(item_id, cut.pk, Decimal(count), lot),
        ]
    return lines


def _end_stretch(sheet: CutSheet, ended_as: str, reason: str = "") -> None:
    """Close the time that is running. A sheet begun before stretches were kept has none."""
    ended_at = sheet.finished_at if ended_as == CutStretch.End.DONE else timezone.now()
    for one in sheet.stretches.filter(ended_at__isnull=True):
        one.ended_at = max(ended_at or timezone.now(), one.began_at)
        one.ended_as, one.reason = ended_as, reason
        one.save(update_fields=["ended_at", "ended_as", "reason"])


def _refuse_other_marks(sheet: CutSheet, scrapped: Mapping[int, str], lost: Mapping[int, str]) -> None:
    """A repeat is answered quietly, a second count that says something else is not."""
    counted = {
        one.pk: one.reason
        for one in sheet.placements.filter(state__in=[State.SCRAP, State.LOST])
        if not one.reason.startswith("changed since:")
    }
    if counted != {**scrapped, **lost}:
        when = f" at {timezone.localtime(sheet.finished_at):%H:%M}" if sheet.finished_at else ""
        raise ProblemError(
            Problem(
                f"{sheet.by or 'Somebody'} counted this sheet already{when}, with other parts marked bad",
                named(sheet),
                "Look at the count. Undo it there if yours is right.",
            )
        )


def _good_by_order(placements: Iterable[CutPlacement]) -> GoodParts:
    """How many good parts lie there by (order, item), for open orders only."""
    return Counter(
        (one.order.pk, one.part.item_id)
        for one in placements
        if one.state == State.GOOD and one.order is not None and one.order.is_open
    )


def _by_key(placements: Iterable[CutPlacement]) -> dict[int, Order]:
    return {one.order.pk: one.order for one in placements if one.order is not None}


def _orders(sheet: CutSheet) -> list[Order]:
    return list(Order.objects.filter(cut_placements__sheet=sheet).distinct().order_by("pk"))


def _laser_operations(orders: Iterable[Order], state: str) -> Iterable[WorksOperation]:
    return WorksOperation.objects.select_related("works_order__order", "process").filter(
        works_order__order__in=list(orders),
        works_order__order__state__in=ON_THE_FLOOR,
        process__code="laser",
        state=state,
    )


def _begin_batch(batch: CutBatch) -> None:
    if batch.state == CutBatch.State.RELEASED:
        batch.state = CutBatch.State.BEGUN
        batch.save(update_fields=["state"])


def _settle_batch(batch: CutBatch) -> None:
    open_sheets = batch.sheets.filter(state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN])
    if not open_sheets.exists():
        batch.state = CutBatch.State.DONE
        batch.save(update_fields=["state"])
