"""Powder batches: swept and de-gassed, coated and cured step by step, measured, judged frame by frame.

Zinc holds gas that leaves pinholes in the powder when it escapes in the oven; sweep blasting and a bake before
coating drive it out (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta
from math import ceil

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.coating.judging import refuse_unless_judged
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder_models import PowderStep, Step, StepRule
from production.orders.models import Order
from production.works import tracking
from production.works.models import WorksOperation

State = PowderBatch.State
Outcome = PowderLine.Outcome
Waiting = WorksOperation.State.WAITING
Begun = WorksOperation.State.BEGUN
ORDER = tuple(Step)
MINUTE = timedelta(minutes=1)
HOTTEST_C = 400


@transaction.atomic
def begin_batch(*, batch: PowderBatch, by: User, at: datetime | None = None) -> PowderBatch:
    """The frames are here: the sweep blast begins. Beginning a begun batch changes nothing.

    Raises:
        ProblemError: the batch is not on the floor or empty, or a frame is not ready for powder.
    """
    batch = locked(batch)
    if batch.state == State.BEGUN:
        return batch
    refuse_unless(batch, State.RELEASED, "begun")
    if problems := [*_empty(batch), *_not_ready(batch)]:
        raise ProblemError(*problems)
    now = at or timezone.now()
    batch.state, batch.began_at, batch.by = State.BEGUN, now, by
    batch.save(update_fields=["state", "began_at", "by"])
    PowderStep.objects.create(batch=batch, step=ORDER[0], began_at=now, by=by)
    for operation in operations_of(batch, Waiting):
        tracking.begin_operation(operation=operation, by=by)
    return batch


@transaction.atomic
def end_step(
    *,
    batch: PowderBatch,
    step: str,
    by: User,
    temperature_c: int | None = None,
    why_sooner: str = "",
    at: datetime | None = None,
) -> PowderStep:
    """A step has ended and the next one begins; after the last one the frames are measured.

    Ending a step that has ended changes nothing.

    Raises:
        ProblemError: another step is under way, the temperature is missing or cannot be, or the step's least time has
            not passed and nobody says why.
    """
    batch = locked(batch)
    known = {one.step: one for one in batch.steps.all()}
    row = known.get(step)
    if row is not None and row.ended_at is not None:
        return row
    refuse_unless(batch, State.BEGUN, "worked on")
    if row is None:
        raise ProblemError(_other_step(batch, known.values(), step))
    rule = StepRule.objects.filter(step=step).first()
    now = max(at or timezone.now(), row.began_at)
    if problems := _hurried(batch, row, rule, now, why_sooner) + _unheated(batch, row, rule, temperature_c):
        raise ProblemError(*problems)
    row.ended_at, row.temperature_c, row.why_sooner = now, temperature_c, why_sooner.strip()[:200]
    row.save(update_fields=["ended_at", "temperature_c", "why_sooner"])
    following = ORDER[ORDER.index(Step(step)) + 1 :]
    if following:
        PowderStep.objects.create(batch=batch, step=following[0], began_at=now, by=by)
    return row


@transaction.atomic
def undo_step(*, batch: PowderBatch, by: User) -> PowderBatch:
    """The step that was ended last has not ended: the one after it is taken away again.

    Raises:
        ProblemError: no step has ended, or frames are measured already.
    """
    batch = locked(batch)
    refuse_unless(batch, State.BEGUN, "worked on")
    if batch.lines.filter(readings__isnull=False).exists():
        raise ProblemError(
            Problem("The frames are measured already", _where(batch), "Measure again what has changed.")
        )
    last = batch.steps.filter(ended_at__isnull=False).order_by("-began_at", "-pk").first()
    if last is None:
        raise ProblemError(Problem("No step has ended yet", _where(batch), "Load the page again."))
    batch.steps.filter(ended_at__isnull=True).delete()
    last.ended_at, last.temperature_c, last.why_sooner = None, None, ""
    last.save(update_fields=["ended_at", "temperature_c", "why_sooner"])
    return batch


@transaction.atomic
def finish_batch(*, batch: PowderBatch, by: User, at: datetime | None = None) -> PowderBatch:
    """The batch is out of the oven, measured and judged. Repeating changes nothing.

    The powder work of good and accepted frames is done; a frame to be coated again returns to the queue.

    Raises:
        ProblemError: a step is under way, or a frame is not judged and its readings do not speak for it.
    """
    batch = locked(batch)
    if batch.state == State.DONE:
        return batch
    refuse_unless(batch, State.BEGUN, "finished")
    if problems := not_through(batch):
        raise ProblemError(*problems)
    lines = refuse_unless_judged(batch, by)
    batch.state, batch.finished_at, batch.by = State.DONE, at or timezone.now(), by
    batch.save(update_fields=["state", "finished_at", "by"])
    again = {line.order_id: line for line in lines if line.outcome == Outcome.AGAIN}
    for operation in operations_of(batch, Waiting, Begun):
        line = again.get(operation.works_order.order_id or 0)
        if line is None:
            tracking.finish_operation(operation=operation, by=by)
        else:
            tracking.return_to_queue(operation=operation, by=by, problem=f"coat again: {line.reason}"[:200])
    return batch


def locked(batch: PowderBatch) -> PowderBatch:
    return PowderBatch.objects.select_for_update().get(pk=batch.pk)


def operations_of(batch: PowderBatch, *states: str) -> list[WorksOperation]:
    """The powder work of the batch's open orders that is in one of `states`."""
    return list(
        WorksOperation.objects.select_related("works_order__order", "process").filter(
            works_order__order__powder_lines__batch=batch,
            works_order__order__state__in=Order.OPEN,
            process__code="powder",
            state__in=states,
        )
    )


