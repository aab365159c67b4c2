"""What a plan was made from, kept with it and read again as the floor stands now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, Sum, Value
from django.utils import timezone

from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch, PowderLine
from production.cutting.models import CutBatch, CutSheet
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling.asked.draft_models import PlanQuestion
from production.scheduling.asked.held_models import HeldOperation
from production.scheduling.asked.holding import held_minutes, holds_and_let_go
from production.scheduling.asked.holds import with_holds
from production.scheduling.asked.question import LEAST_LEFT, Question, batch_name, operation_name
from production.scheduling.asked.sealing import seal, unseal
from production.scheduling.asked.stops import Stop, stopped
from production.scheduling.asked.trying import Progress, moved_on
from production.scheduling.solver.axis import Axis
from production.scheduling.solver.job import Job, Schedule, ScheduledOperation, Work
from production.shop.hours import Clock
from production.shop.models import Downtime
from production.works.models import WorksOperation

State = WorksOperation.State
ALMOST_A_MINUTE = timedelta(seconds=59, microseconds=999_999)


@dataclass(frozen=True)
class Asked:
    """A question with the places that its answer gave."""

    question: Question
    rows: tuple[ScheduledOperation, ...]

    @property
    def starts(self) -> dict[str, int]:
        return {row.id: row.start_min for row in self.rows}


@dataclass(frozen=True)
class Standing:
    """A plan's work as the floor stands at minute `now` of its horizon: what is done is left out.

    `orders` are the open ones by number; `done` says when each finished operation was finished. `holds` are what
    people hold, `let_go` what they let go lately; `work` has those of `holds` whose time is still to come. `stops`
    stand since the plan was made: `work` has them, `undisturbed` has not.
    """

    asked: Asked
    clock: Clock
    now: int
    work: Work
    orders: Mapping[str, Order]
    done: Mapping[str, datetime]
    holds: tuple[HeldOperation, ...] = ()
    let_go: tuple[HeldOperation, ...] = ()
    stops: tuple[Stop, ...] = ()
    undisturbed: Work | None = None

    @property
    def own(self) -> Mapping[str, tuple[int, str]]:
        return self.asked.question.own


def keep_question(plan: Plan, question: Question, schedule: Schedule) -> None:
    """Keep what was asked and answered with the plan. To be called where the plan is stored."""
    PlanQuestion.objects.create(plan=plan, sealed=seal(Asked(question, schedule.operations)))


def read_question(plan: Plan) -> Asked | None:
    """What the plan was made from; none for plans that were made before this was kept. One query at most."""
    if Plan._meta.get_field("question").is_cached(plan):
        question = getattr(plan, "question", None)
        sealed = question.sealed if question is not None else None
    else:
        sealed = PlanQuestion.objects.filter(plan=plan).values_list("sealed", flat=True).first()
    return None if sealed is None else unseal(Asked, bytes(sealed))


def clock_of(plan: Plan) -> Clock:
    """The clock by which the plan's minutes are counted."""
    begins = plan.horizon_start or timezone.now()
    return Clock(begins, ZoneInfo(timezone.get_default_timezone_name()))


def standing_of(plan: Plan, at: datetime | None = None) -> Standing | None:
    """The plan's work as the floor stands now. Seven queries."""
    asked = read_question(plan)
    if asked is None:
        return None
    clock = clock_of(plan)
    now = max(0, clock.minute(at or timezone.now()))
    orders = {
        order.number: order
        for order in Order.objects.filter(state__in=Order.OPEN).select_related("customer", "model")
    }
    operations = list(
        WorksOperation.objects.filter(works_order__order__isnull=False)
        .filter(Q(works_order__order__state__in=Order.OPEN) | Q(finished_at__gte=clock.starts_at))
        .exclude(state=State.CANCELLED)
        .values_list("works_order__order__number", "process__code", "state", "began_at", "finished_at")
    )
    work = _held_to(asked.question.work, orders, clock)
    progress = _progress(asked, plan, operations, orders, clock, now)
    done = {
        operation_name(number or "", process): finished
        for number, process, state, _, finished in operations
        if state == State.DONE and finished is not None
    }
    holds, let_go = holds_and_let_go()
    to_come = {name: minute for name, minute in held_minutes(holds, clock).items() if minute >= now}
    undisturbed = with_holds(moved_on(work, progress, now), to_come)
    work, stops = stopped(undisturbed, _stops(clock, now))
    return Standing(asked, clock, now, work, orders, done, tuple(holds), tuple(let_go), stops, undisturbed)


