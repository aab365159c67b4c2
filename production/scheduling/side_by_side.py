"""One week of two plans side by side: how full each station is in both, and what only one of them puts there."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from production.planning.models import Plan
from production.scheduling.models import DayLoad, PlannedOperation
from production.scheduling.week import Cell, midnight
from production.shop.models import WorkCentre


@dataclass(frozen=True)
class Pair:
    """A station on one day in both plans. `left` and `came` are orders only the first or only the second puts there."""

    first: Cell | None
    second: Cell | None
    left: tuple[str, ...]
    came: tuple[str, ...]

    @property
    def cells(self) -> tuple[Cell | None, Cell | None]:
        return self.first, self.second


@dataclass(frozen=True)
class PairRow:
    centre: WorkCentre
    pairs: tuple[Pair, ...]


@dataclass(frozen=True)
class PairWeek:
    """The week that both are shown for."""

    monday: date
    days: tuple[date, ...]
    rows: tuple[PairRow, ...]


def pair_week(first: Plan, second: Plan, monday: date) -> PairWeek:
    """Three queries."""
    until = monday + timedelta(weeks=1)
    loads = {
        (row.plan_id, row.work_centre_id, row.date): Cell(
            row.open_minutes, row.planned_minutes, row.wanted_minutes, (), 0
        )
        for row in DayLoad.objects.filter(plan__in=[first, second], date__gte=monday, date__lt=until)
    }
    jobs: dict[tuple[int, int, date], set[str]] = defaultdict(set)
    rows = PlannedOperation.objects.filter(
        plan__in=[first, second],
        order__isnull=False,
        starts_at__gte=midnight(monday),
        starts_at__lt=midnight(until),
    )
    for plan_id, centre_id, starts_at, number in rows.values_list(
        "plan_id", "work_centre_id", "starts_at", "order__number"
    ):
        jobs[plan_id, centre_id, timezone.localtime(starts_at).date()].add(number or "")
    used = {day for _, _, day in loads}
    days = tuple(
        day
        for day in (monday + timedelta(days=offset) for offset in range(7))
        if day.weekday() < 5 or day in used
    )
    return PairWeek(
        monday,
        days,
        tuple(
            PairRow(centre, tuple(_pair(first.pk, second.pk, centre.pk, day, loads, jobs) for day in days))
            for centre in WorkCentre.objects.all()
        ),
    )


def _pair(
    first: int,
    second: int,
    centre: int,
    day: date,
    loads: dict[tuple[int, int, date], Cell],
    jobs: dict[tuple[int, int, date], set[str]],
) -> Pair:
    ours, theirs = jobs[first, centre, day], jobs[second, centre, day]
    return Pair(
        loads.get((first, centre, day)),
        loads.get((second, centre, day)),
        tuple(sorted(ours - theirs)),
        tuple(sorted(theirs - ours)),
    )
