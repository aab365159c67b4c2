"""The week as its page shows it: work centres by days, and what is late and why. A constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from itertools import groupby

from django.db.models import Count, F, Q, QuerySet, Sum
from django.utils import timezone

from production.coating.models import GalvanisingLoad
from production.planning.models import Plan
from production.scheduling.models import DayLoad, DelayCause, OrderForecast, PlannedOperation
from production.shop.models import WorkCentre

JOBS_A_CELL = 6
LATE_ROWS = 50
DROPPED = "dropped"
# Kinds of cause, the most telling first.
TELLING = ("material", "held", "full", "fixed", "busy", "stands", "batch", "start")


@dataclass(frozen=True)
class JobLine:
    """One job in a cell. `order` or `batch` is its number; `days_late` is its order's."""

    order: str
    batch: str
    words: str
    starts_at: datetime
    is_fixed: bool
    days_late: int


@dataclass(frozen=True)
class Cell:
    """One work centre on one day."""

    open_minutes: int
    planned_minutes: int
    wanted_minutes: int
    jobs: tuple[JobLine, ...]
    more: int
    is_past: bool = False

    @property
    def percent(self) -> int:
        """Planned against open."""
        return self._share(self.planned_minutes)

    @property
    def wanted(self) -> int:
        """Wanted by due dates alone against open; above 100 is more than fits."""
        return self._share(self.wanted_minutes)

    @property
    def bar(self) -> int:
        """How far the bar is drawn: what is planned, or hatched beyond 100 what is wanted and does not fit."""
        return max(self.percent, self.wanted) if self.wanted > 100 else self.percent

    def _share(self, minutes: int) -> int:
        return round(100 * minutes / self.open_minutes) if self.open_minutes else 0


@dataclass(frozen=True)
class Row:
    """A work centre over the week."""

    centre: WorkCentre
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class LorryCell:
    """The lorry on one day: its loads, none where it does not call."""

    loads: tuple[GalvanisingLoad, ...]


@dataclass(frozen=True)
class LateOrder:
    """A late order with the chain of its reasons, the last link first."""

    forecast: OrderForecast
    causes: tuple[DelayCause, ...]

    @property
    def key(self) -> DelayCause | None:
        """The link that says most: a part from outside before a full lorry, that before a busy station."""
        telling = [cause for cause in self.causes if cause.kind in TELLING]
        return min(telling, key=lambda cause: TELLING.index(cause.kind), default=None) or (
            self.causes[-1] if self.causes else None
        )


@dataclass(frozen=True)
class Week:
    """One week of a plan."""

    monday: date
    days: tuple[date, ...]
    rows: tuple[Row, ...]
    lorry: tuple[LorryCell, ...]

    @property
    def year(self) -> int:
        return self.monday.isocalendar().year

    @property
    def number(self) -> int:
        return self.monday.isocalendar().week

    @property
    def before(self) -> tuple[int, int]:
        return (self.monday - timedelta(weeks=1)).isocalendar()[:2]

    @property
    def after(self) -> tuple[int, int]:
        return (self.monday + timedelta(weeks=1)).isocalendar()[:2]


def shown_plan(number: int | None = None, *, whole: bool = False) -> Plan | None:
    """The plan asked for, else the released one, else the latest that was made; `whole` with what it was made from."""
    made = Plan.objects.filter(outcome=Plan.Outcome.SUCCEEDED).select_related("released_by", "asked_by")
    if whole:
        made = made.select_related("question")
    if number is not None:
        return made.filter(number=number).first()
    return made.order_by("-is_current", "-number").first()


def week_of(plan: Plan | None, monday: date, most: int = JOBS_A_CELL) -> Week:
    """Work centres by days, at most so many jobs in a cell. Five queries."""
    centres = list(WorkCentre.objects.select_related("process"))
    loads = _day_loads(plan, monday)
    begin = timezone.localtime(plan.horizon_start).date() if plan and plan.horizon_start else date.min
    days = tuple(_days(monday, {day for _, day in loads}))
    jobs = _jobs(plan, monday)
    rows = [
        Row(
            centre,
            tuple(
                _cell(loads.get((centre.pk, day)), jobs[centre.pk, day], day < begin, most) for day in days
            ),
        )
        for centre in centres
    ]
    runs = _lorry(plan, monday)
    return Week(monday, days, tuple(rows), tuple(LorryCell(tuple(runs[day])) for day in days))


def late_orders(plan: Plan | None, most: int = LATE_ROWS) -> list[LateOrder]:
    """Orders that the plan finishes late, the latest first, with their reasons. Two queries."""
    forecasts = list(
        OrderForecast.objects.filter(plan=plan, days_late__gt=0, order__state__in=_open_states())
        .select_related("order__customer", "order__model")
        .order_by("-days_late", "order__number")[:most]
        if plan
        else []
    )
    causes = DelayCause.objects.filter(
        plan=plan, order__in=[forecast.order_id for forecast in forecasts]
    ).select_related("other_order")
    by_order = {
        order_id: tuple(rows)
        for order_id, rows in groupby(
            causes.order_by("order_id", "sequence"), key=lambda cause: cause.order_id
        )
    }
    return [LateOrder(forecast, by_order.get(forecast.order_id, ())) for forecast in forecasts]


def _open_states() -> tuple[str, ...]:
    return ("confirmed", "released", "begun")


