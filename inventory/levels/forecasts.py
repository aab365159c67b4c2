"""Forecasts of the items whose orders do not reach past their lead time, tried and stored."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from inventory.levels.arithmetic import DAYS_A_WEEK
from inventory.levels.days import WEEK, monday_of
from inventory.levels.forecasting import (
    FEWEST_WEEKS,
    PLAIN,
    Method,
    Verdict,
    judge,
    training_weeks,
)
from inventory.levels.models import Forecast, ForecastTrial, ForecastWeek
from inventory.levels.working_out import Ground

Fit = Callable[[Sequence[float]], Mapping[str, Method]]
"""Fits methods to the training weeks: `inventory.levels.smoothing.fitted` in the background, or nothing."""

Tell = Callable[[int, int, str], bool]
"""Hears how many of how many items are done, and which one is next; False means stop."""

WEEKS_AHEAD = 13
LONGEST_HORIZON = 8
_AT_ONCE = 1000
_PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Found:
    """What was found for one item: the trials, the coming weeks by the chosen method, and how many were seen."""

    item_id: int
    verdict: Verdict
    ahead: Sequence[float]
    weeks_seen: int


def uncovered(ground: Ground, reach: date | None) -> list[int]:
    """Items in use whose lead time ends after the day to which the orders reach, with weeks enough to try on."""
    return [
        item_id
        for item_id, past in ground.pasts.items()
        if past.total > 0
        and len(past.observed) >= FEWEST_WEEKS
        and (reach is None or ground.lead_ends_on(item_id) > reach)
    ]


def find_forecasts(ground: Ground, reach: date | None, *, fit: Fit, tell: Tell) -> list[Found] | None:
    """Try the methods on every item whose orders fall short. None where `tell` said stop. No transaction is held."""
    wanted = uncovered(ground, reach)
    found = []
    for done, item_id in enumerate(wanted):
        if not tell(done, len(wanted), ground.items[item_id].code):
            return None
        found.append(_find(ground, item_id, fit))
    return found


def _find(ground: Ground, item_id: int, fit: Fit) -> Found:
    weeks = ground.pasts[item_id].observed
    horizon = min(LONGEST_HORIZON, len(weeks) // 4, math.ceil(ground.lead_days(item_id) / DAYS_A_WEEK) or 1)
    verdict = judge(weeks, {**PLAIN, **fit(weeks[: training_weeks(len(weeks), horizon)])}, horizon=horizon)
    # What won is fitted anew to all weeks before it is used.
    method = PLAIN.get(verdict.chosen) or fit(weeks)[verdict.chosen]
    return Found(item_id, verdict, method(weeks, WEEKS_AHEAD), len(weeks))


@transaction.atomic
def store_forecasts(found: Sequence[Found], *, ground: Ground, reach: date | None) -> int:
    """Put these forecasts in the place of all earlier ones. Returns how many there are."""
    Forecast.objects.all().delete()
    rows = Forecast.objects.bulk_create(
        [_row(one, ground.today, reach) for one in found], batch_size=_AT_ONCE
    )
    ForecastTrial.objects.bulk_create(
        [
            ForecastTrial(
                forecast=row, method=trial.method, error=_exact(trial.error), scaled=_scaled(trial.scaled)
            )
            for row, one in zip(rows, found, strict=True)
            for trial in one.verdict.trials
        ],
        batch_size=_AT_ONCE,
    )
    monday = monday_of(ground.today)
    ForecastWeek.objects.bulk_create(
        [
            ForecastWeek(forecast=row, week=monday + number * WEEK, quantity=_exact(used))
            for row, one in zip(rows, found, strict=True)
            for number, used in enumerate(one.ahead)
        ],
        batch_size=_AT_ONCE,
    )
    return len(rows)


def _row(one: Found, today: date, reach: date | None) -> Forecast:
    best = one.verdict.of(one.verdict.chosen)
    horizon = one.verdict.horizon
    return Forecast(
        item_id=one.item_id,
        method=best.method,
        weekly_mean=_exact(sum(one.ahead[:horizon]) / horizon),
        weekly_deviation=_exact(best.deviation),
        error=_exact(best.error),
        naive_error=_exact(one.verdict.of("naive").error),
        scaled=_scaled(best.scaled),
        origins=one.verdict.origins,
        horizon_weeks=horizon,
        weeks_seen=one.weeks_seen,
        orders_reach_on=reach,
        computed_on=today,
    )


def _exact(value: float) -> Decimal:
    return Decimal(value).quantize(_PLACES)


def _scaled(value: float | None) -> Decimal | None:
    return None if value is None else _exact(min(value, 99999.0))
