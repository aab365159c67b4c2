"""Making plans: started, cancelled, released. A plan changes nothing until it is released."""

from functools import partial

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.planning.models import Plan
from production.scheduling.releasing import release_plan
from production.scheduling.runs import sweep
from production.scheduling.tasks import make

__all__ = ["cancel_plan", "open_plan", "release_plan", "run_plan", "start_plan", "sweep"]

LEAST_SECONDS, MOST_SECONDS = 2, 600
LEAST_DAYS, MOST_DAYS = 1, 20
MOST_FROZEN_HOURS = 240


def start_plan(*, by: User | None, seconds: int = 20, batch_days: int = 5, frozen_hours: int = 0) -> Plan:
    """Queue a plan whose schedule is searched for `seconds`; parts needed within `batch_days` are cut together.

    What the released plan begins within `frozen_hours` keeps its place.

    Where a plan already waits or runs, that one is returned and no second is queued.

    Raises:
        ProblemError: seconds or days that make no sense.
    """
    _refuse_nonsense(seconds, batch_days, frozen_hours)
    with transaction.atomic():
        running = open_plan()
        if running is not None:
            return running
        current = Plan.current()
        last = Plan.objects.aggregate(last=Max("number"))["last"] or 0
        plan = Plan.objects.create(
            number=last + 1,
            seconds=seconds,
            batch_days=batch_days,
            frozen_hours=frozen_hours,
            based_on=current,
            asked_by=by,
            step="waiting for the worker",
        )
        transaction.on_commit(partial(make.delay, plan.pk))
    return plan


def run_plan(plan_id: int) -> Plan:
    """Make a queued plan here and now, in the caller's process, as the worker would."""
    make(plan_id)
    return Plan.objects.get(pk=plan_id)


def open_plan() -> Plan | None:
    """The plan that waits or runs."""
    return Plan.objects.exclude(state=Plan.State.FINISHED).order_by("number").first()


@transaction.atomic
def cancel_plan(*, plan: Plan, by: User | None) -> Plan:
    """Stop making a plan: a waiting one at once, a running one within two seconds. A finished one is left as it is."""
    Plan.objects.filter(pk=plan.pk, state=Plan.State.QUEUED).update(
        state=Plan.State.FINISHED, outcome=Plan.Outcome.CANCELLED, finished_at=timezone.now()
    )
    Plan.objects.filter(pk=plan.pk, state=Plan.State.RUNNING).update(cancel_asked=True)
    plan.refresh_from_db()
    return plan


def _refuse_nonsense(seconds: int, batch_days: int, frozen_hours: int) -> None:
    problems = []
    if not LEAST_SECONDS <= seconds <= MOST_SECONDS:
        problems.append(
            Problem(
                f"A plan cannot be searched for {seconds} seconds",
                "seconds",
                f"Give {LEAST_SECONDS} to {MOST_SECONDS}.",
            )
        )
    if not LEAST_DAYS <= batch_days <= MOST_DAYS:
        problems.append(
            Problem(
                f"Parts cannot be gathered over {batch_days} working days",
                "days",
                f"Give {LEAST_DAYS} to {MOST_DAYS}.",
            )
        )
    if not 0 <= frozen_hours <= MOST_FROZEN_HOURS:
        problems.append(
            Problem(
                f"The plan cannot stand still for {frozen_hours} hours",
                "hours",
                f"Give 0 to {MOST_FROZEN_HOURS}.",
            )
        )
    if problems:
        raise ProblemError(*problems)
