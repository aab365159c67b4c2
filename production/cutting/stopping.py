"""Parts that were revised or redrawn after they were laid out: their sheets stop until somebody permitted decides."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from bom.geometry.models import FlatContour
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.structure.models import Revision
from production.cutting.models import CutBatch, CutPlacement, CutSheet, LaidPart, StopDecision

NEEDED = "production.clear_stops"


@dataclass(frozen=True)
class Standing:
    """How a part stands: its released revision, if it has one, and the digest of its outline."""

    revision_id: int | None
    letter: str
    outline: str


@dataclass(frozen=True)
class Stop:
    """A part of a batch that changed, in words, and its row."""

    laid: LaidPart
    code: str
    words: str
    now: Standing


def standings(parts: Collection[tuple[int, int]]) -> dict[int, Standing]:
    """By part: how it stands today; `parts` are (part, item). Two queries.

    Revisions that begin with a trailer's number are left out: they alter nothing that is laid out already, because
    its orders are frozen.
    """
    items = {item_id for _, item_id in parts}
    released: dict[int, Revision] = {}
    for revision in Revision.objects.filter(
        item_id__in=items,
        state=Revision.State.RELEASED,
        effective_from__lte=timezone.localdate(),
        from_number=None,
    ).order_by("effective_from", "pk"):
        released[revision.item_id] = revision
    texts: dict[int, list[str]] = defaultdict(list)
    for part_id, vertices in (
        FlatContour.objects.filter(part_id__in={part for part, _ in parts})
        .order_by("part_id", "sequence")
        .values_list("part_id", "vertices")
    ):
        texts[part_id].append(vertices)
    return {part_id: _standing(released.get(item_id), texts[part_id]) for part_id, item_id in parts}


def _standing(revision: Revision | None, contours: Iterable[str]) -> Standing:
    digest = hashlib.sha256("\n".join(contours).encode()).hexdigest()
    return Standing(revision.pk if revision else None, revision.letter if revision else "", digest)


def note_parts(batches: Iterable[CutBatch]) -> None:
    """Write down how every part of these batches stands, when they are laid out. What is noted already stays."""
    ids = [batch.pk for batch in batches]
    rows = set(
        CutPlacement.objects.filter(sheet__batch__in=ids)
        .order_by()
        .values_list("sheet__batch_id", "part_id", "part__item_id")
        .distinct()
    )
    known = set(LaidPart.objects.filter(batch__in=ids).values_list("batch_id", "part_id"))
    now = standings({(part_id, item_id) for _, part_id, item_id in rows})
    LaidPart.objects.bulk_create(
        [
            LaidPart(
                batch_id=batch_id,
                part_id=part_id,
                revision_id=now[part_id].revision_id,
                outline=now[part_id].outline,
            )
            for batch_id, part_id, _ in sorted(rows)
            if (batch_id, part_id) not in known
        ],
        batch_size=500,
    )


def stops_of(batches: Collection[CutBatch]) -> dict[int, list[Stop]]:
    """By batch, its parts that changed since and on which nobody has decided yet. Four queries."""
    laid = list(
        LaidPart.objects.filter(batch__in=[one.pk for one in batches])
        .select_related("part__item", "revision")
        .prefetch_related("decisions")
    )
    now = standings({(one.part_id, one.part.item_id) for one in laid})
    found: dict[int, list[Stop]] = defaultdict(list)
    for one in laid:
        is_now = now[one.part_id]
        if _has_changed(one, is_now) and _decision(one, is_now) is None:
            found[one.batch_id].append(Stop(one, one.part.item.code, _words(one, is_now), is_now))
    return dict(found)


def stops_on(sheet: CutSheet) -> list[Stop]:
    """Those stops of its batch that concern parts still waiting on this sheet."""
    stops = stops_of([sheet.batch]).get(sheet.batch_id, [])
    if not stops:
        return []
    here = set(sheet.placements.values_list("part_id", flat=True))
    return [stop for stop in stops if stop.laid.part_id in here]


def refused_parts(sheet: CutSheet) -> dict[int, str]:
    """Parts of the sheet on which it was decided that they are not used, with the words. Three queries at most."""
    laid = list(
        LaidPart.objects.filter(batch=sheet.batch_id, decisions__decision=StopDecision.Decision.SCRAP)
        .select_related("part")
        .prefetch_related("decisions")
        .distinct()
    )
    if not laid:
        return {}
    now = standings({(one.part_id, one.part.item_id) for one in laid})
    refused = {}
    for one in laid:
        decision = _decision(one, now[one.part_id])
        if decision is not None and decision.decision == StopDecision.Decision.SCRAP:
            refused[one.part_id] = f"changed since: {decision.note}"[:120]
    return refused


@transaction.atomic
def decide(*, laid: LaidPart, by: User, decision: str, note: str) -> StopDecision:
    """Clear a stop: the part is cut as laid out, or its pieces are not used and cut anew.

    A decision holds for the change it was made on; a further change stops the sheets again. Deciding the same
    twice changes nothing.

    Raises:
        ProblemError: no permission, no reason, an unknown decision, or nothing has changed.
    """
    laid = (
        LaidPart.objects.select_for_update(of=("self",)).select_related("part__item", "batch").get(pk=laid.pk)
    )
    where = f"{laid.batch.number}, {laid.part.item.code}"
    if not by.has_perm(NEEDED):
        raise ProblemError(
            Problem("You may not decide on changed parts", where, "Ask the production manager.")
        )
    if decision not in StopDecision.Decision.values or not note.strip():
        raise ProblemError(
            Problem("The decision or its reason is missing", where, "Choose one and say why in a few words.")
        )
    now = standings({(laid.part_id, laid.part.item_id)})[laid.part_id]
    if not _has_changed(laid, now):
        raise ProblemError(Problem("The part has not changed", where, "Load the page again."))
    first = _decision(laid, now)
    if first is not None:
        return first
    return StopDecision.objects.create(
        laid=laid,
        revision_id=now.revision_id,
        outline=now.outline,
        decision=decision,
        note=note.strip()[:200],
        by=by,
    )


def refuse_stopped(sheet: CutSheet, where: str) -> None:
    """Raise ProblemError while a changed part of the sheet waits for a decision."""
    if stops := stops_on(sheet):
        raise ProblemError(
            *[
                Problem(
                    f"{stop.code} changed after it was laid out: {stop.words}",
                    where,
                    "Do not cut it. Somebody who may clear stops decides on the batch's page.",
                )
                for stop in stops
            ]
        )


def _has_changed(laid: LaidPart, now: Standing) -> bool:
    return (laid.revision_id, laid.outline) != (now.revision_id, now.outline)


def _decision(laid: LaidPart, now: Standing) -> StopDecision | None:
    """The latest decision on exactly this change. Uses the prefetched rows where they are."""
    made = [
        one
        for one in laid.decisions.all()
        if (one.revision_id, one.outline) == (now.revision_id, now.outline)
    ]
    return made[0] if made else None


def _words(laid: LaidPart, now: Standing) -> str:
    said = []
    if laid.revision_id != now.revision_id:
        was = laid.revision.letter if laid.revision else "none"
        said.append(f"revision {was} was laid out, {now.letter or 'none'} holds now")
    if laid.outline != now.outline:
        said.append("its outline is another")
    return " and ".join(said)
