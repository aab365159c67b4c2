"""Cures of a late or tight order: found along its chain of reasons, each tried by the scheduler. Background only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Stopped
from inventory.buying.models import SupplierItem
from production.planning.models import Plan, Shortage
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.holds import held_in_place, kept_in
from production.scheduling.asked.questions import standing_of
from production.scheduling.asked.trying import lay
from production.scheduling.board.drafts import (
    Draft,
    changed_work,
    draft_of,
    live_changes,
    moves_of,
    price_of,
    read_desk,
)
from production.scheduling.board.wording import Namer, day_words, when
from production.scheduling.reasons.chains import raw_chain
from production.scheduling.reasons.cure_models import CureOption, CureStep, CureTrial
from production.scheduling.reasons.trial_runs import RUNNER
from production.scheduling.solver.job import Schedule, Work
from production.scheduling.solver.solve import solve
from production.scheduling.solver.why import Cause, CauseKind
from production.shop.extra_models import ExtraHours

OVERTIME_MINUTES = 180
OVERTIME_DAYS = 3
MOST_CURES = 6
DAY = 1440
Kind = CureOption.Kind


@dataclass(frozen=True)
class Cure:
    """One thing to try: changes of the plan, or a part that is there sooner."""

    kind: str
    sentence: str
    changes: tuple[PlanChange, ...] = ()
    sooner: tuple[str, int] | None = None
    price: Decimal | None = Decimal(0)


def draft_for(trial: CureTrial) -> Draft:
    """The trial's plan as the floor stands now, with the changes tried on it.

    Raises:
        ProblemError: nothing was kept of the plan.
    """
    plan = Plan.objects.get(pk=trial.plan_id)
    standing = standing_of(plan)
    if standing is None:
        raise ProblemError(Problem("Nothing was kept to try cures on", str(plan), "Make a new plan."))
    return draft_of(plan, standing, read_desk(), live_changes(plan))


def try_one(trial: CureTrial, pulse: Pulse) -> None:
    """Try the cures of the trial's order."""
    draft = draft_for(trial)
    assert trial.order is not None
    order = trial.order.number
    cures = find_cures(draft, Namer(draft), order)
    pulse.step(5, "trying the plan as it is")
    base = searched(draft, trial.seconds, pulse, 5, len(cures))
    found = []
    for index, cure in enumerate(cures, start=1):
        share = 5 + 90 * index / (len(cures) + 1)
        pulse.step(share, f"trying: {cure.sentence}"[:190])
        found.append((cure, tried(draft, cure, trial.seconds, pulse, share, len(cures))))
    with transaction.atomic():
        if not RUNNER.close(trial.pk, CureTrial.Outcome.SUCCEEDED):
            raise Stopped
        _store(trial, draft, order, base, found)


def find_cures(draft: Draft, namer: Namer, order: str) -> list[Cure]:
    """What may free the order, by the links of its chain from its end back; each only once.

    Last its own part that comes from outside, where the chain went another way: behind an order that waits too.
    """
    found: dict[str, Cure] = {}
    for link in (*raw_chain(draft.work, draft.after, order), *_own_part(draft, order)):
        for cure in _cures_of(draft, namer, order, link):
            named = cure if _is_for(namer, cure, order) else for_whom(namer, cure)
            found.setdefault(named.sentence, named)
    return list(found.values())[:MOST_CURES]


def _is_for(namer: Namer, cure: Cure, order: str) -> bool:
    return cure.sooner is None or namer.order_of(cure.sooner[0]) == order


def for_whom(namer: Namer, cure: Cure) -> Cure:
    """The cure, saying for which operation it is, where it is for one alone."""
    operation = cure.sooner[0] if cure.sooner else cure.changes[0].operation if cure.changes else ""
    lead = f"For {namer.full(operation)}: " if operation else ""
    if not lead or cure.sentence.startswith(lead):
        return cure
    return replace(cure, sentence=f"{lead}{cure.sentence[0].lower()}{cure.sentence[1:]}")


def _own_part(draft: Draft, order: str) -> Iterable[Cause]:
    """What the order itself waits for last, if it begins within a day of that."""
    waiting = [one for one in draft.work.operations if one.job == order and one.waits_for]
    last = max(waiting, key=lambda one: one.earliest_min, default=None)
    starts = {row.id: row.start_min for row in draft.after.operations}
    if last is not None and starts[last.id] - last.earliest_min < DAY:
        yield Cause(
            CauseKind.MATERIAL, last.id, order, last.work_centre, last.waits_for, 0, last.earliest_min
        )


