"""Exponential smoothing fitted by statsmodels. Loads numpy and scipy: for background work only."""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence

from statsmodels.tsa.holtwinters import Holt, SimpleExpSmoothing

from inventory.levels.forecasting import Method, smoothed, smoothed_with_trend

SMOOTHED, WITH_TREND = "exponential smoothing", "smoothing with trend"
FEWEST_FOR_TREND = 20
"""Weeks below which no trend is looked for. House rule."""


def fitted(training: Sequence[float]) -> Mapping[str, Method]:
    """Simple exponential smoothing and Holt's method with weights and starting values fitted to the training weeks.

    The sum of squared one-step errors is what is made least. Nothing can be fitted to a history without change.
    """
    if len(training) < 3 or len(set(training)) < 2:
        return {}
    methods = {SMOOTHED: _simple(training)}
    if len(training) >= FEWEST_FOR_TREND:
        methods[WITH_TREND] = _trend(training)
    return methods


def _simple(training: Sequence[float]) -> Method:
    with warnings.catch_warnings():
        # An optimiser that stops early still gives weights; the trial says what they are worth.
        warnings.simplefilter("ignore")
        found = SimpleExpSmoothing(list(training), initialization_method="estimated").fit()
    return smoothed(float(found.params["smoothing_level"]), float(found.params["initial_level"]))


def _trend(training: Sequence[float]) -> Method:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = Holt(list(training), initialization_method="heuristic").fit()
    return smoothed_with_trend(
        float(found.params["smoothing_level"]),
        float(found.params["smoothing_trend"]),
        float(found.params["initial_level"]),
        float(found.params["initial_trend"]),
    )
