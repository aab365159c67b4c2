"""The shop as its rows say it is, loaded once for a horizon: hours, work centres, lorry runs, the oven."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from production.shop.crew import Crew, load_crew
from production.shop.extra import extra_hours, extra_runs
from production.shop.hours import (
    Clock,
    Departure,
    DifferentDay,
    Hours,
    LorryCall,
    Shift,
    Stand,
    Window,
    departures,
    open_windows,
)
from production.shop.models import Calendar, CalendarDay, CalendarShift, Downtime, LorryDay, Oven, WorkCentre

FIVE_DAYS = 5


@dataclass(frozen=True)
class OvenFigures:
    """What the powder oven holds and how long it takes."""

    frames: int
    batch_minutes: int
    change_to_darker_minutes: int
    change_to_lighter_minutes: int


@dataclass(frozen=True)
class Centre:
    """A work centre with its open windows."""

    pk: int
    code: str
    name: str
    process: str
    units: int
    hours: Hours
    windows: tuple[Window, ...]
    oven: OvenFigures | None = None

    def minutes_open(self, since: datetime, clock: Clock) -> int:
        """Minutes one unit could work between `since` and the start of the horizon; downtimes are not counted out."""
        own = Clock(since.astimezone(clock.zone), clock.zone)
        now = own.minute(clock.starts_at)
        windows = open_windows(self.hours, own, (clock.first_day - own.first_day).days + 1)
        return sum(max(0, min(window.end, now) - window.start) for window in windows)


@dataclass(frozen=True)
class Shop:
    """The shop over one horizon. `hours` are those that working days are counted by."""

    clock: Clock
    days: int
    hours: Hours
    centres: tuple[Centre, ...]
    departures: tuple[Departure, ...]
    crew: Crew = field(default_factory=Crew)

    def centre_for(self, process: str) -> Centre | None:
        """The first work centre that does a process; none where it is done outside or nobody does it."""
        return next((centre for centre in self.centres if centre.process == process), None)


def horizon_clock(now: datetime | None = None) -> Clock:
    """A clock that starts at the present minute, where the workshop stands."""
    moment = timezone.localtime(now).replace(second=0, microsecond=0)
    return Clock(moment, ZoneInfo(timezone.get_default_timezone_name()))


def load_shop(
    clock: Clock,
    days: int,
    *,
    more_hours: Mapping[int, Collection[DifferentDay]] | None = None,
    more_runs: Collection[date] = (),
) -> Shop:
    """Everything the planner must know of the shop for `days` days. Sixteen queries whatever it holds.

    `more_hours` by work centre and `more_runs` of the lorry are reckoned with besides those in force.
    """
    hours = _hours_by_calendar()
    extra = {
        pk: (*days_of, *(more_hours or {}).get(pk, ()))
        for pk, days_of in {**dict.fromkeys(more_hours or (), ()), **extra_hours()}.items()
    }
    runs = {*extra_runs(), *more_runs}
    centres = list(WorkCentre.objects.select_related("process").order_by("sequence", "code"))
    shop = _most_used(hours, centres)
    stands, ovens = _stands(), _ovens()
    return Shop(
        clock,
        days,
        shop,
        tuple(
            _centre(
                one,
                replace(hours[one.calendar_id], extra=extra.get(one.pk, ())),
                clock,
                days,
                stands[one.pk],
                ovens,
            )
            for one in centres
        ),
        tuple(departures(_lorry_calls(), shop, clock, days, runs)),
        load_crew(hours, _by_process(extra, centres), clock, days),
    )


def _by_process(
    extra: Mapping[int, tuple[DifferentDay, ...]], centres: Iterable[WorkCentre]
) -> dict[str, tuple[DifferentDay, ...]]:
    """Extra hours of work centres by what they do: whoever can do it stays for them."""
    found: dict[str, tuple[DifferentDay, ...]] = {}
    for centre in centres:
        code = centre.process.code
        found[code] = (*found.get(code, ()), *extra.get(centre.pk, ()))
    return found


def working_hours() -> Hours:
    """The hours by which working days are counted: those that most work centres keep. Four queries."""
    return _most_used(_hours_by_calendar(), WorkCentre.objects.all())


def working_dates(first: date, last: date) -> list[date]:
    """The dates worked from `first` to `last`, both counted; Monday to Friday where no hours are entered."""
    hours = working_hours()
    every = (date.fromordinal(day) for day in range(first.toordinal(), last.toordinal() + 1))
    if not hours.shifts and not hours.different:
        return [day for day in every if day.weekday() < FIVE_DAYS]
    return [day for day in every if hours.is_open(day)]


def _most_used(hours: dict[int, Hours], centres: Iterable[WorkCentre]) -> Hours:
    used = Counter(centre.calendar_id for centre in centres)
    best = min(hours, key=lambda pk: (-used[pk], pk), default=None)
    return Hours() if best is None else hours[best]


def _hours_by_calendar() -> dict[int, Hours]:
    shifts: dict[int, list[Shift]] = defaultdict(list)
    for shift in CalendarShift.objects.all():
        shifts[shift.calendar_id].append(Shift(shift.weekday, shift.starts, shift.ends))
    different: dict[int, list[DifferentDay]] = defaultdict(list)
    for day in CalendarDay.objects.all():
        different[day.calendar_id].append(
            DifferentDay(day.date, day.is_open, day.starts, day.ends, day.reason)
        )
    return {
        pk: Hours(tuple(shifts[pk]), tuple(different[pk]))
        for pk in Calendar.objects.values_list("pk", flat=True)
    }


def _stands() -> dict[int, list[Stand]]:
    stands: dict[int, list[Stand]] = defaultdict(list)
    for row in Downtime.objects.all():
        stands[row.work_centre_id].append(Stand(row.starts_at, row.ends_at, row.units))
    return stands


def _ovens() -> dict[int, OvenFigures]:
    return {
        row.work_centre_id: OvenFigures(
            row.frames, row.batch_minutes, row.change_to_darker_minutes, row.change_to_lighter_minutes
        )
        for row in Oven.objects.all()
    }


def _lorry_calls() -> list[LorryCall]:
    return [
        LorryCall(
            row.weekday,
            row.leaves_at,
            row.back_after_days,
            row.max_kg,
            row.bath_length_mm,
            row.minimum_charge_kg,
        )
        for row in LorryDay.objects.all()
    ]


def _centre(
    row: WorkCentre, hours: Hours, clock: Clock, days: int, stands: list[Stand], ovens: dict[int, OvenFigures]
) -> Centre:
    windows = open_windows(hours, clock, days, row.units, stands)
    return Centre(row.pk, row.code, row.name, row.process.code, row.units, hours, windows, ovens.get(row.pk))
