"""Frames that are coated again: back in the queue, into a batch of their colour or one of their own."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.coating.models import PowderBatch, PowderLine
from production.coating.powder import locked, refuse_unless
from production.orders.models import Order
from production.planning.models import Plan
from production.shop.models import Oven
from production.works.models import WorksOperation

State = PowderBatch.State
OPEN_WORK = (WorksOperation.State.WAITING, WorksOperation.State.BEGUN)


def to_coat_again() -> list[PowderLine]:
    """Frames that came out wrong and stand in no batch, the longest-waiting first. One query."""
    in_a_batch = PowderLine.objects.filter(batch__state__in=[State.RELEASED, State.BEGUN]).values("order")
    lines = (
        PowderLine.objects.filter(
            outcome=PowderLine.Outcome.AGAIN,
            batch__state=State.DONE,
            repeated_by__isnull=True,
            order__state__in=Order.OPEN,
            order__works_order__operations__process__code="powder",
            order__works_order__operations__state__in=OPEN_WORK,
        )
        .exclude(order__in=in_a_batch)
        .select_related("batch__colour", "order__model", "judged_by")
        .order_by("judged_at", "pk")
    )
    # An order that was coated again before has an older line too: the last one speaks.
    return list({line.order_id: line for line in lines}.values())


@transaction.atomic
def put_in_batch(*, line: PowderLine, batch: PowderBatch, by: User) -> PowderLine:
    """A frame to be coated again joins a batch of its colour that has not begun. A repeat changes nothing.

    Raises:
        ProblemError: the batch has begun, is full or of another colour, or the frame stands in another one.
    """
    batch = locked(batch)
    line = PowderLine.objects.select_related("batch", "order").get(pk=line.pk)
    if before := batch.lines.filter(order=line.order_id).first():
        return before
    refuse_unless(batch, State.RELEASED, "joined")
    where = f"batch {batch.number}"
    problems = _cannot_repeat(line)
    if batch.colour_id != line.batch.colour_id:
        problems.append(Problem("The batch is of another colour", where, "Choose one of the frame's colour."))
    if batch.lines.count() >= batch.frames:
        problems.append(Problem(f"All {batch.frames} places are taken", where, "Choose another batch."))
    if problems:
        raise ProblemError(*problems)
    return PowderLine.objects.create(batch=batch, order=line.order, repeats=line)


@transaction.atomic
def batch_of_their_own(*, lines: Sequence[PowderLine], by: User) -> PowderBatch:
    """A released batch for frames of one colour that are coated again, to be begun at once.

    Raises:
        ProblemError: none, several colours, too many for the oven, no oven or plan, or a frame stands in a batch.
    """
    lines = list(
        PowderLine.objects.select_for_update(of=("self",))
        .select_related("batch__colour", "order")
        .filter(pk__in=[line.pk for line in lines])
    )
    oven = Oven.objects.select_related("work_centre").first()
    plan = Plan.objects.select_for_update().filter(is_current=True).first()
    colours = {line.batch.colour for line in lines}
    problems = [problem for line in lines for problem in _cannot_repeat(line)]
    if len(colours) != 1:
        problems.append(Problem("A batch has one colour", "", "Choose frames of one colour."))
    if oven is None or plan is None:
        problems.append(
            Problem("There is no oven, or no plan is released", "", "Release a plan in the week.")
        )
    elif len(lines) > oven.frames:
        problems.append(Problem(f"The oven holds {oven.frames} frames", "", "Leave some for the next batch."))
    if problems or oven is None or plan is None:
        raise ProblemError(*problems)
    now = timezone.now()
    batch = PowderBatch.objects.create(
        number=_next_number(plan),
        plan=plan,
        colour=colours.pop(),
        state=State.RELEASED,
        starts_at=now,
        ends_at=now + timedelta(minutes=oven.batch_minutes),
        frames=oven.frames,
    )
    PowderLine.objects.bulk_create(PowderLine(batch=batch, order=line.order, repeats=line) for line in lines)
    return batch


def _cannot_repeat(line: PowderLine) -> list[Problem]:
    where = f"order {line.order.number}"
    if line.outcome != PowderLine.Outcome.AGAIN or line.batch.state != State.DONE:
        return [Problem("The frame is not one to be coated again", where, "Load the page again.")]
    taken = PowderLine.objects.filter(order=line.order_id, batch__state__in=[State.RELEASED, State.BEGUN])
    if found := taken.select_related("batch").first():
        return [
            Problem(f"The frame stands in batch {found.batch.number} already", where, "Look at that batch.")
        ]
    return []


def _next_number(plan: Plan) -> str:
    """The plan's row is locked, so that no number is given twice."""
    count = PowderBatch.objects.filter(plan=plan, number__startswith=f"PB-{plan.number}-R").count()
    return f"PB-{plan.number}-R{count + 1:02d}"
