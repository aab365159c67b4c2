"""The trial of forecasts: the best that beats the naive one, else the naive one."""

import pytest

from inventory.levels.forecasting import PLAIN, judge, mean, naive, training_weeks


def test_a_level_series_with_noise_is_best_forecast_by_a_mean():
    history = [4.0, 6.0] * 15

    verdict = judge(history, {"naive": naive, "mean": mean})

    assert verdict.chosen == "mean"
    assert verdict.of("mean").error == pytest.approx(1, abs=0.05)
    assert verdict.of("naive").error == pytest.approx(2)
    # The naive error within the training weeks is 2 as well.
    assert verdict.of("mean").scaled == pytest.approx(0.5, abs=0.03)


def test_what_jumps_and_stays_is_forecast_as_in_the_last_week():
    history = [2.0] * 18 + [9.0] * 12

    assert judge(history, PLAIN).chosen == "naive"


def test_a_method_that_only_equals_the_naive_one_is_not_chosen():
    assert judge([3.0] * 20, {"naive": naive, "a mean": mean}).chosen == "naive"


def test_the_error_is_of_the_whole_horizon():
    # Six every second week: over two weeks together a mean is exact, over one it is not.
    history = [0.0, 6.0] * 15

    assert judge(history, {"naive": naive, "mean": lambda h, w: [3.0] * w}, horizon=2).trials[0].error == 0


def test_a_method_sees_nothing_of_what_is_held_out():
    seen = []

    def watching(history, weeks):
        seen.append(len(history))
        return [0.0] * weeks

    judge([1.0] * 40, {"naive": naive, "watching": watching}, horizon=4)

    assert min(seen) == training_weeks(40, 4)
    assert max(seen) == 40 - 4


def test_too_few_weeks_are_refused():
    with pytest.raises(ValueError, match="too few"):
        judge([1.0, 2.0], {"naive": naive}, horizon=4)


def test_the_naive_method_must_be_tried():
    with pytest.raises(ValueError, match="naive"):
        judge([1.0] * 20, {"mean": mean})