def _cures_of(draft: Draft, namer: Namer, order: str, link: Cause) -> Iterable[Cure]:
    if link.kind in (CauseKind.BUSY, CauseKind.BATCH):
        yield from _overtime(draft, link)
        if link.kind == CauseKind.BUSY:
            yield from _swap(draft, namer, order, link)
    elif link.kind in (CauseKind.FULL, CauseKind.DEPARTURE):
        yield from _lorry(draft, link)
    elif link.kind == CauseKind.MATERIAL:
        yield from _buy(draft, namer, link)
    elif link.kind == CauseKind.WORK and namer.order_of(link.operation) == order:
        yield from _overtime(draft, link)


def _overtime(draft: Draft, link: Cause) -> Iterable[Cure]:
    """Overtime on up to three open days of the stretch in which the order waits or is worked on."""
    centre = next((one for one in draft.desk.centres.values() if one.code == link.work_centre), None)
    if centre is None:
        return
    closing = closings(
        draft.work, link.work_centre, draft, max(link.start_min, draft.standing.now), link.end_min
    )
    changes = [
        PlanChange(
            plan=draft.plan,
            kind=PlanChange.Kind.HOURS,
            work_centre=centre,
            date=closes.date(),
            hours_kind=ExtraHours.Kind.OVERTIME,
            starts=closes.time(),
            ends=ends.time(),
        )
        for closes in closing[:OVERTIME_DAYS]
        if (ends := closes + timedelta(minutes=OVERTIME_MINUTES)).date() == closes.date()
    ]
    if changes:
        days = ", ".join(day_words(change.date) for change in changes if change.date)
        words = f"{OVERTIME_MINUTES // 60} hours of overtime at {centre.name} on {days}"
        yield Cure(Kind.OVERTIME, words, tuple(changes), price=_price(draft, changes))


def closings(work: Work, code: str, draft: Draft, first: int, last: int) -> list[datetime]:
    """When a station closes on each open day from minute `first` to `last`."""
    ends = [end for centre in work.work_centres if centre.code == code for _, end in centre.windows]
    ends += [end for oven in work.ovens if oven.code == code for _, end in oven.slots]
    by_day: dict[date, datetime] = {}
    for end in ends:
        moment = draft.clock.moment(end)
        if first <= end <= last + 1440:
            by_day[moment.date()] = max(moment, by_day.get(moment.date(), moment))
    return [by_day[day] for day in sorted(by_day)]


def _swap(draft: Draft, namer: Namer, order: str, link: Cause) -> Iterable[Cure]:
    """The order takes the turn of the one that had the station."""
    other = namer.order_of(link.subject)
    own = namer.order_of(link.operation)
    row = next((row for row in draft.after.operations if row.id == link.subject), None)
    if row is None or not other or own != order or other == order or row.start_min < draft.standing.now:
        return
    change = PlanChange(
        plan=draft.plan,
        kind=PlanChange.Kind.MOVE,
        operation=link.operation,
        begins_at=draft.clock.moment(row.start_min),
    )
    place = namer.places.get(link.work_centre, link.work_centre)
    yield Cure(
        Kind.SWAP, f"Take the turn of order {other} at {place}, {when(draft, row.start_min)}", (change,)
    )


def _lorry(draft: Draft, link: Cause) -> Iterable[Cure]:
    """An extra lorry on the first day from when it is ready on which none calls."""
    called = {draft.clock.day_of(run.leaves_min) for lorry in draft.work.lorries for run in lorry.departures}
    day = draft.clock.day_of(max(link.start_min, draft.standing.now))
    for _ in range(5):
        if day not in called and day.weekday() < 5 and draft.clock.end_of(day) <= link.end_min:
            change = PlanChange(plan=draft.plan, kind=PlanChange.Kind.RUN, date=day)
            yield Cure(
                Kind.LORRY, f"An extra lorry on {day_words(day)}", (change,), price=_price(draft, [change])
            )
        day += timedelta(days=1)


