"""Opening hours worked out by hand, with the nights on which the clock changes and with holidays."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from production.shop.hours import (
    Clock,
    DifferentDay,
    Hours,
    LorryCall,
    Shift,
    Stand,
    Window,
    WorkingDays,
    days_between,
    departures,
    minutes_by_day,
    next_open,
    open_windows,
    oven_slots,
    shift_days,
)

LONDON = ZoneInfo("Europe/London")
WEEK = tuple(Shift(day, time(8), time(16)) for day in range(5))
HOLIDAY = DifferentDay(date(2026, 5, 25), False, reason="spring holiday")
SHOP = Hours(WEEK, (HOLIDAY,))


def clock(*at: int) -> Clock:
    return Clock(datetime(*at, tzinfo=LONDON), LONDON)  # type: ignore[arg-type]


def test_windows_begin_at_the_present_minute_and_skip_the_holiday() -> None:
    windows = open_windows(SHOP, clock(2026, 5, 22, 12, 0), 5)  # a Friday at noon
    assert windows == (
        Window(0, 240, 1),
        Window(4 * 1440 - 240, 4 * 1440 + 240, 1),  # Tuesday; Monday is closed
    )


def test_a_shift_that_is_over_gives_no_window() -> None:
    two = Hours((Shift(1, time(6), time(10)), Shift(1, time(12), time(16))))
    assert open_windows(two, clock(2026, 5, 19, 11, 0), 1) == (Window(60, 300, 1),)


@pytest.mark.parametrize(
    ("first", "minutes_to_monday"),
    [
        (datetime(2026, 3, 27, 8, tzinfo=LONDON), 3 * 1440 - 60),  # clocks go forward on 29 March
        (datetime(2026, 10, 23, 8, tzinfo=LONDON), 3 * 1440 + 60),  # and back on 25 October
        (datetime(2026, 6, 5, 8, tzinfo=LONDON), 3 * 1440),
    ],
)
def test_a_shift_begins_at_its_local_time_whatever_the_clock_did(
    first: datetime, minutes_to_monday: int
) -> None:
    at = Clock(first, LONDON)
    windows = open_windows(Hours(WEEK), at, 4)
    assert windows[1] == Window(minutes_to_monday, minutes_to_monday + 480, 1)
    assert at.moment(windows[1].start).time() == time(8)


def test_minutes_and_moments_are_each_others_inverse_across_the_change() -> None:
    at = Clock(datetime(2026, 3, 28, 12, tzinfo=LONDON), LONDON)
    assert at.moment(1440) == datetime(2026, 3, 29, 12, tzinfo=UTC)
    assert all(at.minute(at.moment(minute)) == minute for minute in (0, 779, 780, 781, 5000))


def test_an_extra_shift_opens_a_saturday_and_lengthens_a_weekday() -> None:
    saturday = DifferentDay(date(2026, 5, 23), True, time(8), time(12))
    evening = DifferentDay(date(2026, 5, 22), True, time(15), time(18))
    hours = Hours(WEEK, (saturday, evening))
    assert hours.on(date(2026, 5, 22)) == [(time(8), time(18))]
    assert hours.on(date(2026, 5, 23)) == [(time(8), time(12))]


def test_a_stand_takes_away_the_units_it_names_and_splits_the_window() -> None:
    start = clock(2026, 5, 19, 8, 0)
    stand = Stand(datetime(2026, 5, 19, 10, tzinfo=LONDON), datetime(2026, 5, 19, 11, tzinfo=LONDON), 1)
    assert open_windows(SHOP, start, 1, 3, [stand]) == (
        Window(0, 120, 3),
        Window(120, 180, 2),
        Window(180, 480, 3),
    )
    whole = Stand(stand.starts_at, stand.ends_at)
    assert open_windows(SHOP, start, 1, 3, [whole]) == (Window(0, 120, 3), Window(180, 480, 3))
    assert minutes_by_day(open_windows(SHOP, start, 1, 3, [stand]), start) == {
        date(2026, 5, 19): 480 * 3 - 60
    }


@pytest.mark.parametrize(
    ("day", "count", "lands"),
    [
        (date(2026, 5, 22), 1, date(2026, 5, 26)),  # over the weekend and the holiday
        (date(2026, 5, 26), -1, date(2026, 5, 22)),
        (date(2026, 5, 23), 0, date(2026, 5, 23)),
        (date(2026, 5, 18), 5, date(2026, 5, 26)),
    ],
)
def test_working_days_step_over_weekends_and_holidays(day: date, count: int, lands: date) -> None:
    assert shift_days(day, count, SHOP) == lands


def test_working_days_between_two_dates_leave_out_the_first() -> None:
    assert days_between(date(2026, 5, 21), date(2026, 5, 27), SHOP) == 3
    assert days_between(date(2026, 5, 27), date(2026, 5, 21), SHOP) == 0
    assert next_open(date(2026, 5, 23), SHOP) == date(2026, 5, 26)


def test_a_calendar_without_any_hours_still_answers_with_a_date() -> None:
    assert shift_days(date(2026, 5, 18), 1, Hours()) > date(2026, 5, 18)


def test_the_lorry_skips_a_holiday_and_is_back_at_the_opening_of_the_day_of_return() -> None:
    calls = [LorryCall(weekday, time(14), 4, 4000, 7500) for weekday in (0, 3)]
    runs = departures(calls, SHOP, clock(2026, 5, 21, 9, 0), 12)
    assert [run.leaves_at.date() for run in runs] == [date(2026, 5, 21), date(2026, 5, 28), date(2026, 6, 1)]
    assert runs[0].back_at == datetime(2026, 5, 28, 8, tzinfo=LONDON)


def test_a_lorry_that_left_this_morning_is_not_offered() -> None:
    runs = departures([LorryCall(3, time(14), 3, 4000, 7500)], SHOP, clock(2026, 5, 21, 14, 1), 3)
    assert runs == []


def test_oven_slots_never_cross_the_end_of_a_shift() -> None:
    assert oven_slots([Window(0, 480, 1), Window(1440, 1560, 1)], 150) == [(0, 150), (150, 300), (300, 450)]


def test_counting_on_a_stretch_agrees_with_counting_day_by_day_and_goes_on_beyond_its_ends() -> None:
    first, last = date(2026, 5, 1), date(2026, 6, 30)
    days = WorkingDays(SHOP, first, last)
    for day in (date(2026, 5, 22), date(2026, 5, 23), date(2026, 5, 25), date(2026, 6, 3)):
        for count in range(-8, 9):
            assert days.shift(day.toordinal(), count) == shift_days(day, count, SHOP).toordinal()
    assert days.between(date(2026, 5, 21).toordinal(), date(2026, 5, 27).toordinal()) == 3
    assert days.shift(last.toordinal(), 5) >= last.toordinal() + 7
    assert days.shift(first.toordinal(), -5) <= first.toordinal() - 7
