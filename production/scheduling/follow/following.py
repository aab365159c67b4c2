"""Plan against actual: what was to begin and end when, what did, the indicators of a period, and times to correct."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from bom.structure.models import Process
from production.coating.models import PowderBatch
from production.orders.models import Order
from production.scheduling.follow.history import Took, took
from production.scheduling.follow.indicators import (
    Correction,
    Execution,
    allocation_ratio,
    correction_of,
    setup_ratio,
    share,
    throughput_rate,
)
from production.scheduling.models import PlannedOperation
from production.works.models import WorksOperation
from production.works.time_models import TimeCorrection

USUAL_DAYS = 28
FEWEST_TIMES = 5
State = WorksOperation.State


@dataclass(frozen=True)
class Against:
    """One operation: planned and actual times. `off_minutes` is how much later it began than planned."""

    order: str
    process: str
    planned_start: datetime
    planned_end: datetime
    began_at: datetime
    finished_at: datetime | None

    @property
    def off_minutes(self) -> int:
        return round((self.began_at - self.planned_start).total_seconds() / 60)

    @property
    def is_later(self) -> bool:
        return self.off_minutes > 0

    @property
    def off_hours(self) -> float:
        return abs(self.off_minutes) / 60

    @property
    def is_on_its_day(self) -> bool:
        return timezone.localtime(self.began_at).date() == timezone.localtime(self.planned_start).date()


@dataclass(frozen=True)
class SetUp:
    """One powder batch: its change of colour and its time in the oven, in minutes."""

    batch: str
    change_minutes: float
    oven_minutes: float


@dataclass(frozen=True)
class Period:
    """What happened from `since` on, and the rows behind every figure."""

    since: datetime
    against: tuple[Against, ...]
    executions: tuple[Execution, ...]
    in_progress: tuple[Order, ...]
    set_ups: tuple[SetUp, ...]

    @property
    def late(self) -> tuple[Execution, ...]:
        return tuple(one for one in self.executions if not self.is_on_time(one))

    def is_on_time(self, one: Execution) -> bool:
        return one.is_on_time(timezone.localtime(one.finished_at).date())

    @property
    def on_time(self) -> float | None:
        return share(len(self.executions) - len(self.late), len(self.executions))

    @property
    def adherence(self) -> float | None:
        return share(sum(one.is_on_its_day for one in self.against), len(self.against))

    @property
    def execution_minutes(self) -> float:
        return sum(one.execution_minutes for one in self.executions)

    @property
    def busy_minutes(self) -> float:
        return sum(one.busy_minutes for one in self.executions)

    @property
    def throughput(self) -> float | None:
        return throughput_rate(len(self.executions), self.execution_minutes)

    @property
    def allocation(self) -> float | None:
        return allocation_ratio(self.busy_minutes, self.execution_minutes)

    @property
    def change_minutes(self) -> float:
        return sum(one.change_minutes for one in self.set_ups)

    @property
    def oven_minutes(self) -> float:
        return sum(one.change_minutes + one.oven_minutes for one in self.set_ups)

    @property
    def set_up(self) -> float | None:
        return setup_ratio(self.change_minutes, self.oven_minutes)


def period(days: int = USUAL_DAYS, times: list[Took] | None = None) -> Period:
    """The last `days` days. Eight queries, three of them for `times` where those are not at hand."""
    since = timezone.now() - timedelta(days=days)
    times = took() if times is None else times
    return Period(
        since,
        tuple(_against(since)),
        tuple(_executions(since, times)),
        tuple(
            Order.objects.filter(state=Order.State.BEGUN)
            .select_related("customer", "model")
            .order_by("number")
        ),
        tuple(_set_ups(since)),
    )


def _against(since: datetime) -> list[Against]:
    """Operations begun since, each against the last plan that was released before it began. One query."""
    rows = (
        PlannedOperation.objects.filter(
            operation__began_at__gte=since,
            operation__state__in=[State.BEGUN, State.DONE],
            plan__released_at__isnull=False,
        )
        .select_related("operation__process", "order", "plan")
        .order_by("plan__released_at")
    )
    found: dict[int, Against] = {}
    for row in rows:
        one = row.operation
        if one is None or one.began_at is None or row.plan.released_at is None or row.is_fixed:
            continue
        if row.plan.released_at <= one.began_at:
            found[one.pk] = Against(
                row.order.number if row.order else "",
                one.process.name,
                row.starts_at,
                row.ends_at,
                one.began_at,
                one.finished_at,
            )
    return sorted(found.values(), key=lambda one: one.began_at, reverse=True)


def _executions(since: datetime, times: list[Took]) -> list[Execution]:
    """Orders whose last operation was finished since. One query."""
    busy: dict[str, float] = defaultdict(float)
    for one in times:
        busy[one.order] += one.actual
    operations: dict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
    due = {}
    rows = WorksOperation.objects.filter(
        works_order__order__state__in=[Order.State.DONE, Order.State.GONE], state=State.DONE
    ).select_related("works_order__order")
    for row in rows:
        order = row.works_order.order
        if order is not None and row.began_at is not None and row.finished_at is not None:
            operations[order.number].append((row.began_at, row.finished_at))
            due[order.number] = order.due_on
    found = [
        Execution(
            number,
            min(begun for begun, _ in spans),
            max(ended for _, ended in spans),
            due[number],
            busy[number],
        )
        for number, spans in operations.items()
    ]
    return sorted(
        (one for one in found if one.finished_at >= since), key=lambda one: one.finished_at, reverse=True
    )


def _set_ups(since: datetime) -> list[SetUp]:
    """Powder batches finished since: the one place where a set-up is written down by itself. One query."""
    rows = PowderBatch.objects.filter(
        state=PowderBatch.State.DONE, finished_at__gte=since, began_at__isnull=False
    )
    return [
        SetUp(row.number, float(row.change_minutes), (row.finished_at - row.began_at).total_seconds() / 60)
        for row in rows
        if row.finished_at is not None and row.began_at is not None
    ]


def corrections(times: list[Took]) -> list[tuple[Process, Correction]]:
    """Processes whose standard times are off, by what was finished since they were last corrected. Two queries."""
    last: dict[str, datetime] = {}
    for code, at in TimeCorrection.objects.order_by("at").values_list("process__code", "at"):
        last[code] = at
    by_process: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for one in times:
        since = last.get(one.process)
        if since is None or (one.finished_at is not None and one.finished_at > since):
            by_process[one.process].append((one.planned, one.actual))
    found = []
    for process in Process.objects.order_by("sequence"):
        proposal = correction_of(process.code, by_process[process.code], FEWEST_TIMES)
        if proposal is not None and proposal.is_worth_it:
            found.append((process, proposal))
    return found
