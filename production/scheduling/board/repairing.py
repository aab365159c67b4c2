"""A plan made from another with changes: what was moved stands, the rest is put around it. Loads the solver."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from time import monotonic

from django.db import transaction
from django.db.models import Max

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from production.cutting.models import CutBatch
from production.planning.models import Plan, PlanNote
from production.scheduling.asked.asking import lorries_of
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.holding import broken_words, not_kept
from production.scheduling.asked.holds import PASSED, held_in_place
from production.scheduling.asked.question import Question, batch_name
from production.scheduling.asked.questions import clock_of, keep_question, standing_of
from production.scheduling.asked.reading import Floor, Job, read_floor
from production.scheduling.asked.trying import Hindrance
from production.scheduling.board.copying import copy_batches, copy_parts, waiting_batches
from production.scheduling.board.drafts import HOURS, RUN, Draft, draft_of, live_changes, read_desk
from production.scheduling.making import keeping
from production.scheduling.making.answering import timetable
from production.scheduling.making.making import as_hours, loads_by_day, refuse_faulty, working_days
from production.scheduling.making.timetable import Timetable
from production.scheduling.runs import Pulse, Stopped, close
from production.scheduling.solver.job import Operation, RuleValue, Solution, Work
from production.scheduling.solver.solve import solve
from production.shop.calendars import Shop, load_shop
from production.shop.hours import DifferentDay


@dataclass(frozen=True)
class Changed:
    """What was read before anything is worked out."""

    source: Plan
    draft: Draft
    floor: Floor
    shop: Shop
    batches: Mapping[str, CutBatch]
    question: Question

    @property
    def jobs(self) -> dict[int, Job]:
        return {job.order.pk: job for job in self.floor.jobs}


def make_changed_plan(plan: Plan, pulse: Pulse) -> None:
    """Make a claimed plan of the one it is based on, with the changes tried on that.

    Raises:
        ProblemError: what it was made from is gone, or the work no longer fits.
        Stopped: somebody cancelled it.
    """
    began = monotonic()
    changed = read_changed(plan)
    pulse.step(20, "putting the rest around what was changed")
    solution = _solution(plan, changed, pulse)
    pulse.step(93, "checking the schedule")
    refuse_faulty(changed.question, solution)
    table = timetable(changed.question, solution, changed.floor, changed.shop, plan.number)
    pulse.step(96, "writing the plan down")
    _store(plan, changed, table, solution, monotonic() - began)


def read_changed(plan: Plan) -> Changed:
    """The plan it is based on as the floor stands now, its changes, and the shop with them."""
    source = plan.based_on
    standing = standing_of(source) if source is not None else None
    if source is None or standing is None:
        raise ProblemError(Problem("Nothing was kept to make this plan from", str(plan), "Make a new plan."))
    draft = draft_of(source, standing, read_desk(), live_changes(source))
    shop = _shop_with(source, draft)
    batches = waiting_batches(source, standing.asked.question.batches)
    question = _question(source, draft, shop, batches)
    known = {job.id for job in question.work.jobs}
    floor = read_floor()
    floor = replace(floor, jobs=tuple(job for job in floor.jobs if job.order.number in known))
    return Changed(source, draft, floor, shop, batches, question)


def _shop_with(source: Plan, draft: Draft) -> Shop:
    changes = [*draft.changes, *PlanChange.objects.filter(plan=source, in_plan=True)]
    hours: dict[int, list[DifferentDay]] = {}
    for change in changes:
        if change.kind == HOURS and change.date is not None:
            day = DifferentDay(change.date, True, change.starts, change.ends, change.get_hours_kind_display())
            hours.setdefault(change.work_centre_id or 0, []).append(day)
    runs = [change.date for change in changes if change.kind == RUN and change.date is not None]
    clock = clock_of(source)
    last = max((end for centre in draft.work.work_centres for _, end in centre.windows), default=0)
    days = (clock.day_of(last) - clock.first_day).days + 1
    return load_shop(clock, days, more_hours=hours, more_runs=runs)


def _question(source: Plan, draft: Draft, shop: Shop, batches: Mapping[str, CutBatch]) -> Question:
    """The question with its changes; a batch that was begun since goes by its number on the floor."""
    asked = draft.standing.asked.question
    begun = {
        name: batch_name(source.number, index) for name, index in asked.batches.items() if name not in batches
    }
    work = _renamed(replace(draft.work, lorries=lorries_of(shop)), begun)
    pks = dict(CutBatch.objects.filter(number__in=begun.values()).values_list("number", "pk"))
    names = {one.id for one in work.operations}
    return replace(
        asked,
        work=work,
        own={name: own for name, own in asked.own.items() if name in names},
        batches={name: index for index, name in enumerate(batches)},
        begun={name: pk for name, pk in {**asked.begun, **pks}.items() if name in names},
    )


def _renamed(work: Work, names: Mapping[str, str]) -> Work:
    def renamed(one: Operation) -> Operation:
        return replace(
            one, id=names.get(one.id, one.id), after=tuple(names.get(other, other) for other in one.after)
        )

    return replace(work, operations=tuple(map(renamed, work.operations)))


def _solution(plan: Plan, changed: Changed, pulse: Pulse) -> Solution:
    if not plan.seconds:
        return as_drawn(changed.draft)

    def hear(percent: int, sentence: str, late_minutes: int) -> bool:
        late = f"{late_minutes / 60:.0f} weighted hours late so far"
        return pulse.tell(20 + 0.7 * percent, f"{sentence[0].lower()}{sentence[1:]}; {late}")

    starts = {row.id: row.start_min for row in changed.draft.after.operations}
    held = held_in_place(changed.question.work, changed.draft.after, changed.draft.moved)
    solution = solve(held, plan.seconds, before=starts, progress=hear)
    if solution.stopped:
        raise Stopped
    return solution


def as_drawn(draft: Draft) -> Solution:
    """The draft's own schedule as an answer: nothing is searched."""
    rule = RuleValue("EDD", int(draft.plan.rule_late_hours * 60), 0)
    return Solution(draft.after, (rule,), 0, False, 0.0, 1, 0)


