"""A plan's parts and layouts copied to a plan that is made from it: what nobody has begun, row by row."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TypeVar

from django.db.models import Model, QuerySet

from production.cutting.models import CutBatch, CutPlacement, CutSheet, LaidPart
from production.planning.keeping import ROWS_AT_ONCE
from production.planning.models import BookNeed, Peg, Plan, PlanNote, Shortage, Suggestion
from production.scheduling.asked.holding import NOT_KEPT
from production.scheduling.asked.question import batch_name

M = TypeVar("M", bound=Model)


def copy_parts(source: Plan, target: Plan) -> None:
    """Suggestions, which supply serves which order, shortages, what the whole book needs, and notes.

    What was bought since is not lost: a copied suggestion keeps its purchase line.
    """
    kept = list(Suggestion.objects.filter(plan=source))
    old = [row.pk for row in kept]
    made = _copied(kept, plan=target)
    suggestions = dict(zip(old, made, strict=True))
    pegs, shortages = list(Peg.objects.filter(plan=source)), list(Shortage.objects.filter(plan=source))
    served: list[Peg | Shortage] = [*pegs, *shortages]
    for row in served:
        if row.suggestion_id is not None:
            row.suggestion = suggestions[row.suggestion_id]
    _copied(pegs, plan=target)
    _copied(shortages, plan=target)
    _copied(list(BookNeed.objects.filter(plan=source)), plan=target)
    # What the source could not hold is said of the source; the target says its own.
    _copied(list(PlanNote.objects.filter(plan=source).exclude(sentence__startswith=NOT_KEPT)), plan=target)


def waiting_batches(plan: Plan, names: Mapping[str, int]) -> dict[str, CutBatch]:
    """By the scheduler's name, the plan's batches that nobody has begun. One query."""
    by_number = {batch_name(plan.number, index): name for name, index in names.items()}
    rows = CutBatch.objects.filter(plan=plan, number__in=by_number).exclude(
        state__in=[CutBatch.State.BEGUN, CutBatch.State.DONE]
    )
    return {by_number[row.number]: row for row in rows}


def copy_batches(
    target: Plan, batches: Mapping[str, CutBatch], times: Mapping[str, tuple[datetime, datetime]]
) -> list[CutBatch]:
    """Batches with their sheets, layouts and the parts as they were laid; numbered after the target, in the order
    given, with new times."""
    rows = list(batches.values())
    old = [row.pk for row in rows]
    for index, (name, row) in enumerate(batches.items()):
        row.number = batch_name(target.number, index)
        row.starts_at, row.ends_at = times.get(name, (None, None))
        row.state = CutBatch.State.PROPOSED
    made = _copied(rows, plan=target)
    new = dict(zip(old, made, strict=True))
    sheets = list(CutSheet.objects.filter(batch__in=old).exclude(state=CutSheet.State.DROPPED))
    old_sheets = [sheet.pk for sheet in sheets]
    for sheet in sheets:
        sheet.batch = new[sheet.batch_id]
    new_sheets = dict(zip(old_sheets, _copied(sheets), strict=True))
    spots = list(CutPlacement.objects.filter(sheet__in=old_sheets))
    for spot in spots:
        spot.sheet = new_sheets[spot.sheet_id]
    _copied(spots)
    laid = list(LaidPart.objects.filter(batch__in=old))
    for part in laid:
        part.batch = new[part.batch_id]
    _copied(laid)
    return made


def _copied(rows: list[M], **changes: Model) -> list[M]:
    """The rows written again as new ones. Nothing of the old rows is touched."""
    if not rows:
        return []
    for row in rows:
        row.pk = None
        row._state.adding = True
        for name, value in changes.items():
            setattr(row, name, value)
    manager: QuerySet[M] = type(rows[0])._default_manager.all()
    return manager.bulk_create(rows, batch_size=ROWS_AT_ONCE)
