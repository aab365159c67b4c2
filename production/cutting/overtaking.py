"""Batches that the floor began after a plan was made: their parts are taken off that plan's own sheets.

The plan laid those parts out once more, because it could not know. A layout stays right where a part is missing from
it, so nothing has to be worked out again.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from django.db.models import Count, QuerySet

from production.cutting.models import CutBatch, CutPlacement, CutSheet
from production.planning.models import Plan


def begun_since(plan: Plan, since: datetime) -> QuerySet[CutBatch]:
    """Batches of other plans whose first sheet was begun after `since`; what was begun before, the plan knew."""
    return (
        CutBatch.objects.filter(sheets__stretches__began_at__gt=since)
        .exclude(plan=plan)
        .exclude(sheets__stretches__began_at__lte=since)
        .distinct()
        .order_by("number")
    )


def take_off_doubled(plan: Plan, since: datetime) -> list[str]:
    """Take off the plan's sheets what batches begun meanwhile cut already; the last sheets give first.

    Sheets left empty go, and batches left without a sheet are dropped. Returns a sentence for each batch begun. Call
    inside the transaction that releases the plan, after its batches were released.
    """
    return [said for batch in begun_since(plan, since) if (said := _take_off(plan, batch))]


def _take_off(plan: Plan, begun: CutBatch) -> str:
    doubled = Counter(
        CutPlacement.objects.filter(sheet__batch=begun)
        .exclude(sheet__state=CutSheet.State.DROPPED)
        .values_list("part_id", "order_id")
    )
    gone = []
    for pk, part_id, order_id in (
        CutPlacement.objects.filter(
            sheet__batch__plan=plan,
            sheet__batch__state=CutBatch.State.RELEASED,
            sheet__state=CutSheet.State.WAITING,
            state=CutPlacement.State.WAITING,
        )
        .order_by("-sheet__batch__starts_at", "-sheet__number", "-pk")
        .values_list("pk", "part_id", "order_id")
    ):
        if doubled[part_id, order_id] > 0:
            doubled[part_id, order_id] -= 1
            gone.append(pk)
    if not gone:
        return ""
    touched = set(CutSheet.objects.filter(placements__in=gone).values_list("pk", flat=True))
    CutPlacement.objects.filter(pk__in=gone).delete()
    drop_empty(touched)
    parts = "1 part" if len(gone) == 1 else f"{len(gone)} parts"
    return f"{begun} was begun after this plan was made: its {parts} were taken off this plan's sheets."


def drop_empty(sheet_ids: set[int]) -> None:
    """Sheets whose parts all went, and batches whose sheets all went, are not cut any more."""
    empty = CutSheet.objects.filter(pk__in=sheet_ids).annotate(left=Count("placements")).filter(left=0)
    batches = set(empty.values_list("batch_id", flat=True))
    CutSheet.objects.filter(pk__in=list(empty.values_list("pk", flat=True))).delete()
    CutBatch.objects.filter(pk__in=batches, sheets__isnull=True).update(state=CutBatch.State.DROPPED)
