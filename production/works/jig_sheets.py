"""Jig sheets: what a station must know of an item beyond its drawing, in numbered issues of which the last holds."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from django.db import transaction
from django.db.models import F, OuterRef, QuerySet, Subquery

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.structure.models import Operation, Process
from production.works.weld_models import JigNote, JigSheet

MOST_NOTES = 20
LONGEST = 300


def sheets_in_force(item_ids: Collection[int], process: str) -> dict[int, JigSheet]:
    """The last sheet of each item for a process, its notes fetched along. Two queries."""
    rows = _last(JigSheet.objects.filter(item__in=item_ids, process__code=process))
    return {row.item_id: row for row in rows.prefetch_related("notes")}


def all_in_force() -> QuerySet[JigSheet]:
    """The last sheet of every item and process."""
    return (
        _last(JigSheet.objects.all())
        .select_related("item", "process", "by")
        .order_by("process__sequence", "item__code")
    )


@transaction.atomic
def store_sheet(
    *,
    item: Item,
    process: Process,
    jig: str,
    quality: str,
    is_inspected: bool,
    notes: Sequence[str],
    by: User,
) -> JigSheet:
    """Write the next sheet of an item for a process. Where nothing differs the last one is returned.

    Raises:
        ProblemError: the item does not pass that station, nothing stands on the sheet, or too much does.
    """
    # The item's row is the lock: two who write at once get two numbers.
    Item.objects.select_for_update(no_key=True).get(pk=item.pk)
    words = [note.strip() for note in notes if note.strip()]
    jig, quality = jig.strip()[:80], quality.strip()[:80]
    before = sheets_in_force([item.pk], process.code).get(item.pk)
    if before is not None and _same(before, jig, quality, is_inspected, words):
        return before
    where = f"{item.code}, {process.name}"
    if problems := _cannot(item, process, where, words):
        raise ProblemError(*problems)
    sheet = JigSheet.objects.create(
        item=item,
        process=process,
        number=before.number + 1 if before else 1,
        jig=jig,
        quality=quality,
        is_inspected=is_inspected,
        by=by,
    )
    JigNote.objects.bulk_create(
        JigNote(sheet=sheet, position=at, words=note) for at, note in enumerate(words, start=1)
    )
    return sheet


def _last(rows: QuerySet[JigSheet]) -> QuerySet[JigSheet]:
    newest: Any = JigSheet.objects.filter(item=OuterRef("item"), process=OuterRef("process")).order_by(
        "-number"
    )
    return rows.annotate(newest=Subquery(newest.values("number")[:1])).filter(number=F("newest"))


def _same(sheet: JigSheet, jig: str, quality: str, is_inspected: bool, words: Sequence[str]) -> bool:
    kept = [note.words for note in sheet.notes.all()]
    return (sheet.jig, sheet.quality, sheet.is_inspected, kept) == (jig, quality, is_inspected, list(words))


def _cannot(item: Item, process: Process, where: str, words: Sequence[str]) -> list[Problem]:
    problems = []
    if not Operation.objects.filter(revision__item=item, process=process).exists():
        problems.append(
            Problem(f"{item.code} does not pass {process.name}", where, "Look at the operations of its bill.")
        )
    if len(words) > MOST_NOTES:
        problems.append(Problem(f"{len(words)} notes stand on it", where, f"At most {MOST_NOTES} are read."))
    problems += [
        Problem(f"Note {at} has {len(note)} characters", where, f"Write at most {LONGEST}, or two notes.")
        for at, note in enumerate(words, start=1)
        if len(note) > LONGEST
    ]
    return problems