def _store(plan: Plan, changed: Changed, table: Timetable, solution: Solution, seconds: float) -> None:
    """Everything in one transaction; if the run was stopped or closed meanwhile, nothing of it stays."""
    shop, jobs = changed.shop, changed.jobs
    items = Item.objects.in_bulk({item_id for job in jobs.values() for item_id in job.chassis})
    oven = next((centre.oven for centre in shop.centres if centre.oven), None)
    last = max((job.order.due_on for job in jobs.values()), default=shop.clock.first_day)
    loads = loads_by_day(changed.floor, shop, working_days(shop, last), table)
    rows = {row.id: row for row in solution.schedule.operations}
    times = {
        name: (shop.clock.moment(rows[name].start_min), shop.clock.moment(rows[name].end_min))
        for name in changed.batches
        if name in rows
    }
    with transaction.atomic():
        if not close(plan.pk, Plan.Outcome.SUCCEEDED):
            raise Stopped
        copy_parts(changed.source, plan)
        _note_not_kept(plan, changed)
        batches = copy_batches(plan, changed.batches, times)
        keeping.store_loads(plan, table, shop, jobs, items)
        keeping.store_coats(plan, table, shop, oven.frames if oven else 0)
        keeping.store_operations(plan, table, shop, batches)
        late = keeping.store_forecasts(plan, table, shop, jobs)
        keeping.store_day_loads(plan, loads)
        keep_question(plan, changed.question, solution.schedule)
        _keep_changes(plan, changed)
        Plan.objects.filter(pk=plan.pk).update(
            horizon_start=shop.clock.starts_at,
            orders_planned=len(jobs),
            orders_late=late,
            late_hours=as_hours(table.late_hours),
            rule_late_hours=as_hours(table.rule_late_hours),
            bound_late_hours=as_hours(table.bound_late_hours)
            if plan.seconds and table.bound_late_hours
            else None,
            sheets=sum(batch.sheets.count() for batch in batches),
            sheet_use=changed.source.sheet_use,
            run_seconds=as_hours(seconds),
        )


def _note_not_kept(plan: Plan, changed: Changed) -> None:
    """What is held, was not moved by these changes, and does not begin at its time in this plan: by name, and why."""
    draft = changed.draft
    batches = {
        name: batch_name(changed.source.number, index)
        for name, index in draft.standing.asked.question.batches.items()
    }
    places = {centre.code: centre.name for centre in changed.shop.centres}
    why = {one.operation: one for one in draft.hindrances}
    passed = {
        row.name: Hindrance(row.name, PASSED, "", 0, 0)
        for row in draft.standing.holds
        if draft.clock.minute(row.starts_at) < draft.standing.now
    }
    said = [
        not_kept(row, broken_words(found, batches, places, draft.clock))
        for row in draft.standing.holds
        if row.name not in draft.moved and (found := passed.get(row.name) or why.get(row.name))
    ]
    last = plan.notes.aggregate(last=Max("sequence"))["last"] or 0
    PlanNote.objects.bulk_create(
        PlanNote(plan=plan, sequence=number, sentence=sentence[:400])
        for number, sentence in enumerate(said, last + 1)
    )


def _keep_changes(plan: Plan, changed: Changed) -> None:
    """What the plan was made with, its source's own changes first."""
    before = list(PlanChange.objects.filter(plan=changed.source, in_plan=True).order_by("sequence"))
    was_released = changed.source.released_at is not None
    PlanChange.objects.bulk_create(
        [
            PlanChange(
                plan=plan,
                sequence=number,
                in_plan=True,
                kind=change.kind,
                operation=change.operation,
                begins_at=change.begins_at,
                work_centre_id=change.work_centre_id,
                date=change.date,
                hours_kind=change.hours_kind,
                starts=change.starts,
                ends=change.ends,
                by_id=change.by_id,
                was_released=change.in_plan and (was_released or change.was_released),
            )
            for number, change in enumerate([*before, *changed.draft.changes], start=1)
        ]
    )
