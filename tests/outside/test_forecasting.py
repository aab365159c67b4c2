"""Forecasts against statsmodels on an open series, and methods for intermittent use against figures worked by hand.

The series is the yearly flow of the Nile at Aswan, 1871 to 1970, in the public domain, shipped with statsmodels.
"""

import warnings

import pytest

from inventory.levels import smoothing
from inventory.levels.forecasting import (
    PLAIN,
    chance_and_size,
    croston,
    croston_corrected,
    judge,
    moving_average,
    smoothed,
    smoothed_with_trend,
    training_weeks,
)


@pytest.fixture(scope="module")
def nile():
    from statsmodels.datasets import nile

    return [float(flow) for flow in nile.load_pandas().data["volume"]]


@pytest.mark.parametrize("weight", [0.1, 0.5, 0.9])
def test_smoothing_as_statsmodels(nile, weight):
    from statsmodels.tsa.holtwinters import SimpleExpSmoothing

    model = SimpleExpSmoothing(nile, initialization_method="known", initial_level=nile[0])
    theirs = model.fit(smoothing_level=weight, optimized=False).forecast(3)

    assert smoothed(weight, nile[0])(nile, 3) == pytest.approx(list(theirs))


@pytest.mark.parametrize(("weight", "trend_weight"), [(0.2, 0.1), (0.6, 0.3)])
def test_smoothing_with_a_trend_as_statsmodels(nile, weight, trend_weight):
    from statsmodels.tsa.holtwinters import Holt

    model = Holt(nile, initialization_method="known", initial_level=nile[0], initial_trend=-2.0)
    theirs = model.fit(smoothing_level=weight, smoothing_trend=trend_weight, optimized=False).forecast(5)

    assert smoothed_with_trend(weight, trend_weight, nile[0], -2.0)(nile, 5) == pytest.approx(list(theirs))


def test_the_fitted_weight_is_that_of_statsmodels(nile):
    """Fitted to the whole series the weight is 0.2465 or close by (a local level fitted to this series by R's
    StructTS implies about 0.25; from memory)."""
    from statsmodels.tsa.holtwinters import SimpleExpSmoothing

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = SimpleExpSmoothing(nile, initialization_method="estimated").fit()

    assert smoothing.fitted(nile)[smoothing.SMOOTHED](nile, 1) == pytest.approx(list(theirs.forecast(1)))
    assert theirs.params["smoothing_level"] == pytest.approx(0.25, abs=0.05)


def test_smoothing_beats_the_naive_forecast_of_the_nile(nile):
    methods = {**PLAIN, **smoothing.fitted(nile[: training_weeks(len(nile), 1)])}
    verdict = judge(nile, methods)

    assert verdict.origins == 13
    assert verdict.trials[0].error < verdict.of("naive").error
    assert verdict.chosen == verdict.trials[0].method


# Worked by hand with weights of 0.5 from the formulas of the papers named in the module.
# Croston: sizes 4 → 4 + 0.5(2 − 4) = 3 → 3 + 0.5(6 − 3) = 4.5;
# intervals 2 → 2 + 0.5(3 − 2) = 2.5 → 2.5 + 0.5(1 − 2.5) = 1.75.
HISTORY = [0, 4, 0, 0, 2, 6]


def test_croston_by_hand():
    assert croston(HISTORY, 2, weight=0.5) == pytest.approx([4.5 / 1.75] * 2)


def test_croston_corrected_by_hand():
    assert croston_corrected(HISTORY, 1, weight=0.5) == pytest.approx([0.75 * 4.5 / 1.75])


def test_chance_and_size_by_hand():
    """Chances after week 2: 1/2, 0.25, 0.125, 0.5625, 0.78125; size 4.5 as before."""
    assert chance_and_size(HISTORY, 1, weight=0.5, chance_weight=0.5) == pytest.approx([0.78125 * 4.5])


def test_chance_and_size_falls_while_nothing_is_used():
    assert chance_and_size([*HISTORY, 0, 0, 0], 1)[0] < chance_and_size(HISTORY, 1)[0]
    assert croston([*HISTORY, 0, 0, 0], 1) == croston(HISTORY, 1)


def test_nothing_used_is_forecast_as_nothing():
    for method in PLAIN.values():
        assert method([0.0] * 20, 3) == [0.0] * 3


def test_the_moving_average_looks_back_eight_weeks():
    assert moving_average([100, *range(1, 9)], 1) == [4.5]