def refuse_unless(batch: PowderBatch, state: PowderBatch.State, verb: str) -> None:
    """Raises ProblemError where the batch is in another state."""
    if batch.state != state:
        raise ProblemError(
            Problem(
                f"Batch {batch.number} cannot be {verb}: it is {batch.get_state_display()}",
                mend="Load the powder page again to see what is next.",
            )
        )


def not_through(batch: PowderBatch) -> list[Problem]:
    """The steps that a begun batch has not ended."""
    ended = set(batch.steps.filter(ended_at__isnull=False).values_list("step", flat=True))
    return [
        Problem(f"{step.label.capitalize()} has not ended", _where(batch), "End it first, at its own time.")
        for step in ORDER
        if step not in ended
    ]


def _other_step(batch: PowderBatch, steps: Collection[PowderStep], step: str) -> Problem:
    running = next((one for one in steps if one.ended_at is None), None)
    now = f"{running.get_step_display()} is under way" if running else "all steps have ended"
    word = Step(step).label if step in Step.values else step
    return Problem(f"{word.capitalize()} is not under way: {now}", _where(batch), "Load the page again.")


def _hurried(
    batch: PowderBatch, row: PowderStep, rule: StepRule | None, now: datetime, why: str
) -> list[Problem]:
    if rule is None or why.strip():
        return []
    left = rule.least_minutes - (now - row.began_at) / MINUTE
    if left <= 0:
        return []
    return [
        Problem(
            f"{row.get_step_display().capitalize()} takes at least {rule.least_minutes} min; {ceil(left)} min are left",
            _where(batch),
            "Wait, or write why it ends sooner.",
        )
    ]


def _unheated(
    batch: PowderBatch, row: PowderStep, rule: StepRule | None, temperature_c: int | None
) -> list[Problem]:
    if rule is None or rule.temperature_c is None:
        return []
    if temperature_c is not None and 0 < temperature_c <= HOTTEST_C:
        return []
    said = "is not written down" if temperature_c is None else f"cannot be {temperature_c} °C"
    return [
        Problem(
            f"How hot the metal was in {row.get_step_display()} {said}",
            _where(batch),
            f"Measure it on a frame; {rule.temperature_c} °C are wanted.",
        )
    ]


def _where(batch: PowderBatch) -> str:
    return f"batch {batch.number}"


def _empty(batch: PowderBatch) -> list[Problem]:
    if batch.lines.exists():
        return []
    return [Problem("The batch is empty", _where(batch), "Put a frame in it, or take another batch.")]


def _not_ready(batch: PowderBatch) -> list[Problem]:
    """Orders of the batch with work before powder that is not done."""
    open_before = (
        WorksOperation.objects.filter(
            works_order__order__powder_lines__batch=batch,
            works_order__order__state__in=Order.OPEN,
            process__code__in=["weld", "galvanise"],
            state__in=[Waiting, Begun],
        )
        .order_by("works_order__order__number", "sequence")
        .values_list("works_order__order__number", "process__name")
    )
    return [
        Problem(
            f"The frame of order {number} is not ready: {process.lower()} is not done",
            where=_where(batch),
            mend="Wait for it, or take another batch first.",
        )
        for number, process in open_before
    ]
