"""The scheduler's answer as a timetable: who works on what when, lorries, oven, forecasts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from production.scheduling.asked.question import LORRY, Question, batch_name
from production.scheduling.asked.reading import Floor
from production.scheduling.making.causes import causes_of
from production.scheduling.making.timetable import Cause, Coat, Forecast, Load, Planned, Timetable
from production.scheduling.solver.job import Operation, ScheduledOperation, Solution
from production.shop.calendars import Centre, Shop


def timetable(
    question: Question, solution: Solution, floor: Floor, shop: Shop, plan_number: int
) -> Timetable:
    """Read the answer back into orders, batches and stations."""
    causes = causes_of(question, solution, floor, shop, batch_names(question, plan_number))
    asked = {one.id: one for one in question.work.operations}
    centres = {centre.code: centre for centre in shop.centres}
    rows = solution.schedule.operations
    coats = [coat for oven in _ovens(centres.values()) for coat in _coats(question, rows, oven, floor)]
    return Timetable(
        planned=tuple(_planned(question, rows, asked, centres, floor)),
        loads=tuple(_loads(question, rows)),
        coats=tuple(coats),
        forecasts=tuple(_forecasts(question, solution, floor, causes)),
        late_hours=solution.schedule.late_minutes / 60,
        rule_late_hours=min((rule.late_minutes for rule in solution.rules), default=0) / 60,
        bound_late_hours=solution.bound_late_minutes / 60,
    )


def _ovens(centres: Iterable[Centre]) -> list[Centre]:
    return [centre for centre in centres if centre.oven is not None]


def _planned(
    question: Question,
    rows: Sequence[ScheduledOperation],
    asked: Mapping[str, Operation],
    centres: Mapping[str, Centre],
    floor: Floor,
) -> Iterable[Planned]:
    jobs = {job.order.pk: job for job in floor.jobs}
    together: dict[tuple[str, int], int] = defaultdict(int)
    for row in rows:
        together[row.work_centre, row.unit] += 1
    for row in rows:
        centre = centres.get(row.work_centre)
        if centre is None:
            continue
        order_id, process = question.own.get(row.id, (None, ""))
        minutes = float(asked[row.id].minutes)
        if centre.oven is not None:
            # Frames of one batch share its time.
            minutes = centre.oven.batch_minutes / together[row.work_centre, row.unit]
        yield Planned(
            centre_id=centre.pk,
            start=row.start_min,
            end=row.end_min,
            minutes=minutes,
            order_id=order_id,
            operation_id=jobs[order_id].operations[process].pk if order_id is not None else None,
            batch=question.batches.get(row.id),
            batch_id=question.begun.get(row.id),
            is_fixed=row.id in question.begun or (order_id is not None and jobs[order_id].is_begun(process)),
        )


def _loads(question: Question, rows: Sequence[ScheduledOperation]) -> Iterable[Load]:
    on_run: dict[int, list[int]] = defaultdict(list)
    for row in rows:
        if row.work_centre == LORRY:
            on_run[row.unit].append(question.own[row.id][0])
    return (Load(run, tuple(orders)) for run, orders in sorted(on_run.items()))


def _coats(
    question: Question, rows: Sequence[ScheduledOperation], centre: Centre, floor: Floor
) -> Iterable[Coat]:
    """Batches of one oven in the order they run, each with the change of colour before it."""
    oven = next(one for one in question.work.ovens if one.code == centre.code)
    asked = {one.id: one for one in question.work.operations}
    colours = {colour.code: colour.pk for colour in floor.colours}
    slots: dict[tuple[int, int], list[ScheduledOperation]] = defaultdict(list)
    for row in rows:
        if row.work_centre == centre.code:
            slots[row.start_min, row.end_min].append(row)
    before = oven.colour
    for (start, end), members in sorted(slots.items()):
        colour = asked[members[0].id].colour
        yield Coat(
            colours[colour],
            start,
            end,
            oven.change(before, colour),
            tuple(question.own[row.id][0] for row in members),
        )
        before = colour


def batch_names(question: Question, plan_number: int) -> dict[str, str]:
    """What each cut batch of the question is called on the floor."""
    laid = {name: batch_name(plan_number, index) for name, index in question.batches.items()}
    return {**laid, **{name: name for name in question.begun}}


def _forecasts(
    question: Question, solution: Solution, floor: Floor, causes: Mapping[int, tuple[Cause, ...]]
) -> Iterable[Forecast]:
    for job in floor.jobs:
        yield Forecast(
            job.order.pk,
            solution.schedule.finish_min.get(job.order.number, 0),
            question.parts_day[job.order.pk],
            causes.get(job.order.pk, ()),
        )
