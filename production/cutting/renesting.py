"""Laying a batch out anew with parts that join it. Loads the nesting; background work only.

Read, compute without a transaction, then store everything at once, if meanwhile nobody has begun the batch.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Runner, Stopped
from production.cutting.batching import Batch, Flat, Gathered, Owed, lay_out, read_flats
from production.cutting.completing import owed_parts
from production.cutting.joining import WANTED_SOONER, movable
from production.cutting.models import BatchRenest, CutBatch, CutPlacement, CutSheet, LaidPart
from production.cutting.nesting.job import NestProgress
from production.cutting.overtaking import drop_empty
from production.cutting.raws import Raw, read_raw
from production.cutting.stopping import note_parts
from production.cutting.storing import MILLI, SHARE, TENTH, decimal, store_sheets
from production.orders.models import Order

SECONDS = 8.0
RUNNER = Runner(BatchRenest, what="layout", first_step="reading what joins")
sweep = RUNNER.sweep


@dataclass(frozen=True)
class Ground:
    """What was read: what to cut by (item, order), which of it joins, which placements it replaces."""

    wanted: Counter[tuple[int, int | None]]
    joins: frozenset[tuple[int, int | None]]
    replaces: frozenset[int]
    flats: dict[int, Flat]
    raws: list[Raw]


def carry_out(run_id: int) -> None:
    """Lay out the batch of a queued run."""
    RUNNER.carry_out(run_id, _work)


def _work(run: BatchRenest, pulse: Pulse) -> None:
    ground = _read(run)
    if not ground.joins:
        _close(run, "Nothing joins any more: it is cut, cancelled or planned already.")
        return
    pulse.step(10, f"laying out {sum(ground.wanted.values())} parts")
    today = timezone.localdate()
    owed = tuple(
        Owed(order, item, count, date.min if (item, order) in ground.joins else today, today)
        for (item, order), count in sorted(
            ground.wanted.items(), key=lambda pair: (pair[0][0], pair[0][1] or 0)
        )
    )
    gathered = Gathered((run.grade, run.thickness_mm), owed, 0.0)

    def tell(progress: NestProgress) -> bool:
        return pulse.tell(10 + 80 * progress.share, f"{progress.step}, {progress.placed} parts laid")

    urgent = {item for item, _ in ground.joins}
    laid = lay_out(gathered, ground.flats, ground.raws, SECONDS, tell, urgent=urgent)
    if not pulse.tell(92, "writing it down", now=True):
        raise Stopped
    if laid.left:
        raise ProblemError(
            *[Problem(said, str(run), "Mend that; the next plan cuts them.") for said in laid.left]
        )
    _store(run, ground, laid)


def _read(run: BatchRenest) -> Ground:
    kept = _kept_placements(run)
    joined = _joined(run)
    hurried = {one.order_id for one in run.parts.all() if one.why == WANTED_SOONER and one.order_id}
    moved = list(
        movable(CutPlacement.objects.filter(order_id__in=hurried, order__state__in=Order.OPEN))
        .filter(sheet__batch__grade=run.grade, sheet__batch__thickness_mm=run.thickness_mm)
        .exclude(sheet__batch=run.batch_id or 0)
        .select_related("part")
    )
    # What only filled gaps may find none in the new layout.
    wanted = Counter((one.part.item_id, one.order_id) for one in kept if not one.is_filler)
    wanted.update(joined)
    wanted.update((one.part.item_id, one.order_id) for one in moved)
    joins = set(joined) | {(one.part.item_id, one.order_id) for one in moved}
    # What the order has in this very batch goes to the front as well.
    joins |= {(one.part.item_id, one.order_id) for one in kept if one.order_id in hurried}
    flats = read_flats({item for item, _ in wanted})
    return Ground(
        wanted,
        frozenset(joins),
        frozenset(one.pk for one in [*kept, *moved]),
        flats,
        _free_raws(run),
    )


def _kept_placements(run: BatchRenest) -> list[CutPlacement]:
    if run.batch is None:
        return []
    return list(CutPlacement.objects.filter(sheet__batch=run.batch).select_related("part"))


def _joined(run: BatchRenest) -> Counter[tuple[int, int | None]]:
    """What joins and is still owed: an order that has its parts by now, or is cancelled, gets no second ones."""
    asked: Counter[tuple[int, int | None]] = Counter()
    for one in run.parts.select_related("part", "order"):
        if one.order is None or one.order.is_open:
            asked[one.part.item_id, one.order_id] += one.quantity
    orders = Order.objects.filter(pk__in={order for _, order in asked if order})
    owed = owed_parts(orders)
    found: Counter[tuple[int, int | None]] = Counter()
    for (item, order), count in asked.items():
        most = int(owed.get(order, {}).get(item, 0)) if order else count
        if min(count, most) > 0:
            found[item, order] = min(count, most)
    return found


def _free_raws(run: BatchRenest) -> list[Raw]:
    """Sheets of the metal; offcuts that another open batch is laid out on are left to it."""
    taken = set(
        CutSheet.objects.filter(batch__state__in=CutBatch.OPEN, lot__isnull=False)
        .exclude(batch=run.batch_id or 0)
        .exclude(state=CutSheet.State.DONE)
        .values_list("lot_id", flat=True)
    )
    raws = read_raw().get((run.grade, run.thickness_mm), [])
    return [raw for raw in raws if raw.lot_id not in taken]


@transaction.atomic
def _store(run: BatchRenest, ground: Ground, laid: Batch) -> None:
    batch = _locked_batch(run)
    _refuse_overtaken(run, batch, ground)
    emptied = set(
        CutSheet.objects.filter(placements__in=ground.replaces)
        .exclude(batch=batch)
        .values_list("pk", flat=True)
    )
    CutPlacement.objects.filter(pk__in=ground.replaces).delete()
    batch.sheets.all().delete()
    LaidPart.objects.filter(batch=batch).delete()
    store_sheets([batch], [laid])
    batch.minutes, batch.use = decimal(laid.minutes, TENTH), decimal(laid.use, SHARE)
    batch.bound_sheets = decimal(laid.bound_sheets, MILLI)
    batch.save(update_fields=["minutes", "use", "bound_sheets"])
    note_parts([batch])
    drop_empty(emptied)
    BatchRenest.objects.filter(pk=run.pk).update(batch=batch)
    _close(run, f"{batch.number} has {len(laid.sheets)} sheets now; what joined lies on the first.")


def _locked_batch(run: BatchRenest) -> CutBatch:
    if run.batch_id is not None:
        return CutBatch.objects.select_for_update().get(pk=run.batch_id)
    count = CutBatch.objects.filter(plan=run.plan, number__startswith=f"CB-{run.plan.number}-J").count()
    return CutBatch.objects.create(
        number=f"CB-{run.plan.number}-J{count + 1}",
        plan=run.plan,
        grade=run.grade,
        thickness_mm=run.thickness_mm,
        state=CutBatch.State.RELEASED,
        needed_on=timezone.localdate(),
        starts_at=timezone.now(),
    )


def _refuse_overtaken(run: BatchRenest, batch: CutBatch, ground: Ground) -> None:
    begun = batch.sheets.filter(stretches__isnull=False).exists() or batch.state != CutBatch.State.RELEASED
    now = set(CutPlacement.objects.filter(pk__in=ground.replaces).values_list("pk", flat=True))
    elsewhere = CutPlacement.objects.filter(pk__in=ground.replaces).exclude(sheet__batch=batch)
    moved = elsewhere.count() != movable(elsewhere).values("pk").distinct().count()
    if begun or moved or now != ground.replaces:
        raise ProblemError(
            Problem(
                "The batch was begun or changed while it was laid out anew",
                batch.number,
                "Let the parts join the next batch.",
            )
        )


def _close(run: BatchRenest, said: str) -> None:
    with transaction.atomic():
        BatchRenest.objects.filter(pk=run.pk).update(said=said[:200])
        if not RUNNER.close(run.pk, BatchRenest.Outcome.SUCCEEDED):
            raise Stopped
