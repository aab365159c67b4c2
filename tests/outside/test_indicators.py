"""Indicators by worked numbers.

Throughput rate, allocation ratio and set-up ratio: formulas of ISO 22400-2:2014, from memory; the numbers are worked by
hand here. On time and adherence: common practice, no source.
"""

from datetime import UTC, date, datetime

import pytest

from production.scheduling.follow.indicators import (
    Execution,
    allocation_ratio,
    correction_of,
    setup_ratio,
    share,
    throughput_rate,
)


def test_throughput_rate_is_quantity_by_order_execution_time() -> None:
    # 120 pieces in 8 h: 15 an hour.
    assert throughput_rate(120, 480) == 15
    assert throughput_rate(3, 0) is None


def test_allocation_ratio_is_busy_time_by_order_execution_time() -> None:
    # Busy 45 + 90 + 45 min at three stations within 6 h: one half.
    assert allocation_ratio(45 + 90 + 45, 360) == 0.5


def test_setup_ratio_is_set_up_by_processing_time() -> None:
    # 30 min of set-up in 240 min of processing, set-up with it: one eighth.
    assert setup_ratio(30, 240) == 0.125
    assert setup_ratio(30, 0) is None


def test_order_execution_time_runs_from_the_first_beginning_to_the_last_end() -> None:
    one = Execution(
        "2604",
        datetime(2026, 5, 11, 7, 0, tzinfo=UTC),
        datetime(2026, 5, 13, 16, 30, tzinfo=UTC),
        date(2026, 5, 13),
        600,
    )
    # Two days and nine and a half hours.
    assert one.execution_minutes == 2 * 1440 + 570
    assert one.is_on_time(date(2026, 5, 13))
    assert not one.is_on_time(date(2026, 5, 14))


def test_shares_of_nothing_are_not_known() -> None:
    # 17 of 20 orders by their day: 85 %.
    assert share(17, 20) == 0.85
    assert share(0, 0) is None


def test_a_standard_time_is_corrected_by_all_minutes_together() -> None:
    # 10 + 20 + 30 + 40 + 100 planned, 12 + 24 + 36 + 48 + 120 took: 240 ÷ 200 = 1.2.
    found = correction_of("weld", [(10, 12), (20, 24), (30, 36), (40, 48), (100, 120)], 5)
    assert found is not None
    assert found.factor == pytest.approx(1.2)
    assert found.is_worth_it


@pytest.mark.parametrize(
    ("times", "worth"),
    [
        pytest.param([(10, 10.2)] * 6, False, id="within one in twenty"),
        pytest.param([(10, 9.5)] * 5 + [(10, 60)], False, id="one that went wrong among quick ones"),
        pytest.param([(10, 8)] * 6, True, id="all quicker"),
    ],
)
def test_a_few_that_went_wrong_correct_nothing(times: list[tuple[float, float]], worth: bool) -> None:
    found = correction_of("weld", times, 5)
    assert found is not None
    assert found.is_worth_it is worth


def test_too_few_times_say_nothing() -> None:
    assert correction_of("weld", [(10, 20)] * 4, 5) is None