def _buy(draft: Draft, namer: Namer, link: Cause) -> Iterable[Cure]:
    """The part from a supplier who is quicker, at what that costs more; where none is, brought forward by asking."""
    order = draft.standing.orders.get(namer.order_of(link.operation))
    operation = next((one for one in draft.work.operations if one.id == link.operation), None)
    if order is None or operation is None:
        return
    shortages = Shortage.objects.filter(plan=draft.plan, order=order).select_related("item")
    for short in shortages.order_by("-days_short"):
        if short.item.code not in link.subject:
            continue
        offers = list(SupplierItem.objects.filter(item=short.item).select_related("supplier"))
        usual = next((one for one in offers if one.is_preferred), offers[0] if offers else None)
        for offer in offers:
            if usual is not None and offer.lead_days < usual.lead_days:
                days = usual.lead_days - offer.lead_days
                price = max(Decimal(0), (offer.price - usual.price) * short.quantity)
                words = f"Buy {short.item.code} from {offer.supplier.name}, {days} working days sooner"
                yield Cure(Kind.BUY, words, sooner=(link.operation, days * 1440 * 7 // 5), price=price)
                return
    late = max(1440, draft.after.finish_min.get(order.number, 0) - namer.due.get(order.number, 0))
    days = -(-late // 1440)
    part = link.subject.split(", there")[0]
    yield Cure(
        Kind.BUY,
        f"Have {part} brought {days} days forward; ask what that costs"[:300],
        sooner=(link.operation, days * 1440),
        price=None,
    )


def _price(draft: Draft, changes: Sequence[PlanChange]) -> Decimal:
    return price_of(draft.work, changes, draft.desk, draft.clock)


def searched(draft: Draft, seconds: int, pulse: Pulse, share: float, count: int) -> Schedule:
    """The schedule that the scheduler finds without any cure."""
    return _solved(held_in_place(draft.work, draft.after, ()), draft.after, seconds, pulse, share, count)


def tried(
    draft: Draft, cure: Cure, seconds: int, pulse: Pulse | None = None, share: float = 0, count: int = 1
) -> Schedule:
    """The schedule that the scheduler finds with the cure."""
    work = changed_work(draft.work, cure.changes, draft.desk, draft.clock)
    if cure.sooner is not None:
        work = _sooner(work, *cure.sooner, draft.standing.now)
    moves = moves_of(cure.changes, draft.clock, draft.standing.now)
    starts = {row.id: row.start_min for row in draft.after.operations}
    laid = lay(work, starts, moves) or draft.after
    moved = [move.operation for move in moves]
    held = held_in_place(kept_in(work, laid, moved), laid, moved)
    return _solved(held, laid, seconds, pulse, share, count)


def _sooner(work: Work, operation: str, minutes: int, now: int) -> Work:
    return replace(
        work,
        operations=tuple(
            replace(one, earliest_min=max(now, one.earliest_min - minutes)) if one.id == operation else one
            for one in work.operations
        ),
    )


def _solved(
    work: Work, laid: Schedule, seconds: int, pulse: Pulse | None, share: float, count: int
) -> Schedule:
    def hear(percent: int, sentence: str, late_minutes: int) -> bool:
        if pulse is None:
            return True
        return pulse.tell(
            share + 90 / (count + 1) * percent / 100, f"{late_minutes / 60:.0f} weighted hours late"
        )

    before = {row.id: row.start_min for row in laid.operations}
    solution = solve(work, seconds, before=before, progress=hear)
    if solution.stopped:
        raise Stopped
    return solution.schedule


def _store(
    trial: CureTrial, draft: Draft, order: str, base: Schedule, found: Sequence[tuple[Cure, Schedule]]
) -> None:
    due = {job.id: job.due_min for job in draft.work.jobs}

    def late(schedule: Schedule, job: str) -> int:
        return max(0, schedule.finish_min.get(job, 0) - due[job])

    CureTrial.objects.filter(pk=trial.pk).update(
        late_minutes=late(base, order), late_hours=Decimal(base.late_minutes) / 60
    )
    for cure, schedule in found:
        newly = [job for job in due if late(schedule, job) and not late(base, job)]
        option = CureOption.objects.create(
            trial=trial,
            kind=cure.kind,
            sentence=cure.sentence[:300],
            late_minutes=late(schedule, order),
            late_hours=Decimal(schedule.late_minutes) / 60,
            newly_late=", ".join(newly)[:200],
            price=cure.price,
        )
        keep_steps(option, cure)


def keep_steps(option: CureOption, cure: Cure) -> None:
    """The changes that the cure consists of."""
    CureStep.objects.bulk_create(
        CureStep(
            option=option,
            kind=change.kind,
            operation=change.operation,
            begins_at=change.begins_at,
            work_centre=change.work_centre,
            date=change.date,
            hours_kind=change.hours_kind,
            starts=change.starts,
            ends=change.ends,
        )
        for change in cure.changes
    )
