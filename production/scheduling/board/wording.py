"""What the scheduler's names, minutes and findings are called on a page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.held_models import HeldOperation
from production.scheduling.asked.question import LORRY, batch_name
from production.scheduling.asked.stops import Stop
from production.scheduling.asked.trying import Hindrance, JobChange
from production.scheduling.board.drafts import HOURS, MOVE, Draft
from production.shop.models import WorkCentre

MOST_NAMED = 6


class Namer:
    """Names of one draft. `days_late` is by its schedule with the changes."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        question = draft.standing.asked.question
        self.own = dict(question.own)
        self.batches = {
            name: batch_name(draft.plan.number, index) for name, index in question.batches.items()
        }
        self.orders = {order.pk: number for number, order in draft.standing.orders.items()}
        self.places = {centre.code: centre.name for centre in draft.desk.centres.values()} | {
            LORRY: "the lorry"
        }
        self.processes = {centre.process.code: centre.process.name for centre in draft.desk.centres.values()}
        self.due = {job.id: job.due_min for job in draft.work.jobs}

    def add(self, order_id: int, number: str, operations: Iterable[str]) -> None:
        """Name the operations of an order that the plan does not hold."""
        self.orders[order_id] = number
        self.own |= {name: (order_id, name.removeprefix(f"{number} ")) for name in operations}

    def order_of(self, operation: str) -> str:
        """The number of the order it belongs to; "" for a batch that several share."""
        return self.orders.get(self.own.get(operation, (0, ""))[0], "")

    def process_of(self, operation: str) -> str:
        return self.own.get(operation, (0, ""))[1]

    def short(self, operation: str) -> str:
        """What stands on its bar: the order's number, or the batch's."""
        return self.order_of(operation) or self.batches.get(operation, operation)

    def full(self, operation: str) -> str:
        """ "order 2604, Weld"."""
        order, process = self.order_of(operation), self.process_of(operation)
        if not order:
            return f"cut batch {self.short(operation)}"
        return f"order {order}, {self.processes.get(process, process)}"

    def finish(self, order: str) -> int:
        return self.draft.after.finish_min.get(order, 0)

    def days_late(self, order: str) -> int:
        """Days after the due day on which the order is finished; 0 where it is in time."""
        due_on = self.due_on(order)
        finish = self.finish(order)
        if due_on is None or not finish:
            return 0
        return max(0, (self.draft.clock.day_of(finish) - due_on).days)

    def due_on(self, order: str) -> date | None:
        found = self.draft.standing.orders.get(order)
        return found.due_on if found else None


@dataclass(frozen=True)
class Said:
    """What a change does, in sentences: what stops it, who becomes late, who is freed, what else moves."""

    stops: tuple[str, ...]
    worse: tuple[str, ...]
    better: tuple[str, ...]
    pushed: tuple[str, ...]
    pushed_more: int

    @property
    def is_harmless(self) -> bool:
        return not self.stops and not self.worse


def said_of(draft: Draft, namer: Namer) -> Said:
    """The draft's effect in words."""
    changes = [
        _job_words(draft, namer, job) for job in draft.effect.jobs if job.late_before != job.late_after
    ]
    worse = [words for is_worse, words in changes if is_worse]
    better = [words for is_worse, words in changes if not is_worse]
    pushed = [
        f"{namer.full(name)}: {when(draft, before)} → {when(draft, after)}"
        for name, before, after in draft.effect.pushed
        if name not in draft.moved
    ]
    return Said(
        tuple(hindrance_words(draft, namer, one) for one in draft.hindrances),
        tuple(worse),
        tuple(better),
        tuple(pushed[:MOST_NAMED]),
        max(0, len(pushed) - MOST_NAMED),
    )


def _job_words(draft: Draft, namer: Namer, job: JobChange) -> tuple[bool, str]:
    clock = draft.clock
    due = namer.due_on(job.job) or clock.day_of(job.due)
    before, after = ((clock.day_of(end) - due).days for end in (job.before, job.after))
    is_worse = job.late_after > job.late_before
    finish = when(draft, job.after)
    if before <= 0 < after:
        return (
            is_worse,
            f"Order {job.job} becomes {_days(after)} late: finished {finish}, due {day_words(due)}.",
        )
    if after <= 0 < before:
        return is_worse, f"Order {job.job} is no longer late: finished {finish}."
    if after == before:
        hours = abs(job.late_after - job.late_before) / 60
        return (
            is_worse,
            f"Order {job.job} is {hours:.1f} h {'later' if is_worse else 'less late'}: finished {finish}.",
        )
    return is_worse, f"Order {job.job} is {_days(after)} late instead of {_days(before)}: finished {finish}."


