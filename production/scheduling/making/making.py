"""Making a plan: read, net, gather and nest, schedule, check, store. Loads the solvers; only the worker imports it.

Nothing is locked while it computes. What it found is stored in one transaction together with the success, or not
at all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from time import monotonic

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from inventory.buying.models import PurchaseOrderLine
from inventory.buying.record import time_away
from production.cutting import batching
from production.cutting.batching import Batch
from production.cutting.fillers import shelf_wants, wants_left
from production.cutting.nesting.job import NestProgress
from production.cutting.raws import raws_left, read_raw, sheet_areas
from production.orders.freezing import GALVANISE
from production.planning.book import BookTotal, book_totals, refuse_other_totals, store_book
from production.planning.changing import store_changes
from production.planning.keeping import store_parts
from production.planning.models import Plan
from production.planning.needs import Needs, read_needs
from production.planning.netting.data import SupplyKind
from production.planning.netting.net import net_requirements
from production.planning.netting.plan import NetPlan
from production.scheduling.asked.asking import ask
from production.scheduling.asked.holding import held_minutes, live_holds
from production.scheduling.asked.holds import Placed, put_in_place
from production.scheduling.asked.question import Question
from production.scheduling.asked.questions import keep_question
from production.scheduling.asked.reading import Floor, Job, read_floor
from production.scheduling.making import keeping, steel
from production.scheduling.making.answering import timetable
from production.scheduling.making.loading import Wish, day_loads
from production.scheduling.making.staying import frozen_starts, not_kept_notes, starts_before
from production.scheduling.making.timetable import Timetable
from production.scheduling.runs import Pulse, Stopped, close
from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.job import Solution
from production.scheduling.solver.solve import solve
from production.shop.calendars import Shop, horizon_clock, load_shop
from production.shop.hours import WorkingDays
from production.works.models import WorksOperation

# The horizon goes so far beyond the last due day; what is late needs room.
ROOM_DAYS = 120
NESTING_SECONDS = 15.0
USUAL_GALVANISING_DAYS = 5  # where no lorry calls: common practice, no source


@dataclass(frozen=True)
class Ground:
    """What was read before anything is worked out."""

    floor: Floor
    shop: Shop
    days: WorkingDays
    needs: Needs

    @property
    def today(self) -> date:
        return self.shop.clock.first_day

    @property
    def jobs(self) -> dict[int, Job]:
        return {job.order.pk: job for job in self.floor.jobs}


def make_plan(plan: Plan, pulse: Pulse) -> None:
    """Make a claimed plan from beginning to end.

    Raises:
        ProblemError: the plan cannot be made, with every reason found.
        Stopped: somebody cancelled it.
    """
    began = monotonic()
    ground = read_ground()
    pulse.step(4, f"netting the parts of {len(ground.floor.jobs)} orders")
    net = net_of(ground.needs)
    words = _words(ground.needs, net)
    totals = book_totals(ground.needs)
    refuse_other_totals(totals, ground.floor.orders)
    batches, notes, later = _cut(plan, ground, net, pulse)
    pulse.step(45, "putting every job in its place")
    holds, before = live_holds(), starts_before(ground.shop)
    minutes = held_minutes(holds, ground.shop.clock)
    frozen = frozen_starts(plan, ground.shop)
    frozen |= {name: minute for name, minute in minutes.items() if name in frozen}
    question = ask(ground.floor, ground.needs, net, batches, later, ground.shop, words, frozen)
    placed = put_in_place(question.work, minutes, before)
    question = replace(question, work=placed.work)
    solution = _schedule(plan, placed, before, pulse)
    pulse.step(93, "checking the schedule")
    refuse_faulty(question, solution)
    table = timetable(question, solution, ground.floor, ground.shop, plan.number)
    notes += not_kept_notes(plan, holds, placed, question, ground.shop)
    pulse.step(96, "writing the plan down")
    _store(plan, ground, net, totals, batches, table, notes, monotonic() - began, question, solution)


def read_ground() -> Ground:
    """Everything a plan is made from."""
    floor = read_floor()
    if not floor.jobs:
        raise ProblemError(
            Problem("There is no confirmed order to plan", "order book", "Confirm an order first.")
        )
    clock = horizon_clock()
    last = max(max(order.due_on for order in floor.orders), clock.first_day)
    shop = load_shop(clock, (last - clock.first_day).days + ROOM_DAYS)
    _refuse_without_centres(floor, shop)
    days = working_days(shop, last)
    away = days_away(shop)
    needs = read_needs(
        floor.orders, under_way=floor.under_way, today=clock.first_day, days=days, galvanising_days=away
    )
    return Ground(floor, shop, days, needs)


def working_days(shop: Shop, last: date) -> WorkingDays:
    """The days worked from a year before the horizon to two years after the last due day."""
    year = timedelta(days=366)
    return WorkingDays(shop.hours, shop.clock.first_day - year, last + 2 * year)


def days_away(shop: Shop) -> int:
    """Working days at the galvaniser: as measured, else as the lorry's days state, else the usual."""
    measured = time_away(GALVANISE)
    if measured is not None and measured.is_measured:
        return measured.days
    return max((run.call.back_after_days for run in shop.departures), default=USUAL_GALVANISING_DAYS)


