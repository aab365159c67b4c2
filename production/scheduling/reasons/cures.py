"""Asking for cures of an order or of all late ones, and taking one."""

from dataclasses import dataclass
from functools import partial

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import tasks
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.board.changes import add
from production.scheduling.reasons.cure_models import CureEffect, CureOption, CureTrial


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
def try_all(*, plan: Plan, by: User | None, seconds: int = 2) -> CureTrial:
    """Queue one trial of what may free the late and tight orders, all of them. One that waits or works is returned."""
    Plan.objects.select_for_update().get(pk=plan.pk)
    running = CureTrial.objects.filter(plan=plan, order=None).exclude(state=CureTrial.State.FINISHED).first()
    if running is not None:
        return running
    trial = CureTrial.objects.create(plan=plan, seconds=seconds, asked_by=by, step="waiting for the worker")
    transaction.on_commit(partial(tasks.try_cures.delay, trial.pk))
    return trial


@dataclass(frozen=True)
class Freeing:
    """A cure with all the orders that it frees; of some of them no cheaper cure was found (`cheapest_for`)."""

    option: CureOption
    orders: tuple[CureEffect, ...]
    cheapest_for: tuple[str, ...]


def freeing(trial: CureTrial) -> tuple[list[Freeing], list[str]]:
    """The cheapest cure of each order that one frees, each cure once with all it frees; and orders that none frees.

    The cheapest first, of those at one price the one that leaves fewest hours late; last what must be asked. Four
    queries.
    """
    options = list(trial.options.prefetch_related("effects__order", "steps"))
    ranked = sorted(options, key=lambda one: (one.price is None, one.price or 0, one.late_hours, one.pk))
    frees = {one.pk: tuple(effect for effect in one.effects.all() if effect.frees) for one in ranked}
    best: dict[str, int] = {}
    for option in ranked:
        for effect in frees[option.pk]:
            best.setdefault(effect.order.number, option.pk)
    found = [
        Freeing(
            option,
            frees[option.pk],
            tuple(number for number, cheapest in best.items() if cheapest == option.pk),
        )
        for option in ranked
        if option.pk in best.values()
    ]
    asked = dict.fromkeys(effect.order.number for one in options for effect in one.effects.all())
    return found, [number for number in asked if number not in best]


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


def last_of_all(plan: Plan) -> CureTrial | None:
    """The latest trial of all late orders on a plan. One query."""
    return CureTrial.objects.filter(plan=plan, order=None).first()


def last_trial(plan: Plan, order: Order) -> CureTrial | None:
    """The latest trial of an order on a plan. One query."""
    return CureTrial.objects.filter(plan=plan, order=order).first()
