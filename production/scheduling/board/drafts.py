"""A plan with the changes that somebody tries on it: what they would do, and what they would cost. No solver."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal

from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from production.planning.models import Plan
from production.scheduling.asked import trying
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.holds import kept_in
from production.scheduling.asked.question import LORRY
from production.scheduling.asked.questions import Standing
from production.scheduling.asked.stops import Stop, fall_into
from production.scheduling.solver.job import Departure, Schedule, Work
from production.shop.extra import Terms, terms_on
from production.shop.hours import Clock
from production.shop.models import LorryDay, WorkCentre, WorkCentreRate
from production.shop.rates import rates_on

MOVE, HOURS, RUN = PlanChange.Kind.MOVE, PlanChange.Kind.HOURS, PlanChange.Kind.RUN
CENT = Decimal("0.01")


@dataclass(frozen=True)
class Desk:
    """What changes are reckoned with: stations, what an hour there costs, what extra ones cost, the lorry's days."""

    centres: Mapping[int, WorkCentre]
    rates: Mapping[str, WorkCentreRate]
    terms: Terms
    calls: Sequence[LorryDay]


@dataclass(frozen=True)
class Breakdown:
    """What stands since the plan was made: the operations that fall into it, and what it does to the plan."""

    stops: tuple[Stop, ...]
    operations: frozenset[str]
    effect: trying.Effect


@dataclass(frozen=True)
class Draft:
    """A plan as it stands now (`standing`, laid as `before`) and with the changes on it (`work`, laid as `after`).

    `work` says of an operation that it is held only where `after` keeps it there; `hindrances` say why not.
    """

    plan: Plan
    standing: Standing
    desk: Desk
    before: Schedule
    work: Work
    after: Schedule
    changes: tuple[PlanChange, ...]
    effect: trying.Effect
    hindrances: tuple[trying.Hindrance, ...]
    price: Decimal
    breakdown: Breakdown | None = None

    @property
    def clock(self) -> Clock:
        return self.standing.clock

    @property
    def moved(self) -> frozenset[str]:
        return frozenset(change.operation for change in self.changes if change.kind == MOVE)

    @property
    def held(self) -> frozenset[str]:
        """What is held and begins at its time."""
        return frozenset(one.id for one in self.work.operations if one.held_start is not None)


def draft_of(plan: Plan, standing: Standing, desk: Desk, changes: Sequence[PlanChange]) -> Draft:
    """The draft from what is read already. No query."""
    starts = standing.asked.starts
    before = _laid(standing.work, starts)
    clock = standing.clock
    work = changed_work(standing.work, changes, desk, clock)
    moves = moves_of(changes, clock, standing.now)
    after = _laid(work, starts, moves) if changes else before
    return Draft(
        plan,
        standing,
        desk,
        before,
        kept_in(work, after, (move.operation for move in moves)),
        after,
        tuple(changes),
        trying.effect_of(work, before, after),
        tuple(trying.hindrances(work, after, trying.with_held(work, moves))),
        price_of(standing.work, changes, desk, clock),
        _breakdown(standing, starts, before),
    )


def _breakdown(standing: Standing, starts: Mapping[str, int], before: Schedule) -> Breakdown | None:
    """What the plan would do if nothing stood, against what it does now."""
    if not standing.stops or standing.undisturbed is None:
        return None
    calm = _laid(standing.undisturbed, starts)
    hit = fall_into(standing.stops, calm, before)
    return Breakdown(standing.stops, hit, trying.effect_of(standing.work, calm, before))


def _laid(work: Work, starts: Mapping[str, int], moves: Iterable[trying.Move] = ()) -> Schedule:
    schedule = trying.lay(work, starts, moves)
    if schedule is None:
        raise ProblemError(
            Problem("The work no longer fits into the time this plan looks ahead", "plan", "Make a new plan.")
        )
    return schedule


