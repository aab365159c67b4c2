"""What is news and what is not."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from production.planning.alerting.news import Standing, news_of_shelf, news_of_shortage, worst

DAY = date(2026, 5, 12)


def _at(quantity=10, needed=0, there=5) -> Standing:
    needed_on = None if needed is None else DAY + timedelta(days=needed)
    there_on = None if there is None else DAY + timedelta(days=there)
    return Standing(Decimal(quantity), needed_on, there_on)


@pytest.mark.parametrize(
    ("now", "fields"),
    [
        pytest.param(_at(), [], id="the same"),
        pytest.param(_at(there=6), ["there_on"], id="there later"),
        pytest.param(_at(there=None), ["there_on"], id="not known when it is there"),
        pytest.param(_at(needed=-1), ["needed_on"], id="needed earlier"),
        pytest.param(_at(quantity=11), ["quantity"], id="more is short"),
        pytest.param(_at(quantity=12, there=9), ["there_on", "quantity"], id="both"),
        pytest.param(_at(quantity=9, needed=2, there=4), [], id="all of it better"),
    ],
)
def test_news_of_a_shortage(now, fields):
    assert [one.field for one in news_of_shortage(_at(), now)] == fields


@pytest.mark.parametrize(
    ("now", "fields"),
    [
        pytest.param(_at(there=9), [], id="the delivery moves with every day"),
        pytest.param(_at(needed=-1), [], id="one day earlier is the daily use"),
        pytest.param(_at(needed=-2), ["needed_on"], id="two days earlier"),
        pytest.param(_at(quantity=11), [], id="a tenth more"),
        pytest.param(_at(quantity=12), ["quantity"], id="more than a tenth more"),
        pytest.param(_at(needed=None), [], id="no longer in use"),
    ],
)
def test_news_of_a_shelf(now, fields):
    assert [one.field for one in news_of_shelf(_at(), now)] == fields


standings = st.builds(
    _at,
    st.integers(1, 40),
    st.one_of(st.none(), st.integers(-9, 9)),
    st.one_of(st.none(), st.integers(-9, 9)),
)


@settings(max_examples=80)
@given(st.sampled_from([news_of_shortage, news_of_shelf]), st.lists(standings, min_size=2, max_size=6))
def test_what_was_told_is_never_news_again(judge, course):
    """Whatever the course of an alert, going through it a second time brings no news."""
    told = course[0]
    for now in course[1:]:
        told = worst(told, judge(told, now))
    for now in course:
        assert judge(told, now) == []