def hindrance_words(draft: Draft, namer: Namer, one: Hindrance) -> str:
    """Why a moved operation begins later than asked."""
    what = namer.full(one.operation)
    lead = f"{what[0].upper()}{what[1:]} cannot begin {when(draft, one.wanted)}: "
    until = when(draft, one.minute)
    if one.kind == "after":
        return f"{lead}{namer.full(one.subject)} ends {until}."
    if one.kind == "material":
        return f"{lead}it waits until {until}{' for ' + one.subject if one.subject else ''}."
    if one.kind == "closed":
        return f"{lead}{namer.places.get(one.subject, 'the station')} is closed. It begins {until}."
    busy = f" with {namer.full(one.subject)}" if one.subject else ""
    return f"{lead}every place there is taken{busy}. It begins {until}."


@dataclass(frozen=True)
class StoppedWords:
    """A breakdown in sentences: what stands, which operations fall into it, who becomes late."""

    stops: tuple[str, ...]
    operations: tuple[tuple[str, str], ...]
    more: int
    worse: tuple[str, ...]
    better: tuple[str, ...]


def stopped_words(draft: Draft, namer: Namer) -> StoppedWords | None:
    """What stands since the plan was made; none where nothing does. No query."""
    found = draft.breakdown
    if found is None:
        return None
    rows = {row.id: row for row in draft.before.operations}
    pushed = {name for name, *_ in found.effect.pushed}

    def now(name: str) -> str:
        row = rows[name]
        return (
            f"now {when(draft, row.start_min)}" if name in pushed else f"now until {when(draft, row.end_min)}"
        )

    hit = sorted(found.operations, key=lambda name: (rows[name].start_min, name))
    jobs = [_job_words(draft, namer, job) for job in found.effect.jobs if job.late_before != job.late_after]
    centres = {centre.code: centre for centre in draft.desk.centres.values()}
    return StoppedWords(
        tuple(_stop_words(draft, centres[stop.work_centre], stop) for stop in found.stops),
        tuple((name, f"{namer.full(name)}: {now(name)}") for name in hit[:MOST_NAMED]),
        max(0, len(hit) - MOST_NAMED),
        tuple(words for is_worse, words in jobs if is_worse),
        tuple(words for is_worse, words in jobs if not is_worse),
    )


def _stop_words(draft: Draft, centre: WorkCentre, stop: Stop) -> str:
    some = stop.units is not None and stop.units < centre.units
    lead = f"{centre.name[0].upper()}{centre.name[1:]}"
    which = f", {stop.units} of {centre.units} places" if some else ""
    span = f"from {when(draft, stop.start_min)} to {when(draft, stop.end_min)}"
    return f"{lead}{which}: no work {span}, {stop.reason}."


@dataclass(frozen=True)
class HeldWords:
    """One held operation for the list: `begins_at` where the plan that is shown has it, `stops` why not in time."""

    hold: HeldOperation
    begins_at: datetime | None
    stops: str


def held_words(draft: Draft, namer: Namer) -> list[HeldWords]:
    """What is held, with what keeps it from its time. No query."""
    rows = {row.id: row for row in draft.after.operations}
    why = {one.operation: hindrance_words(draft, namer, one) for one in draft.hindrances}
    found = []
    for hold in draft.standing.holds:
        row = rows.get(hold.name)
        has_passed = draft.clock.minute(hold.starts_at) < draft.standing.now
        stops = "That time has passed and its work is not begun." if has_passed else why.get(hold.name, "")
        if hold.name in draft.moved:
            stops = "The changes tried here move it."
        found.append(HeldWords(hold, draft.clock.moment(row.start_min) if row else None, stops))
    return found


def change_words(draft: Draft, namer: Namer, change: PlanChange) -> str:
    """One change in a sentence."""
    if change.kind == MOVE and change.begins_at is not None:
        what = namer.full(change.operation)
        return (
            f"{what[0].upper()}{what[1:]} not before {_moment(change.begins_at.astimezone(draft.clock.zone))}"
        )
    if change.kind == HOURS and change.date and change.starts and change.ends:
        name = draft.desk.centres[change.work_centre_id or 0].name
        return (
            f"{name}: {change.get_hours_kind_display()} {day_words(change.date)}, "
            f"{change.starts:%H:%M} to {change.ends:%H:%M}"
        )
    return f"An extra lorry {day_words(change.date)}" if change.date else "A change"


def all_words(draft: Draft, namer: Namer, changes: Iterable[PlanChange]) -> list[str]:
    return [change_words(draft, namer, change) for change in changes]


def when(draft: Draft, minute: int) -> str:
    """ "Tue 12 May 14:30"."""
    return _moment(draft.clock.moment(minute))


def _moment(moment: datetime) -> str:
    return f"{day_words(moment.date())} {moment:%H:%M}"


def day_words(day: date) -> str:
    """ "Tue 12 May"."""
    return f"{day:%a} {day.day} {day:%b}"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
