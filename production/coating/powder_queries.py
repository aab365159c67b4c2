"""What the powder page shows: batches in the oven and in the queue, what each frame waits for, how it came out."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from production.coating.changes import Changing, Shade, best_order, total_minutes
from production.coating.judging import Verdict, rule_in_force, verdicts
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder import ORDER
from production.coating.powder_models import PowderStep, Step, StepRule
from production.shop.models import Oven
from production.works.models import WorksOperation

Batch = PowderBatch.State


@dataclass(frozen=True)
class StepView:
    """A step of a batch against its rule: not begun, under way, or ended."""

    step: Step
    row: PowderStep | None
    rule: StepRule | None

    @property
    def is_under_way(self) -> bool:
        return self.row is not None and self.row.ended_at is None

    @property
    def minutes(self) -> int | None:
        """How long it took, or has taken until now."""
        if self.row is None:
            return None
        return int(((self.row.ended_at or timezone.now()) - self.row.began_at) / timedelta(minutes=1))

    @property
    def may_end_at(self) -> datetime | None:
        """When its least time has passed; none where none is set or it has not begun."""
        if self.row is None or self.rule is None or not self.rule.least_minutes:
            return None
        return self.row.began_at + timedelta(minutes=self.rule.least_minutes)


@dataclass(frozen=True)
class PowderView:
    """A powder batch: its orders, the oven's places filled, what is not ready, its steps and verdicts."""

    batch: PowderBatch
    lines: tuple[PowderLine, ...]
    not_ready: dict[int, str]
    steps: tuple[StepView, ...]
    verdicts: dict[int, Verdict]

    @property
    def places(self) -> list[PowderLine | None]:
        """The frame in each place of the oven, None for an empty one."""
        return [*self.lines, *[None] * max(self.batch.frames - len(self.lines), 0)]

    @property
    def under_way(self) -> StepView | None:
        return next((one for one in self.steps if one.is_under_way), None)

    @property
    def is_through(self) -> bool:
        """Every step has ended: the frames are measured and judged."""
        return all(one.row is not None and one.row.ended_at is not None for one in self.steps)


@dataclass(frozen=True)
class Changes:
    """The colours of the queue in their order with the minutes of each change, and the least that is possible."""

    colours: tuple[tuple[Shade, int, int], ...]
    minutes: int
    best: tuple[Shade, ...]
    best_minutes: int


def powder_views(batches: Sequence[PowderBatch]) -> list[PowderView]:
    """Batches with their orders, what each frame still waits for, steps and verdicts. Six queries."""
    lines: defaultdict[int, list[PowderLine]] = defaultdict(list)
    for line in (
        PowderLine.objects.filter(batch__in=batches)
        .select_related("order__customer", "order__model", "repeats__batch", "judged_by")
        .order_by("order__number")
    ):
        lines[line.batch_id].append(line)
    waits = _waits_for({line.order_id for group in lines.values() for line in group})
    rules = {rule.step: rule for rule in StepRule.objects.all()}
    steps = {
        (row.batch_id, row.step): row
        for row in PowderStep.objects.filter(batch__in=batches).select_related("by")
    }
    found = verdicts([line.pk for group in lines.values() for line in group], rule_in_force())
    return [
        PowderView(
            batch,
            tuple(lines[batch.pk]),
            {line.order_id: waits[line.order_id] for line in lines[batch.pk] if line.order_id in waits},
            tuple(StepView(step, steps.get((batch.pk, step)), rules.get(step)) for step in ORDER),
            {line.pk: found[line.pk] for line in lines[batch.pk]},
        )
        for batch in batches
    ]


def powder_queue(*states: str) -> QuerySet[PowderBatch]:
    """Batches in the order of the plan, which is the order of the colour changes; begun ones first."""
    return (
        PowderBatch.objects.filter(state__in=states)
        .select_related("colour", "by")
        .annotate(frame_count=Count("lines"))
        .order_by("state", "starts_at", "number")
    )


def done_last(most: int) -> list[PowderBatch]:
    """The batches that were finished last. One query."""
    rows = PowderBatch.objects.filter(state=Batch.DONE).select_related("colour", "by")
    return list(rows.order_by("-finished_at", "-pk")[:most])


def changes_of(batches: Sequence[PowderBatch], oven: Oven | None) -> Changes | None:
    """The changes of colour in the queue, against the best order of the same colours. None without oven or queue."""
    if oven is None or not batches:
        return None
    changing = Changing(oven.change_to_darker_minutes, oven.change_to_lighter_minutes)
    shades = [Shade(batch.colour.name, batch.colour.lightness) for batch in batches]
    stretches, before = [], None
    for shade, group in groupby(shades):
        stretches.append((shade, sum(1 for _ in group), changing.minutes(before, shade)))
        before = shade
    best, least = best_order(shades[1:], changing, start=shades[0]) if len(shades) > 1 else ([], 0)
    whole = [shades[0], *(one for one in best if one != shades[0])]
    return Changes(tuple(stretches), total_minutes(shades, changing), tuple(whole), least)


def frames_by_colour() -> Counter[str]:
    """How many frames wait for each colour in open batches."""
    rows = (
        PowderLine.objects.filter(batch__state__in=[Batch.RELEASED, Batch.BEGUN])
        .values_list("batch__colour__name")
        .annotate(count=Count("id"))
        .order_by()
    )
    return Counter(dict(rows))


def open_batches_by_colour(colour_ids: set[int]) -> dict[int, list[PowderBatch]]:
    """Released batches of these colours that have a free place. One query."""
    found: defaultdict[int, list[PowderBatch]] = defaultdict(list)
    for batch in powder_queue(Batch.RELEASED).filter(Q(colour__in=colour_ids)):
        if getattr(batch, "frame_count", 0) < batch.frames:
            found[batch.colour_id].append(batch)
    return found


def _waits_for(order_ids: set[int]) -> dict[int, str]:
    """The first process before powder that is open, by order; absent when the frame is ready."""
    found: dict[int, str] = {}
    for order_id, name in (
        WorksOperation.objects.filter(
            works_order__order__in=order_ids,
            process__code__in=["weld", "galvanise"],
            state__in=["waiting", "begun"],
        )
        .order_by("sequence")
        .values_list("works_order__order_id", "process__name")
    ):
        if order_id:
            found.setdefault(order_id, name.lower())
    return found
