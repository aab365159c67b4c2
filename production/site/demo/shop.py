"""Processes, work centres and their hours, the galvaniser's lorry and the powder oven.

All hours, rates and limits are common practice, no source. The closures are the works' own holidays.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.utils import timezone

from bom.catalogue.models import TrailerModel
from bom.structure.models import Process
from production.shop.crew_models import Absence, Jig, Skill, Worker
from production.shop.models import (
    Calendar,
    CalendarDay,
    CalendarShift,
    CostAllowance,
    LorryDay,
    Oven,
    WorkCentre,
    WorkCentreRate,
)

PROCESSES = (
    ("laser", "laser", 10),
    ("saw", "saw", 20),
    ("fold", "fold", 30),
    ("weld", "weld", 40),
    ("galvanise", "galvanising", 50),
    ("powder", "powder coating", 60),
    ("assemble", "assembly", 70),
    ("inspect", "inspection", 80),
)
_DAY = ((time(7, 30), time(12, 0)), (time(12, 30), time(16, 0)))
_SHORT_FRIDAY = ((time(7, 30), time(12, 30)),)
_TWO_SHIFTS = ((time(6, 0), time(14, 0)), (time(14, 0), time(22, 0)))
_EARLY_ONLY = ((time(6, 0), time(14, 0)),)
# code, name, hours Monday to Thursday, hours on Friday
CALENDARS = (
    ("day", "day shift", _DAY, _SHORT_FRIDAY),
    ("two-shifts", "two shifts", _TWO_SHIFTS, _EARLY_ONLY),
)
# code, name, process, units, calendar, hourly rate in pounds, grows with the size of the demonstration
CENTRES = (
    ("laser", "laser", "laser", 1, "two-shifts", 85, False),
    ("saw", "saw", "saw", 1, "day", 34, True),
    ("fold", "press brake", "fold", 1, "day", 38, True),
    ("weld", "weld bays", "weld", 4, "day", 42, True),
    ("powder", "powder oven", "powder", 1, "day", 55, True),
    ("assemble", "assembly bays", "assemble", 3, "day", 36, True),
    ("inspect", "inspection", "inspect", 1, "day", 40, True),
)
# Invented names; who of them can do what. As many more come as the demonstration has more bays.
SKILLS = (("welding", "welding", "weld"), ("fitting", "fitting out", "assemble"))
HANDS = (
    ("Merle", ("welding",)),
    ("Osk", ("welding",)),
    ("Pim", ("welding", "fitting")),
    ("Quill", ("welding",)),
    ("Rush", ("welding", "fitting")),
    ("Sorrel", ("fitting",)),
    ("Tansy", ("fitting",)),
    ("Umber", ("fitting",)),
    ("Vetch", ("welding",)),
)
LABOUR_PER_HOUR = 26
# month, first day, month, last day, reason
CLOSURES = (
    (4, 6, 4, 7, "works holiday, spring"),
    (5, 25, 5, 25, "works holiday, launching day"),
    (8, 10, 8, 21, "works holiday, summer closure"),
    (12, 24, 12, 31, "works holiday, winter closure"),
    (1, 1, 1, 1, "works holiday, winter closure"),
)


def add_shop(today: date, growth: int) -> dict[str, Process]:
    """Write the shop; `growth` multiplies the bays where more orders need more of them."""
    processes = {
        code: Process.objects.create(code=code, name=name, sequence=sequence)
        for code, name, sequence in PROCESSES
    }
    calendars = {code: _calendar(code, name, week, friday, today) for code, name, week, friday in CALENDARS}
    for sequence, (code, name, process, units, calendar, rate, grows) in enumerate(CENTRES, start=1):
        centre = WorkCentre.objects.create(
            code=code,
            name=name,
            process=processes[process],
            units=units * growth if grows else units,
            calendar=calendars[calendar],
            hourly_rate=Decimal(rate),
            sequence=sequence * 10,
        )
        if code == "powder":
            _add_oven(centre, growth)
    _add_rates(today)
    _add_lorries(growth)
    _add_hands(processes, calendars["day"], growth)
    _add_absence(today)
    return processes


def closed_days(first_year: int, last_year: int) -> Iterator[tuple[date, str]]:
    """Every weekday on which the works are closed, with the reason."""
    for year in range(first_year, last_year + 1):
        for month, day, to_month, to_day, reason in CLOSURES:
            at, last = date(year, month, day), date(year, to_month, to_day)
            while at <= last:
                if at.weekday() < 5:
                    yield at, reason
                at += timedelta(days=1)


def working_days(first: date, last: date) -> list[date]:
    """Monday to Friday without the closures, both ends included."""
    closed = {day for day, _ in closed_days(first.year, last.year)}
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return [day for day in days if day.weekday() < 5 and day not in closed]


def _calendar(
    code: str,
    name: str,
    week: tuple[tuple[time, time], ...],
    friday: tuple[tuple[time, time], ...],
    today: date,
) -> Calendar:
    calendar = Calendar.objects.create(code=code, name=name)
    CalendarShift.objects.bulk_create(
        CalendarShift(calendar=calendar, weekday=weekday, starts=starts, ends=ends)
        for weekday in range(5)
        for starts, ends in (friday if weekday == 4 else week)
    )
    CalendarDay.objects.bulk_create(
        CalendarDay(calendar=calendar, date=day, reason=reason)
        for day, reason in closed_days(today.year - 1, today.year + 3)
    )
    return calendar


def _add_rates(today: date) -> None:
    """Hourly rates in their two parts: those of last year, and what they rose to at new year."""
    last, this = date(today.year - 1, 1, 1), date(today.year, 1, 1)
    for centre in WorkCentre.objects.all():
        labour = Decimal(LABOUR_PER_HOUR)
        overhead = centre.hourly_rate - labour
        WorkCentreRate.objects.bulk_create(
            [
                WorkCentreRate(
                    work_centre=centre,
                    from_day=last,
                    labour_per_hour=labour - 1,
                    overhead_per_hour=overhead,
                    note="first reckoning",
                ),
                WorkCentreRate(
                    work_centre=centre,
                    from_day=this,
                    labour_per_hour=labour,
                    overhead_per_hour=overhead,
                    note="wage round",
                ),
            ]
        )
    CostAllowance.objects.create(
        from_day=last,
        sheet_yield=Decimal("0.700"),
        bar_yield=Decimal("0.940"),
        scrap_share=Decimal("0.020"),
        usual_load_kg=850,
        note="common practice, no source",
    )


def _add_oven(centre: WorkCentre, growth: int) -> None:
    Oven.objects.create(
        work_centre=centre,
        frames=4 * growth,
        rail_length_mm=9000 * growth,
        batch_minutes=150,
        change_to_darker_minutes=30,
        change_to_lighter_minutes=45,
    )


def _add_hands(processes: dict[str, Process], calendar: Calendar, growth: int) -> None:
    skills = {
        code: Skill.objects.create(code=code, name=name, process=processes[process])
        for code, name, process in SKILLS
    }
    for turn in range(growth):
        for name, able in HANDS:
            worker = Worker.objects.create(name=f"{name} {turn + 1}" if turn else name, calendar=calendar)
            worker.skills.set(skills[code] for code in able)


def _add_absence(today: date) -> None:
    """One welder's week of leave, in a fortnight."""
    monday = today + timedelta(days=14 - today.weekday())
    midnight = timezone.make_aware(datetime.combine(monday, time.min))
    Absence.objects.create(
        worker=Worker.objects.get(name=HANDS[1][0]),
        starts_at=midnight,
        ends_at=midnight + timedelta(days=7),
        reason="leave",
    )


def add_jigs(models: Iterable[TrailerModel], growth: int) -> None:
    """One kind of jig for frames of one axle and one for two, enough of each for the bays to share."""
    rows = list(models)
    for code, name, units, wanted in (
        ("one-axle", "jig for one axle", 3, False),
        ("two-axles", "jig for two axles", 3, True),
    ):
        jig = Jig.objects.create(code=code, name=name, units=units * growth)
        jig.models.set(one for one in rows if (one.axles > 1) is wanted)


def _add_lorries(growth: int) -> None:
    for weekday in (1, 3):
        LorryDay.objects.create(
            weekday=weekday,
            leaves_at=time(14, 0),
            max_kg=4000 * growth,
            bath_length_mm=7500,
            minimum_charge_kg=1000,
            price_per_kg=Decimal("0.680"),
            back_after_days=4,
        )