def _refuse_without_centres(floor: Floor, shop: Shop) -> None:
    wanted = {
        process
        for job in floor.jobs
        for process, operation in job.operations.items()
        if operation.state != WorksOperation.State.DONE
    }
    have = {centre.process for centre in shop.centres if centre.windows}
    problems = [
        Problem(
            f"No work centre that is ever open does {process}",
            "shop",
            "Enter one with its hours, then make the plan again.",
        )
        for process in sorted(wanted - have - {"galvanise"})
    ]
    if "galvanise" in wanted and not shop.departures:
        problems.append(
            Problem("No lorry calls for galvanising", "shop", "Enter the days on which it calls.")
        )
    if "powder" in wanted and not any(centre.oven for centre in shop.centres):
        problems.append(Problem("There is no powder oven", "shop", "Enter its figures."))
    problems += [
        Problem(
            "It is to be powder coated but names no colour",
            f"order {job.order.number}",
            "Choose the colour on its page.",
        )
        for job in floor.jobs
        if not job.is_done("powder") and job.powder is None
    ]
    if problems:
        raise ProblemError(*problems)


def net_of(needs: Needs) -> NetPlan:
    """What must be made and bought for these needs."""
    return net_requirements(
        needs.demands,
        needs.bills,
        needs.rules,
        needs.stock,
        needs.receipts,
        today=needs.today,
        offset=needs.days.before,
    )


def _words(needs: Needs, net: NetPlan) -> dict[str, str]:
    """What is said of a receipt or a planned purchase behind the day on which it comes. One query."""
    lines = dict(
        PurchaseOrderLine.objects.filter(
            pk__in=[int(receipt.reference) for receipt in needs.receipts]
        ).values_list("pk", "order__number")
    )
    words = {f"{SupplyKind.RECEIPT} {pk}": f" on purchase order {number}" for pk, number in lines.items()}
    for supply in net.supplies:
        if not supply.make:
            begin = date.fromordinal(max(supply.release_day, needs.today))
            words[f"{SupplyKind.PLANNED} {supply.number}"] = (
                f" if it is bought by {begin:%a} {begin.day} {begin:%b}"
            )
    return words


def _cut(
    plan: Plan, ground: Ground, net: NetPlan, pulse: Pulse
) -> tuple[list[Batch], list[str], dict[int, float]]:
    """Gather what the laser owes into batches and nest those that are near."""
    needs = ground.needs
    flats = batching.read_flats([item.pk for item in needs.items.values() if item.is_made])
    raws = read_raw()
    owed = steel.owed_parts(needs, net, flats)
    wants = shelf_wants(flats, owed)
    gathered = batching.gather(
        owed,
        flats,
        ground.days,
        ground.today,
        plan.batch_days,
        sheet_areas(raws),
    )
    sorted_out = steel.sort_out(gathered, flats, ground.today, ground.days)
    seconds = batching.share_seconds(sorted_out.now, NESTING_SECONDS, ground.today, ground.days)
    batches: list[Batch] = []
    for index, (one, share) in enumerate(zip(sorted_out.now, seconds, strict=True)):
        free = raws_left(raws.get(one.metal, []), (sheet.raw for batch in batches for sheet in batch.sheets))
        batches.append(
            batching.lay_out(
                one,
                flats,
                free,
                share,
                _Nesting(pulse, index, len(sorted_out.now), one),
                fillers=wants_left(wants, batches, flats),
            )
        )
        done = (index + 1) / len(sorted_out.now)
        if not pulse.tell(8 + 37 * done, f"nested {index + 1} of {len(sorted_out.now)} batches"):
            raise Stopped
    return batches, _notes(batches, needs, sorted_out), dict(sorted_out.later_minutes)


