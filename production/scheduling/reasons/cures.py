"""Asking for cures of an order, and taking one."""

from functools import partial

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import tasks
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.board.changes import add
from production.scheduling.reasons.cure_models import CureOption, CureTrial


@transaction.atomic
def try_cures(*, plan: Plan, order: Order, by: User | None, seconds: int = 3) -> CureTrial:
    """Queue a trial of what may free an order. Where one of this order waits or works, that one is returned."""
    running = (
        CureTrial.objects.select_for_update()
        .filter(plan=plan, order=order)
        .exclude(state=CureTrial.State.FINISHED)
        .first()
    )
    if running is not None:
        return running
    trial = CureTrial.objects.create(
        plan=plan, order=order, seconds=seconds, asked_by=by, step="waiting for the worker"
    )
    transaction.on_commit(partial(tasks.try_cures.delay, trial.pk))
    return trial


@transaction.atomic
def take_cure(*, option: CureOption, by: User | None) -> list[PlanChange]:
    """Write the steps of a cure as changes of its plan, where they can be undone one by one.

    Raises:
        ProblemError: it has no steps (a part must be bought sooner; that is done in buying).
    """
    steps = list(option.steps.all())
    if not steps:
        raise ProblemError(
            Problem(
                "Nothing of the plan is changed by this cure",
                option.sentence,
                "Do it in buying, then plan again.",
            )
        )
    return [
        add(
            PlanChange(
                plan=option.trial.plan,
                kind=step.kind,
                operation=step.operation,
                begins_at=step.begins_at,
                work_centre_id=step.work_centre_id,
                date=step.date,
                hours_kind=step.hours_kind,
                starts=step.starts,
                ends=step.ends,
                by=by,
            )
        )
        for step in steps
    ]


def last_trial(plan: Plan, order: Order) -> CureTrial | None:
    """The latest trial of an order on a plan. One query."""
    return CureTrial.objects.filter(plan=plan, order=order).first()