def midnight(day: date) -> datetime:
    """The moment at which a date begins where the workshop stands."""
    return timezone.make_aware(datetime.combine(day, time.min))


def _days(monday: date, open_days: Iterable[date]) -> Iterable[date]:
    """Monday to Friday, and a day of the weekend on which somebody works."""
    opened = set(open_days)
    for offset in range(7):
        day = monday + timedelta(days=offset)
        if offset < 5 or day in opened:
            yield day


def _day_loads(plan: Plan | None, monday: date) -> dict[tuple[int, date], DayLoad]:
    rows = DayLoad.objects.filter(plan=plan, date__gte=monday, date__lt=monday + timedelta(weeks=1))
    return {(row.work_centre_id, row.date): row for row in rows} if plan else {}


def _jobs(plan: Plan | None, monday: date) -> Mapping[tuple[int, date], list[JobLine]]:
    found: dict[tuple[int, date], list[JobLine]] = defaultdict(list)
    if plan is None:
        return found
    late = dict(OrderForecast.objects.filter(plan=plan, days_late__gt=0).values_list("order_id", "days_late"))
    rows = PlannedOperation.objects.filter(
        plan=plan, starts_at__lt=midnight(monday + timedelta(weeks=1)), ends_at__gt=midnight(monday)
    ).exclude(operation__state="cancelled")
    for row in rows.select_related("order", "batch").order_by("starts_at", "pk"):
        first = timezone.localtime(row.starts_at).date()
        day = max(first, monday)
        found[row.work_centre_id, day].append(_line(row, late.get(row.order_id or 0, 0)))
    return found


def _line(row: PlannedOperation, days_late: int) -> JobLine:
    batch = row.batch
    return JobLine(
        order=row.order.number if row.order else "",
        batch=batch.number if batch and batch.state not in (DROPPED, "proposed") else "",
        words=f"{batch.number}, {batch.grade} {batch.thickness_mm.normalize():f} mm" if batch else "",
        starts_at=row.starts_at,
        is_fixed=row.is_fixed,
        days_late=days_late,
    )


def _cell(load: DayLoad | None, jobs: list[JobLine], is_past: bool, most: int) -> Cell:
    """Late jobs are never among those left out while others are shown. `is_past`: before the plan was made."""
    shown = sorted(jobs, key=lambda job: job.days_late <= 0)[:most]
    return Cell(
        load.open_minutes if load else 0,
        load.planned_minutes if load else 0,
        load.wanted_minutes if load else 0,
        tuple(sorted(shown, key=lambda job: job.starts_at)),
        len(jobs) - len(shown),
        is_past,
    )


def loads_of(plan: Plan) -> QuerySet[GalvanisingLoad]:
    """The plan's loads, and those of other plans that are on their way, with what they weigh."""
    return (
        GalvanisingLoad.objects.filter(Q(plan=plan) | Q(state__in=["away", "back"]))
        .annotate(kg=Sum("lines__mass_kg"), order_count=Count("lines__order", distinct=True))
        .order_by("leaves_at")
    )


def _lorry(plan: Plan | None, monday: date) -> Mapping[date, list[GalvanisingLoad]]:
    found: dict[date, list[GalvanisingLoad]] = defaultdict(list)
    if plan is None:
        return found
    for load in loads_of(plan).filter(
        leaves_at__gte=midnight(monday), leaves_at__lt=midnight(monday + timedelta(weeks=1))
    ):
        load.percent = round(100 * (load.kg or Decimal(0)) / load.max_kg)  # type: ignore[attr-defined]
        found[timezone.localtime(load.leaves_at).date()].append(load)
    return found


@dataclass(frozen=True)
class Move:
    """An order whose finish differs between two plans; a finish is none where a plan does not hold it."""

    order: str
    due_on: date
    first: datetime | None
    second: datetime | None
    first_late: int
    second_late: int

    @property
    def days(self) -> int:
        """How many days later the second plan finishes it; below 0 is sooner."""
        if self.first is None or self.second is None:
            return 0
        return (timezone.localtime(self.second).date() - timezone.localtime(self.first).date()).days

    @property
    def sooner(self) -> int:
        return -self.days


def moves(first: Plan, second: Plan) -> list[Move]:
    """Orders whose day moved between two plans, those that moved most first. Two queries."""
    ours, theirs = _forecasts(first), _forecasts(second)
    rows = [_move(ours.get(pk), theirs.get(pk)) for pk in {**ours, **theirs}]
    changed = [row for row in rows if row.days or row.first is None or row.second is None]
    return sorted(changed, key=lambda row: (-abs(row.days), row.order))


def _forecasts(plan: Plan) -> dict[int, OrderForecast]:
    return {row.order_id: row for row in OrderForecast.objects.filter(plan=plan).select_related("order")}


def _move(one: OrderForecast | None, other: OrderForecast | None) -> Move:
    either = one or other
    assert either is not None
    return Move(
        either.order.number,
        either.due_on,
        one.finishes_at if one else None,
        other.finishes_at if other else None,
        max(0, one.days_late) if one else 0,
        max(0, other.days_late) if other else 0,
    )


def plans() -> QuerySet[Plan]:
    """All versions, the latest first, with how many batches and loads each has."""
    return (
        Plan.objects.select_related("released_by", "asked_by", "based_on")
        .annotate(batch_count=Count("cut_batches", distinct=True), load_count=Count("loads", distinct=True))
        .order_by(F("number").desc())
    )
