"""Simple forecasts of weekly use, and their trial against the naive one. Pure; weeks in, use a week out.

A method takes the weeks so far (oldest first, at least one) and answers the use of each of the coming weeks. All
answer the same figure for every coming week, but for the one with a trend.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import fsum
from statistics import fmean

Method = Callable[[Sequence[float], int], list[float]]

NAIVE = "naive"
WEIGHT = 0.1
"""Smoothing weight of the methods for intermittent use: within 0.05 to 0.2, common practice from the literature."""

MOVING_WEEKS = 8
MOST_ORIGINS = 13
FEWEST_WEEKS = 12
"""Fewer weeks than this are too few to try methods on."""


def naive(history: Sequence[float], weeks: int) -> list[float]:
    """As in the last week."""
    return [history[-1]] * weeks


def mean(history: Sequence[float], weeks: int) -> list[float]:
    """The mean of all weeks."""
    return [fmean(history)] * weeks


def moving_average(history: Sequence[float], weeks: int) -> list[float]:
    """The mean of the last eight weeks."""
    return [fmean(history[-MOVING_WEEKS:])] * weeks


def smoothed(weight: float, start: float) -> Method:
    """Simple exponential smoothing from a starting level: l ← l + a·(y − l)."""

    def method(history: Sequence[float], weeks: int) -> list[float]:
        level = start
        for used in history:
            level += weight * (used - level)
        return [max(0.0, level)] * weeks

    return method


def smoothed_with_trend(weight: float, trend_weight: float, start: float, start_trend: float) -> Method:
    """Holt's linear method: l ← a·y + (1 − a)(l + b); b ← β·(l − l before) + (1 − β)·b; forecast l + h·b."""

    def method(history: Sequence[float], weeks: int) -> list[float]:
        level, trend = start, start_trend
        for used in history:
            before = level
            level = weight * used + (1 - weight) * (level + trend)
            trend = trend_weight * (level - before) + (1 - trend_weight) * trend
        return [max(0.0, level + ahead * trend) for ahead in range(1, weeks + 1)]

    return method


def croston(history: Sequence[float], weeks: int, *, weight: float = WEIGHT) -> list[float]:
    """Croston's method: size and interval smoothed apart, both only when there is a demand; forecast size/interval.

    Size and interval begin with the first demand and its place in the history. Croston, Forecasting and stock
    control for intermittent demands, Operational Research Quarterly 23 (1972).
    """
    size, interval = _sizes_and_intervals(history, weight)
    return [size / interval if interval else 0.0] * weeks


def croston_corrected(history: Sequence[float], weeks: int, *, weight: float = WEIGHT) -> list[float]:
    """Croston's forecast times (1 − a/2), which takes most of its bias away: Syntetos and Boylan, The accuracy of
    intermittent demand estimates, International Journal of Forecasting 21 (2005)."""
    return [use * (1 - weight / 2) for use in croston(history, weeks, weight=weight)]


def chance_and_size(
    history: Sequence[float], weeks: int, *, weight: float = WEIGHT, chance_weight: float = WEIGHT
) -> list[float]:
    """The chance of a demand smoothed every week, its size when there is one; forecast chance × size. Falls while an
    item is no longer used: Teunter, Syntetos and Babai, Intermittent demand: linking forecasting to inventory
    obsolescence, European Journal of Operational Research 214 (2011).

    Size begins with the first demand, the chance with one over its place in the history.
    """
    first = next((place for place, used in enumerate(history) if used > 0), None)
    if first is None:
        return [0.0] * weeks
    size, chance = history[first], 1 / (first + 1)
    for used in history[first + 1 :]:
        if used > 0:
            size += weight * (used - size)
        chance += chance_weight * ((used > 0) - chance)
    return [chance * size] * weeks


def _sizes_and_intervals(history: Sequence[float], weight: float) -> tuple[float, float]:
    size = interval = 0.0
    since = 0
    for used in history:
        since += 1
        if used <= 0:
            continue
        if not interval:
            size, interval = used, float(since)
        else:
            size += weight * (used - size)
            interval += weight * (since - interval)
        since = 0
    return size, interval


PLAIN: Mapping[str, Method] = {
    NAIVE: naive,
    "mean": mean,
    "moving average": moving_average,
    "Croston": croston,
    "Croston, corrected": croston_corrected,
    "chance and size": chance_and_size,
}
"""The methods that need nothing fitted. Exponential smoothing is fitted in `inventory.levels.smoothing`."""


@dataclass(frozen=True)
class Trial:
    """How a method did: mean absolute error of a week, that error scaled, root of the mean squared error of a week.

    Errors are of the total over the horizon, divided by its weeks. `scaled` is the error over the naive forecast's
    own error in the training weeks; none where that is nothing.
    """

    method: str
    error: float
    scaled: float | None
    deviation: float


@dataclass(frozen=True)
class Verdict:
    """All trials, the best first, and the method to use: the best that beats the naive one, else the naive one."""

    trials: tuple[Trial, ...]
    chosen: str
    origins: int
    horizon: int

    def of(self, method: str) -> Trial:
        return next(trial for trial in self.trials if trial.method == method)


def training_weeks(weeks: int, horizon: int) -> int:
    """How many of the weeks are for fitting; the rest is held out for up to thirteen origins."""
    origins = min(MOST_ORIGINS, max(1, weeks // 3 - horizon + 1))
    return weeks - horizon - origins + 1


def judge(history: Sequence[float], methods: Mapping[str, Method], *, horizon: int = 1) -> Verdict:
    """Try every method over rolling origins in the held-out weeks.

    At each origin a method sees the weeks before it and forecasts the use of the next `horizon` weeks together,
    which is what a lead time uses; what is fitted was fitted on the training weeks and is not fitted anew. Error
    measure: mean absolute error, and the same scaled by the naive error on the training weeks (MASE: Hyndman and
    Koehler, Another look at measures of forecast accuracy, International Journal of Forecasting 22 (2006)).

    Raises:
        ValueError: too few weeks for the horizon, or no naive method among them.
    """
    if NAIVE not in methods:
        raise ValueError("The naive method must be among those tried.")
    begin = training_weeks(len(history), horizon)
    if begin < 2:
        raise ValueError(f"{len(history)} weeks are too few to try a horizon of {horizon} weeks on.")
    origins = range(begin, len(history) - horizon + 1)
    scale = _naive_error(history[:begin], horizon)
    trials = sorted(
        (_try(name, method, history, origins, horizon, scale) for name, method in methods.items()),
        key=lambda trial: (trial.error, trial.method != NAIVE, trial.method),
    )
    return Verdict(tuple(trials), trials[0].method, len(origins), horizon)


def _try(
    name: str, method: Method, history: Sequence[float], origins: range, horizon: int, scale: float | None
) -> Trial:
    errors = [
        (fsum(history[origin : origin + horizon]) - fsum(method(history[:origin], horizon))) / horizon
        for origin in origins
    ]
    error = fmean(abs(miss) for miss in errors)
    # The error of a total over h weeks is that of h independent weeks: a week's deviation is √h times its mean.
    deviation = (fmean(miss * miss for miss in errors) * horizon) ** 0.5
    return Trial(name, error, error / scale if scale else None, deviation)


def _naive_error(training: Sequence[float], horizon: int) -> float | None:
    """Mean absolute error a week of the naive forecast within the training weeks; none where it is nothing."""
    misses = [
        abs(fsum(training[at : at + horizon]) / horizon - training[at - 1])
        for at in range(1, len(training) - horizon + 1)
    ]
    return (fmean(misses) or None) if misses else None
