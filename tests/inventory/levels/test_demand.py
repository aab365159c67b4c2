"""One-offs, working days and classes."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inventory.levels.days import WorkDays, five_day_week, mondays
from inventory.levels.demand import cleaned, one_offs, value_classes

MONDAY = date(2026, 5, 4)


def weeks(*quantities):
    return {MONDAY + timedelta(weeks=number): Decimal(used) for number, used in enumerate(quantities)}


def test_a_week_far_above_the_usual_is_set_aside_with_its_reason():
    history = weeks(4, 5, 0, 6, 5, 4, 5, 6, 90, 5)
    found = one_offs(history)

    assert [(one.week, one.quantity, one.instead) for one in found] == [
        (MONDAY + timedelta(weeks=8), 90, 5),
    ]
    assert "usual is 5" in found[0].reason
    assert cleaned(history, found)[found[0].week] == 5


def test_a_week_put_back_counts_in_full():
    history = weeks(4, 5, 0, 6, 5, 4, 5, 6, 90, 5)
    found = one_offs(history)

    assert cleaned(history, found, frozenset({found[0].week})) == history


def test_few_weeks_with_use_say_nothing_of_what_is_usual():
    assert one_offs(weeks(1, 0, 0, 1, 0, 90)) == []


def test_use_that_varies_anyway_is_left():
    assert one_offs(weeks(1, 9, 3, 14, 2, 7, 11, 5, 20)) == []


def test_a_week_in_which_more_came_back_counts_as_nothing():
    history = weeks(4, -3, 5)

    assert cleaned(history, one_offs(history)) == weeks(4, 0, 5)
    assert min(cleaned(history, one_offs(history), frozenset(history)).values()) == 0


def test_the_dearest_item_is_an_a_even_where_it_is_nearly_all():
    found = value_classes({1: Decimal(98), 2: Decimal(1), 3: Decimal(1), 4: Decimal(0)})

    assert [found[key].name for key in (1, 2, 3, 4)] == ["A", "C", "C", "C"]


def test_without_any_value_all_are_c():
    assert {one.name for one in value_classes({1: Decimal(0), 2: Decimal(0)}).values()} == {"C"}


def test_cuts_that_make_no_sense_are_refused():
    with pytest.raises(ValueError, match="rise"):
        value_classes({1: Decimal(1)}, a_share=Decimal("0.9"), b_share=Decimal("0.5"))


def test_a_holiday_is_no_working_day_and_a_saturday_may_be_one():
    sunday = MONDAY + timedelta(days=6)
    worked = [MONDAY + timedelta(days=number) for number in (0, 1, 3, 4, 5)]
    days = WorkDays(MONDAY, sunday, worked)

    assert days.count(MONDAY, sunday) == 5
    assert days.on_or_before(MONDAY + timedelta(days=2)) == MONDAY + timedelta(days=1)
    assert days.after(MONDAY + timedelta(days=1), 1) == MONDAY + timedelta(days=3)
    assert days.after(MONDAY + timedelta(days=5), 1) == MONDAY + timedelta(days=7)


def test_beyond_the_calendar_five_days_are_worked():
    days = five_day_week(MONDAY, MONDAY + timedelta(days=6))

    assert days.count(MONDAY - timedelta(days=7), MONDAY - timedelta(days=1)) == 5
    assert not days.is_worked(MONDAY + timedelta(days=12))


def test_only_whole_weeks_are_named():
    friday = MONDAY - timedelta(days=3)

    assert mondays(friday, MONDAY + timedelta(days=15)) == [MONDAY, MONDAY + timedelta(days=7)]