def _stops(clock: Clock, now: int) -> list[Stop]:
    """What stands from now on, as it is noted in the shop. One query."""
    rows = Downtime.objects.filter(ends_at__gt=clock.moment(now)).select_related("work_centre")
    return [
        Stop(
            row.work_centre.code,
            max(now, clock.minute(row.starts_at)),
            # Up to and with the last minute begun: it does not work in part of one.
            clock.minute(row.ends_at + ALMOST_A_MINUTE),
            row.units,
            row.reason,
        )
        for row in rows.order_by("starts_at", "pk")
    ]


def _held_to(work: Work, orders: Mapping[str, Order], clock: Clock) -> Work:
    """The jobs with the dates and weights that their orders have now."""

    def held(job: Job) -> Job:
        order = orders.get(job.id)
        if order is None:
            return job
        return replace(job, due_min=max(0, clock.end_of(order.due_on)), weight=order.weight)

    return replace(work, jobs=tuple(map(held, work.jobs)))


def _progress(
    asked: Asked,
    plan: Plan,
    operations: Iterable[tuple[str | None, str, str, datetime | None, datetime | None]],
    orders: Mapping[str, Order],
    clock: Clock,
    now: int,
) -> Progress:
    minutes = {one.id: (one.minutes, one.work_centre) for one in asked.question.work.operations}
    axes = {centre.code: Axis(centre.windows) for centre in asked.question.work.work_centres}
    done, left = _batches(asked.question, plan)
    begun = set()
    for number, process, state, began_at, _ in operations:
        name = operation_name(number or "", process)
        if name not in minutes:
            continue
        if state == State.DONE:
            done.add(name)
        elif state == State.BEGUN:
            begun.add(name)
            whole, place = minutes[name]
            if place in axes and process != "laser":
                began = max(0, clock.minute(began_at)) if began_at else now
                spent = axes[place].position(now) - axes[place].position(began)
                left[name] = round(max(whole - spent, whole * LEAST_LEFT))
    away = {name: one for name, one in _away(clock).items() if name in begun}
    for name in begun & {name for name, (_, place) in minutes.items() if place not in axes} - away.keys():
        away[name] = (now, "")
    gone = frozenset(job.id for job in asked.question.work.jobs if job.id not in orders)
    return Progress(frozenset(done), left, away, gone)


def _batches(question: Question, plan: Plan) -> tuple[set[str], dict[str, int]]:
    """Names of cut batches that are done, and the minutes left of those that are begun. One query."""
    named = {batch_name(plan.number, index): name for name, index in question.batches.items()}
    named |= {name: name for name in question.begun}
    waiting = Q(sheets__state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN])
    rows = (
        CutBatch.objects.filter(number__in=named, state__in=[CutBatch.State.BEGUN, CutBatch.State.DONE])
        .order_by()
        .values_list("number", "state")
        .annotate(left=Sum("sheets__minutes", filter=waiting))
    )
    done: set[str] = set()
    left: dict[str, int] = {}
    for number, state, minutes in rows:
        if state == CutBatch.State.DONE or not minutes:
            done.add(named[number])
        else:
            left[named[number]] = round(minutes)
    return done, left


def _away(clock: Clock) -> dict[str, tuple[int, str]]:
    """Operations whose parts are away with the lorry or in the oven, with the minute they are back. One query."""
    away = (
        LoadLine.objects.filter(load__state=GalvanisingLoad.State.AWAY)
        .order_by()
        .values_list("order__number", Value("galvanise"), "load__number", "load__back_at")
    )
    coating = (
        PowderLine.objects.filter(batch__state=PowderBatch.State.BEGUN)
        .order_by()
        .values_list("order__number", Value("powder"), "batch__number", "batch__ends_at")
    )
    words = {"galvanise": "load {} back", "powder": "powder batch {}"}
    return {
        operation_name(number, process): (max(0, clock.minute(ends_at)), words[process].format(name))
        for number, process, name, ends_at in away.union(coating, all=True)
    }
