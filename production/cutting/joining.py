"""Parts that join the next sheet: a part to be cut again, an order that is wanted sooner.

The next batch of their metal that nobody has begun is laid out anew with them, in the background; where there is none,
a batch of their own is made. A batch that has been begun is frozen.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import timedelta
from decimal import ROUND_CEILING, Decimal
from functools import partial

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from bom.geometry.models import FlatPart
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.cutting.completing import owed_parts
from production.cutting.models import BatchRenest, CutBatch, CutPlacement, CutSheet, JoinedPart
from production.cutting.tasks import renest
from production.orders.models import Order
from production.planning.models import Plan

Part = tuple[int, int | None, int, str]
"""A flat part, the order it is for (none: the rack), how many, and why."""

WANTED_SOONER = "wanted sooner"


def next_unbegun(grade: str, thickness_mm: Decimal) -> CutBatch | None:
    """The next released batch of a metal of which no sheet was ever begun."""
    return (
        CutBatch.objects.filter(state=CutBatch.State.RELEASED, grade=grade, thickness_mm=thickness_mm)
        .exclude(sheets__stretches__isnull=False)
        .order_by(F("starts_at").asc(nulls_last=True), "number")
        .first()
    )


@transaction.atomic
def recut(*, sheet: CutSheet, by: User | None) -> BatchRenest | None:
    """Let the bad parts of a counted sheet join the next batch at once. None where it has none.

    Parts of orders that are cancelled or done are not cut again, nor are fillers. Once a sheet: a repeat returns none.
    """
    bad = Counter(
        (one.part_id, one.order_id, one.reason)
        for one in sheet.placements.filter(
            state__in=[CutPlacement.State.SCRAP, CutPlacement.State.LOST], is_filler=False
        ).select_related("order")
        if one.order is None or one.order.is_open
    )
    why = f"{sheet.batch.number}-{sheet.number}"
    parts = [(part, order, count, f"{why}: {said}"[:120]) for (part, order, said), count in bad.items()]
    return join(
        parts=parts, plan=sheet.batch.plan, metal=(sheet.batch.grade, sheet.batch.thickness_mm), by=by
    )


@transaction.atomic
def hurry(*, order: Order, by: User | None) -> list[BatchRenest]:
    """Let what the laser still owes an order join the next sheets of its metals.

    Its parts leave the later batches they wait in.

    Raises:
        ProblemError: no plan is released, or nothing of the order waits for the laser.
    """
    plan = Plan.current()
    parts = _waiting_parts(order) + _owed_parts(order)
    if plan is None or not parts:
        raise ProblemError(
            Problem(
                "Nothing of this order waits for the laser" if plan else "No plan is released",
                f"order {order.number}",
                "Look at its thread: its parts may be cut or on a sheet that is begun.",
            )
        )
    metals: dict[tuple[str, Decimal], list[Part]] = defaultdict(list)
    for row, quantity in parts:
        metals[row.grade, row.thickness_mm].append((row.pk, order.pk, quantity, WANTED_SOONER))
    runs = [join(parts=found, plan=plan, metal=metal, by=by) for metal, found in sorted(metals.items())]
    return [run for run in runs if run is not None]


def join(
    *, parts: Sequence[Part], plan: Plan, metal: tuple[str, Decimal], by: User | None
) -> BatchRenest | None:
    """Queue the laying out anew of the next batch of this metal with these parts. Call inside a transaction.

    Where one already waits for the same batch, the parts are added to it.
    """
    if not parts:
        return None
    batch = next_unbegun(*metal)
    run = (
        BatchRenest.objects.select_for_update()
        .filter(batch=batch, grade=metal[0], thickness_mm=metal[1], state=BatchRenest.State.QUEUED)
        .first()
    )
    if run is None:
        run = BatchRenest.objects.create(
            batch=batch,
            plan=plan,
            grade=metal[0],
            thickness_mm=metal[1],
            asked_by=by,
            step="waiting for the worker",
        )
        transaction.on_commit(partial(renest.delay, run.pk))
    JoinedPart.objects.bulk_create(
        JoinedPart(renest=run, part_id=part, order_id=order, quantity=quantity, why=why)
        for part, order, quantity, why in parts
    )
    return run


def _waiting_parts(order: Order) -> list[tuple[FlatPart, int]]:
    """Parts that wait on released sheets of batches nobody has begun, by part."""
    rows = movable(CutPlacement.objects.filter(order=order)).select_related("part")
    counts = Counter(one.part for one in rows)
    return sorted(counts.items(), key=lambda pair: pair[0].pk)


def movable(rows: QuerySet[CutPlacement]) -> QuerySet[CutPlacement]:
    """Those placements that lie in released batches of which nobody has begun a sheet."""
    return rows.filter(
        state=CutPlacement.State.WAITING,
        sheet__state=CutSheet.State.WAITING,
        sheet__batch__state=CutBatch.State.RELEASED,
    ).exclude(sheet__batch__sheets__stretches__isnull=False)


def _owed_parts(order: Order) -> list[tuple[FlatPart, int]]:
    owed = owed_parts([order]).get(order.pk, {})
    return [
        (part, int(owed[part.item_id].to_integral_value(ROUND_CEILING)))
        for part in FlatPart.objects.filter(item_id__in=owed, contours__isnull=False)
        .distinct()
        .order_by("pk")
    ]


def latest_runs(batches: Iterable[CutBatch]) -> list[BatchRenest]:
    """What joined or is joining these batches, the latest first. Two queries."""
    return list(
        BatchRenest.objects.filter(batch__in=[one.pk for one in batches])
        .prefetch_related("parts__part__item", "parts__order")
        .order_by("-pk")[:10]
    )


def running() -> list[BatchRenest]:
    """What is joining just now, and what failed to in the last day. Two queries."""
    recent = Q(state=BatchRenest.State.FINISHED, outcome=BatchRenest.Outcome.FAILED) & Q(
        finished_at__gt=timezone.now() - timedelta(days=1)
    )
    rows = BatchRenest.objects.filter(~Q(state=BatchRenest.State.FINISHED) | recent).select_related("batch")
    return list(rows.prefetch_related("parts__part__item", "parts__order").order_by("-pk")[:5])