class _Nesting:
    """Passes on how far a nest is, and whether it should stop."""

    def __init__(self, pulse: Pulse, index: int, count: int, one: batching.Gathered) -> None:
        self.pulse, self.index, self.count = pulse, index, count
        grade, thickness = one.metal
        self.words = f"nesting {grade} {thickness.normalize():f} mm, batch {index + 1} of {count}"

    def __call__(self, progress: NestProgress) -> bool:
        share = (self.index + progress.share) / max(1, self.count)
        return self.pulse.tell(8 + 37 * share, self.words)


def _notes(batches: Sequence[Batch], needs: Needs, sorted_out: steel.Sorted) -> list[str]:
    notes = steel.steel_notes(batches, needs)
    if sorted_out.later_minutes:
        hours = sum(sorted_out.later_minutes.values()) / 60
        until = sorted_out.until
        notes.append(
            f"Laser parts needed after {until:%a} {until.day} {until:%b} are not nested yet; "
            f"{hours:.1f} hours at the laser are reckoned for them."
        )
    return notes


def _schedule(plan: Plan, placed: Placed, before: Mapping[str, int], pulse: Pulse) -> Solution:
    def hear(percent: int, sentence: str, late_minutes: int) -> bool:
        late = f"{late_minutes / 60:.0f} weighted hours late so far"
        return pulse.tell(45 + 0.47 * percent, f"{sentence[0].lower()}{sentence[1:]}; {late}")

    solution = solve(placed.pinned, plan.seconds, before=before, progress=hear)
    if solution.stopped:
        raise Stopped
    return solution


def refuse_faulty(question: Question, solution: Solution) -> None:
    """Raise what the independent checker finds."""
    if problems := check_schedule(question.work, solution.schedule):
        raise ProblemError(*problems)


def _store(
    plan: Plan,
    ground: Ground,
    net: NetPlan,
    totals: Mapping[str, BookTotal],
    batches: Sequence[Batch],
    table: Timetable,
    notes: Sequence[str],
    seconds: float,
    question: Question,
    solution: Solution,
) -> None:
    """Everything in one transaction; if the run was stopped or closed meanwhile, nothing of it stays."""
    shop, jobs = ground.shop, ground.jobs
    items = {item.pk: item for item in ground.needs.items.values()}
    oven = next((centre.oven for centre in shop.centres if centre.oven), None)
    loads = loads_by_day(ground.floor, shop, ground.days, table)
    with transaction.atomic():
        if not close(plan.pk, Plan.Outcome.SUCCEEDED):
            raise Stopped
        store_parts(plan, ground.needs, net)
        store_changes(plan, ground.needs, net)
        store_book(plan, ground.needs, totals)
        rows = keeping.store_batches(plan, batches, table, shop)
        keeping.store_loads(plan, table, shop, jobs, items)
        keeping.store_coats(plan, table, shop, oven.frames if oven else 0)
        keeping.store_operations(plan, table, shop, rows)
        late = keeping.store_forecasts(plan, table, shop, jobs)
        keeping.store_day_loads(plan, loads)
        keeping.store_notes(plan, notes)
        keep_question(plan, question, solution.schedule)
        Plan.objects.filter(pk=plan.pk).update(
            horizon_start=shop.clock.starts_at,
            orders_planned=len(jobs),
            orders_late=late,
            moved=solution.moved,
            late_hours=as_hours(table.late_hours),
            rule_late_hours=as_hours(table.rule_late_hours),
            bound_late_hours=None if table.bound_late_hours is None else as_hours(table.bound_late_hours),
            sheets=sum(len(batch.sheets) for batch in batches),
            sheet_use=_use(batches),
            run_seconds=as_hours(seconds),
        )


def as_hours(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.1"))


def _use(batches: Sequence[Batch]) -> Decimal:
    area = sum(batch.area_mm2 for batch in batches)
    parts = sum(batch.use * batch.area_mm2 for batch in batches)
    return Decimal(repr(parts / area if area else 0.0)).quantize(Decimal("0.0001"))


def loads_by_day(
    floor: Floor, shop: Shop, days: WorkingDays, table: Timetable
) -> list[tuple[int, date, int, int, int]]:
    """Rows of (work centre, date, minutes open, planned, wanted) of a timetable."""
    away = days_away(shop)
    wishes = [
        Wish(
            process,
            float(operation.minutes),
            job.order.due_on,
            away if "galvanise" in job.operations else 0,
        )
        for job in floor.jobs
        for process, operation in job.operations.items()
        if operation.state != WorksOperation.State.DONE
    ]
    centres = {centre.pk: (centre.process, centre.windows) for centre in shop.centres}
    return day_loads(centres, table.planned, wishes, shop.clock, days)