def live_changes(plan: Plan) -> list[PlanChange]:
    """The changes tried on a plan that are not undone, the first first. One query."""
    return [change for change in changes_on(plan) if not change.is_undone]


def changes_on(plan: Plan) -> list[PlanChange]:
    """The changes tried on a plan, with those that are undone. One query."""
    return list(PlanChange.objects.filter(plan=plan, in_plan=False).order_by("sequence"))


def read_desk() -> Desk:
    """Four queries."""
    today = timezone.localdate()
    return Desk(
        {centre.pk: centre for centre in WorkCentre.objects.select_related("process")},
        rates_on(today),
        terms_on(today),
        list(LorryDay.objects.all()),
    )


def moves_of(changes: Iterable[PlanChange], clock: Clock, now: int) -> list[trying.Move]:
    """The last move of each operation; nothing can be moved into the past."""
    found = {
        change.operation: trying.Move(change.operation, max(now, clock.minute(change.begins_at)))
        for change in changes
        if change.kind == MOVE and change.begins_at is not None
    }
    return list(found.values())


def changed_work(work: Work, changes: Iterable[PlanChange], desk: Desk, clock: Clock) -> Work:
    """The work with extra hours and extra runs."""
    held = list(changes)
    extras = [extra for change in held if (extra := _extra(change, desk, clock)) is not None]
    runs = [
        run for change in held if change.kind == RUN and (run := extra_run(change.date, work, desk, clock))
    ]
    return trying.with_runs(trying.with_hours(work, extras), runs)


def _extra(change: PlanChange, desk: Desk, clock: Clock) -> trying.Extra | None:
    if change.kind != HOURS or change.date is None or change.starts is None or change.ends is None:
        return None
    centre = desk.centres.get(change.work_centre_id or 0)
    if centre is None:
        return None
    return trying.Extra(
        centre.code, _minute(clock, change.date, change.starts), _minute(clock, change.date, change.ends)
    )


def _minute(clock: Clock, day: date, at: time) -> int:
    return clock.minute(clock.local(day, at))


def extra_run(day: date | None, work: Work, desk: Desk, clock: Clock) -> Departure | None:
    """A run on a day, as on the first of the lorry's usual weekdays; it is back as long after it as that one."""
    if day is None or not desk.calls:
        return None
    call = desk.calls[0]
    leaves = _minute(clock, day, call.leaves_at)
    usual = next((run for lorry in work.lorries if lorry.code == LORRY for run in lorry.departures), None)
    away = usual.returns_min - usual.leaves_min if usual else call.back_after_days * 1440
    return Departure(leaves, leaves + away, float(call.max_kg), float(call.bath_length_mm))


def price_of(work: Work, changes: Iterable[PlanChange], desk: Desk, clock: Clock) -> Decimal:
    """What the changes cost: extra hours of all units at the labour rate times its factor, extra runs as agreed."""
    return sum((price_of_one(work, change, desk, clock) for change in changes), Decimal(0))


def price_of_one(work: Work, change: PlanChange, desk: Desk, clock: Clock) -> Decimal:
    if change.kind == RUN:
        return desk.terms.extra_run_price
    extra = _extra(change, desk, clock)
    if extra is None:
        return Decimal(0)
    minutes = extra_minutes(work, extra)
    centre = desk.centres[change.work_centre_id or 0]
    rate = desk.rates.get(centre.process.code)
    labour = rate.labour_per_hour if rate else centre.hourly_rate
    hours = Decimal(minutes * centre.units) / 60
    return (hours * labour * desk.terms.factor(change.hours_kind)).quantize(CENT)


def extra_minutes(work: Work, extra: trying.Extra) -> int:
    """Minutes for which extra hours really open a station longer than it is; an oven's slots are not looked into."""
    centre = next((one for one in work.work_centres if one.code == extra.work_centre), None)
    length = extra.end_min - extra.start_min
    if centre is None:
        return length
    return length - sum(
        max(0, min(end, extra.end_min) - max(start, extra.start_min)) for start, end in centre.windows
    )
