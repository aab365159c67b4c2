"""Daily use, lead times, order quantities and working days."""

from datetime import date, timedelta
from decimal import Decimal
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.levels.arithmetic import (
    Demand,
    LeadTime,
    LotRule,
    after_working_days,
    daily_demand,
    lead_time,
    order_quantity,
    reorder_point,
    working_days,
)

MONDAY = date(2026, 5, 11)


@given(st.lists(st.integers(0, 50), min_size=2, max_size=40))
def test_days_without_use_count_as_nothing(history):
    found = daily_demand([quantity for quantity in history if quantity], len(history))

    assert found.mean == pytest.approx(fmean(history))
    assert found.deviation == pytest.approx(stdev(history))


def test_no_days_say_nothing():
    assert daily_demand([], 0) == Demand(0, 0.0, 0.0)
    assert daily_demand([4], 1) == Demand(1, 4.0, 0.0)


def test_more_days_with_use_than_days_are_refused():
    with pytest.raises(ValueError, match="2 days with use cannot lie within 1 days"):
        daily_demand([1, 2], 1)


def test_two_deliveries_do_not_make_a_lead_time():
    assert lead_time([4, 8], 5) == LeadTime(5.0, 0.0, 2)
    assert lead_time([4, 8, 6], 5) == LeadTime(6.0, 2.0, 3)


@pytest.mark.parametrize("service_level", [0, 1, -0.5, 95])
def test_a_service_level_is_a_chance(service_level):
    with pytest.raises(ValueError, match="between 0 and 1"):
        reorder_point(demand=Demand(10, 1, 1), lead=LeadTime(1), service_level=service_level)


def test_negative_use_is_refused():
    with pytest.raises(ValueError, match="cannot be negative"):
        reorder_point(demand=Demand(10, -1, 1), lead=LeadTime(1), service_level=0.95)


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 60), st.floats(0, 20), st.floats(0.5, 0.999))
def test_a_higher_service_level_never_lowers_the_point(mean, deviation, days, days_deviation, service_level):
    demand, lead = Demand(250, mean, deviation), LeadTime(days, days_deviation)
    half = reorder_point(demand=demand, lead=lead, service_level=0.5)
    high = reorder_point(demand=demand, lead=lead, service_level=service_level)

    assert half.point == pytest.approx(mean * days)
    assert high.point >= half.point - 1e-9


@pytest.mark.parametrize(
    ("short_by", "rule", "expected"),
    [
        pytest.param(0, LotRule(), 0, id="nothing short"),
        pytest.param(7, LotRule(), 7, id="as needed"),
        pytest.param(7, LotRule(pack=Decimal(4)), 8, id="whole packs"),
        pytest.param(7, LotRule("fixed", Decimal(50)), 50, id="fixed"),
        pytest.param(70, LotRule("fixed", Decimal(50)), 100, id="fixed, twice"),
        pytest.param(7, LotRule("multiple", Decimal(6)), 12, id="multiple"),
        pytest.param(7, LotRule("minimum", Decimal(20)), 20, id="at least, below"),
        pytest.param(27, LotRule("minimum", Decimal(20)), 27, id="at least, above"),
        pytest.param(7, LotRule("periods", Decimal(10)), 32, id="ten days of need together"),
        pytest.param(7, LotRule("minimum", Decimal(20), Decimal(8)), 24, id="at least, in packs"),
    ],
)
def test_how_much_to_buy(short_by, rule, expected):
    assert order_quantity(Decimal(short_by), rule, daily_mean=Decimal("2.5")) == expected


@given(st.dates(date(2025, 1, 1), date(2027, 1, 1)), st.integers(0, 40))
def test_working_days_are_those_from_monday_to_friday(first, count):
    days = [first + timedelta(days=number) for number in range(count)]
    last = first + timedelta(days=count - 1)

    assert working_days(first, last) == sum(day.weekday() < 5 for day in days)


@given(st.dates(date(2025, 1, 1), date(2027, 1, 1)), st.integers(0, 40))
def test_so_many_working_days_later_is_a_working_day(start, days):
    later = after_working_days(start, days)

    assert later.weekday() < 5
    assert working_days(start + timedelta(days=1), later) == (days if later > start else 0)


def test_a_week_of_working_days_is_a_week():
    assert after_working_days(MONDAY, 5) == MONDAY + timedelta(days=7)
    assert after_working_days(MONDAY + timedelta(days=5), 1) == MONDAY + timedelta(days=7)
