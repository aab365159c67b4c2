"""Trying changes on a plan: moved, open longer, an extra lorry; undone and done again; made a plan of its own."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from functools import partial

from django.db import transaction
from django.db.models import Max, QuerySet

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.planning.models import Plan
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.questions import Standing, clock_of, read_question, standing_of
from production.scheduling.planning import LEAST_SECONDS, MOST_SECONDS, open_plan
from production.scheduling.tasks import make
from production.shop.extra_models import ExtraHours
from production.shop.models import WorkCentre

USUAL_SHIFT = (time(7), time(13))
MOST_OVERTIME_MINUTES = 6 * 60


def move(*, plan: Plan, operation: str, to: datetime, by: User | None) -> PlanChange:
    """Have an operation begin at a moment and no sooner.

    Raises:
        ProblemError: the plan does not hold it, it is done or begun, or the moment has passed.
    """
    return add(moving(_standing(plan), plan=plan, operation=operation, to=to, by=by))


def moving(standing: Standing, *, plan: Plan, operation: str, to: datetime, by: User | None) -> PlanChange:
    """The same, not written: to be tried. No query."""
    found = next((one for one in standing.work.operations if one.id == operation), None)
    if found is None or found.fixed_start is not None:
        raise ProblemError(
            Problem(
                f"“{operation}” cannot be moved: it is begun, done or not in this plan", f"plan {plan.number}"
            )
        )
    if standing.clock.minute(to) < standing.now:
        raise ProblemError(
            Problem(f"{to:%a %d %b %H:%M} has passed", operation, "Move it to a time to come.")
        )
    return PlanChange(plan=plan, kind=PlanChange.Kind.MOVE, operation=operation, begins_at=to, by=by)


def open_longer(
    *, plan: Plan, work_centre: WorkCentre, day: date, minutes: int, by: User | None
) -> PlanChange:
    """Overtime: the station stays open so much longer after its last hour of the day.

    Raises:
        ProblemError: it is closed that day, the minutes make no sense, or the day would not end before midnight.
    """
    where = f"{work_centre.name}, {day:%a %d %b}"
    if not 1 <= minutes <= MOST_OVERTIME_MINUTES:
        raise ProblemError(
            Problem(f"{minutes} minutes of overtime", where, f"Give 1 to {MOST_OVERTIME_MINUTES} minutes.")
        )
    closes = closing_time(plan, work_centre, day)
    if closes is None:
        raise ProblemError(Problem("It is closed that day", where, "Give it an extra shift instead."))
    ends = closes + timedelta(minutes=minutes)
    if ends.date() != closes.date():
        raise ProblemError(Problem("Overtime would go on past midnight", where, "Give fewer minutes."))
    return add(_hours(plan, work_centre, day, ExtraHours.Kind.OVERTIME, closes.time(), ends.time(), by))


def extra_shift(
    *, plan: Plan, work_centre: WorkCentre, day: date, starts: time, ends: time, by: User | None
) -> PlanChange:
    """A shift besides the usual ones, also on a day that is closed.

    Raises:
        ProblemError: it ends before it starts, or lies in the past.
    """
    if starts >= ends:
        raise ProblemError(
            Problem(
                "The shift ends before it starts",
                f"{work_centre.name}, {day:%a %d %b}",
                "Turn the times round.",
            )
        )
    return add(_hours(plan, work_centre, day, ExtraHours.Kind.SHIFT, starts, ends, by))


def extra_lorry(*, plan: Plan, day: date, by: User | None) -> PlanChange:
    """A run of the lorry besides its usual days.

    Raises:
        ProblemError: the day has passed.
    """
    _refuse_past(plan, day)
    return add(PlanChange(plan=plan, kind=PlanChange.Kind.RUN, date=day, by=by))


def _hours(
    plan: Plan, work_centre: WorkCentre, day: date, kind: str, starts: time, ends: time, by: User | None
) -> PlanChange:
    _refuse_past(plan, day)
    return PlanChange(
        plan=plan,
        kind=PlanChange.Kind.HOURS,
        work_centre=work_centre,
        date=day,
        hours_kind=kind,
        starts=starts,
        ends=ends,
        by=by,
    )


def _refuse_past(plan: Plan, day: date) -> None:
    if day < clock_of(plan).first_day:
        raise ProblemError(
            Problem(f"{day:%a %d %b} has passed", f"plan {plan.number}", "Take a day to come.")
        )


def closing_time(plan: Plan, work_centre: WorkCentre, day: date) -> datetime | None:
    """When a work centre closes on a day by what the plan reckons with and what is tried on it; None where it is
    closed."""
    asked = read_question(plan)
    if asked is None:
        return None
    clock = clock_of(plan)
    work = asked.question.work
    ends = [
        end for centre in work.work_centres if centre.code == work_centre.code for _, end in centre.windows
    ]
    ends += [end for oven in work.ovens if oven.code == work_centre.code for _, end in oven.slots]
    moments = [moment for end in ends if (moment := clock.moment(end)).date() == day]
    return max(moments, default=None)


@transaction.atomic
def add(change: PlanChange) -> PlanChange:
    """Write a change down as the last one. What was undone is forgotten."""
    plan = Plan.objects.select_for_update().get(pk=change.plan_id)
    rows = PlanChange.objects.filter(plan=plan, in_plan=False)
    rows.filter(is_undone=True).delete()
    change.sequence = (rows.aggregate(last=Max("sequence"))["last"] or 0) + 1
    change.save()
    return change


@transaction.atomic
def undo(*, plan: Plan) -> PlanChange | None:
    """Take the last change back; none where there is none."""
    return _turn(plan, PlanChange.objects.filter(is_undone=False).order_by("-sequence"), True)


@transaction.atomic
def redo(*, plan: Plan) -> PlanChange | None:
    """Do again what was undone last."""
    return _turn(plan, PlanChange.objects.filter(is_undone=True).order_by("sequence"), False)


def _turn(plan: Plan, rows: QuerySet[PlanChange], is_undone: bool) -> PlanChange | None:
    Plan.objects.select_for_update().get(pk=plan.pk)
    change = rows.filter(plan=plan, in_plan=False).first()
    if change is not None:
        change.is_undone = is_undone
        change.save(update_fields=["is_undone"])
    return change


@transaction.atomic
def throw_away(*, plan: Plan) -> int:
    """Forget every change that is tried on a plan. Returns how many there were."""
    return PlanChange.objects.filter(plan=plan, in_plan=False).delete()[0]


def make_plan_of(*, plan: Plan, seconds: int, by: User | None) -> Plan:
    """Queue a plan made of this one with its changes; the rest is put around them in so many seconds, or with 0 is
    left as it is drawn. Where a plan already waits or runs, that one is returned.

    Raises:
        ProblemError: seconds that make no sense, or nothing was kept to make it from.
    """
    if seconds and not LEAST_SECONDS <= seconds <= MOST_SECONDS:
        raise ProblemError(
            Problem(
                f"A plan cannot be searched for {seconds} seconds",
                "seconds",
                f"Give {LEAST_SECONDS} to {MOST_SECONDS}.",
            )
        )
    _standing(plan)
    with transaction.atomic():
        running = open_plan()
        if running is not None:
            return running
        last = Plan.objects.aggregate(last=Max("number"))["last"] or 0
        made = Plan.objects.create(
            number=last + 1,
            seconds=seconds,
            way=Plan.Way.CHANGED,
            batch_days=plan.batch_days,
            based_on=plan,
            asked_by=by,
            step="waiting for the worker",
        )
        transaction.on_commit(partial(make.delay, made.pk))
    return made


def _standing(plan: Plan) -> Standing:
    standing = standing_of(plan)
    if standing is None:
        raise ProblemError(
            Problem(f"Nothing was kept to try changes of plan {plan.number} on", "plan", "Make a new plan.")
        )
    return standing
