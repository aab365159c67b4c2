"""A schedule as rows of a plan: batches with their sheets, loads, powder batches, operations, forecasts, causes."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal

from bom.items.models import Item
from production.coating.load_rules import draft_again, draft_line
from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch, PowderLine
from production.coating.outstanding import wanted_again
from production.cutting.batching import Batch
from production.cutting.models import CutBatch
from production.cutting.stopping import note_parts
from production.cutting.storing import store_sheets
from production.planning.keeping import ROWS_AT_ONCE
from production.planning.models import Plan, PlanNote
from production.scheduling.asked.question import batch_name
from production.scheduling.asked.reading import Job
from production.scheduling.making.timetable import Timetable
from production.scheduling.models import DayLoad, DelayCause, OrderForecast, PlannedOperation
from production.shop.calendars import Shop

TENTH = Decimal("0.1")
SHARE = Decimal("0.0001")
MILLI = Decimal("0.001")


def store_batches(plan: Plan, batches: Sequence[Batch], table: Timetable, shop: Shop) -> list[CutBatch]:
    """Cut batches with their sheets and placements, numbered after the plan."""
    times = {one.batch: one for one in table.planned if one.batch is not None}
    rows = []
    for index, batch in enumerate(batches):
        planned = times.get(index)
        grade, thickness = batch.gathered.metal
        rows.append(
            CutBatch(
                number=batch_name(plan.number, index),
                plan=plan,
                grade=grade,
                thickness_mm=thickness,
                needed_on=batch.gathered.needed_on,
                starts_at=shop.clock.moment(planned.start) if planned else None,
                ends_at=shop.clock.moment(planned.end) if planned else None,
                minutes=_decimal(batch.minutes, TENTH),
                use=_decimal(batch.use, SHARE),
                bound_sheets=_decimal(batch.bound_sheets, MILLI),
                gap_mm=_decimal(batch.settings.gap_mm, TENTH),
                margin_mm=_decimal(batch.settings.margin_mm, TENTH),
            )
        )
    CutBatch.objects.bulk_create(rows, batch_size=ROWS_AT_ONCE)
    store_sheets(rows, batches)
    note_parts(rows)
    return rows


def store_loads(
    plan: Plan, table: Timetable, shop: Shop, jobs: Mapping[int, Job], items: Mapping[int, Item]
) -> None:
    """Lorry loads with a line for each welded assembly of each order."""
    loads, contents = [], []
    for index, load in enumerate(sorted(table.loads, key=lambda load: load.run), start=1):
        run = shop.departures[load.run]
        loads.append(
            GalvanisingLoad(
                number=f"GL-{plan.number}-{index:02d}",
                plan=plan,
                leaves_at=run.leaves_at,
                back_at=run.back_at,
                max_kg=run.call.max_kg,
                minimum_charge_kg=run.call.minimum_charge_kg,
                bath_length_mm=run.call.bath_length_mm,
            )
        )
        contents.append(load.order_ids)
    GalvanisingLoad.objects.bulk_create(loads, batch_size=ROWS_AT_ONCE)
    # An order that was with the galvaniser already sends only what did not come back good.
    again: defaultdict[int, list[tuple[LoadLine, Decimal]]] = defaultdict(list)
    for line, lacking in wanted_again([order_id for ids in contents for order_id in ids]).items():
        again[line.order_id].append((line, lacking))
    lines = []
    for row, order_ids in zip(loads, contents, strict=True):
        for order_id in order_ids:
            if order_id in again:
                lines += [draft_again(row, line, lacking) for line, lacking in again[order_id]]
                continue
            chassis = sorted(jobs[order_id].chassis.items())
            lines += [draft_line(row, order_id, items[item_id], quantity) for item_id, quantity in chassis]
    LoadLine.objects.bulk_create(lines, batch_size=ROWS_AT_ONCE)


def store_coats(plan: Plan, table: Timetable, shop: Shop, frames: int) -> None:
    """Powder batches with a line for each order's frame."""
    coats = sorted(table.coats, key=lambda coat: coat.start)
    batches = PowderBatch.objects.bulk_create(
        [
            PowderBatch(
                number=f"PB-{plan.number}-{index:02d}",
                plan=plan,
                colour_id=coat.colour_id,
                starts_at=shop.clock.moment(coat.start),
                ends_at=shop.clock.moment(coat.end),
                change_minutes=coat.change_minutes,
                frames=frames,
            )
            for index, coat in enumerate(coats, start=1)
        ],
        batch_size=ROWS_AT_ONCE,
    )
    PowderLine.objects.bulk_create(
        [
            PowderLine(batch=batch, order_id=order_id)
            for batch, coat in zip(batches, coats, strict=True)
            for order_id in coat.order_ids
        ],
        batch_size=ROWS_AT_ONCE,
    )


def store_operations(plan: Plan, table: Timetable, shop: Shop, batches: Sequence[CutBatch]) -> None:
    PlannedOperation.objects.bulk_create(
        [
            PlannedOperation(
                plan=plan,
                work_centre_id=one.centre_id,
                operation_id=one.operation_id,
                batch_id=batches[one.batch].pk if one.batch is not None else one.batch_id,
                order_id=one.order_id,
                starts_at=shop.clock.moment(one.start),
                ends_at=shop.clock.moment(one.end),
                minutes=_decimal(one.minutes, TENTH),
                is_fixed=one.is_fixed,
            )
            for one in table.planned
        ],
        batch_size=ROWS_AT_ONCE,
    )


def store_forecasts(plan: Plan, table: Timetable, shop: Shop, jobs: Mapping[int, Job]) -> int:
    """Forecasts and the chain of causes of every late order. Returns how many orders are late."""
    rows = []
    for one in table.forecasts:
        finishes_at = shop.clock.moment(one.finish)
        due_on = jobs[one.order_id].order.due_on
        rows.append(
            OrderForecast(
                plan=plan,
                order_id=one.order_id,
                parts_on=date.fromordinal(one.parts_day),
                finishes_at=finishes_at,
                due_on=due_on,
                days_late=(finishes_at.date() - due_on).days,
            )
        )
    OrderForecast.objects.bulk_create(rows, batch_size=ROWS_AT_ONCE)
    DelayCause.objects.bulk_create(
        [
            DelayCause(
                plan=plan,
                order_id=one.order_id,
                sequence=number,
                kind=cause.kind[:20],
                sentence=cause.sentence[:300],
                other_order_id=cause.other_order_id,
            )
            for one in table.forecasts
            for number, cause in enumerate(one.causes, start=1)
        ],
        batch_size=ROWS_AT_ONCE,
    )
    return sum(row.days_late > 0 for row in rows)


def store_day_loads(plan: Plan, rows: Iterable[tuple[int, date, int, int, int]]) -> None:
    """Rows of (work centre, date, minutes open, planned, wanted)."""
    DayLoad.objects.bulk_create(
        [
            DayLoad(
                plan=plan,
                work_centre_id=centre_id,
                date=day,
                open_minutes=open_minutes,
                planned_minutes=planned,
                wanted_minutes=wanted,
            )
            for centre_id, day, open_minutes, planned, wanted in rows
        ],
        batch_size=ROWS_AT_ONCE,
    )


def store_notes(plan: Plan, sentences: Iterable[str]) -> None:
    PlanNote.objects.bulk_create(
        [
            PlanNote(plan=plan, sequence=number, sentence=sentence[:400])
            for number, sentence in enumerate(dict.fromkeys(sentences), start=1)
        ]
    )


def _decimal(value: float, places: Decimal) -> Decimal:
    return Decimal(repr(float(value))).quantize(places)
