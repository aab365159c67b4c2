"""Working out in the background: forecasts where orders fall short, tried, stored and used."""

from datetime import timedelta
from decimal import Decimal

import pytest

from bom.items.models import Item
from inventory.levels import runs, smoothing
from inventory.levels.models import Forecast, ItemClass, ItemLevel, LevelRun
from inventory.stock.models import Purpose
from tests.inventory.levels.yearly import TODAY, use


def nothing_fitted(training):
    return {}


def carried_out(fit=nothing_fitted) -> LevelRun:
    run = LevelRun.objects.create(today=TODAY)
    runs.carry_out(run.pk, fit=fit)
    run.refresh_from_db()
    return run


@pytest.fixture
def slow_item(room) -> Item:
    """Six weeks to come, use rises slowly through the year."""
    use(room, room.roller, [10 + week // 4 + (week * 7) % 5 for week in range(50)], lead_days=30)
    return Item.objects.get(pk=room.roller.pk)


def test_an_item_whose_orders_fall_short_is_forecast_by_what_did_best(room, slow_item):
    run = carried_out(smoothing.fitted)
    forecast = Forecast.objects.get()
    trials = list(forecast.trials.all())

    assert (run.outcome, run.forecasts_made, run.percent) == ("succeeded", 1, 100)
    assert forecast.method == trials[0].method
    assert forecast.error == min(trial.error for trial in trials) < forecast.naive_error
    assert {"naive", "Croston", "exponential smoothing", "smoothing with trend"} <= {
        trial.method for trial in trials
    }
    assert forecast.horizon_weeks == 6
    assert forecast.weeks.count() == 13
    assert 0 < forecast.better_by < 1


def test_the_level_is_worked_out_from_the_forecast(room, slow_item):
    carried_out()
    forecast, level = Forecast.objects.get(), ItemLevel.objects.get(item=slow_item)

    assert level.method == forecast.method
    assert level.daily_mean == pytest.approx(forecast.weekly_mean / 5, abs=Decimal("0.0001"))


def test_an_item_whose_orders_reach_past_its_lead_time_needs_no_forecast(room, slow_item):
    Purpose.objects.create(code="2601", needed_on=TODAY + timedelta(days=90))
    carried_out()

    assert not Forecast.objects.exists()
    assert ItemLevel.objects.get(item=slow_item).method == ""


def test_one_order_far_ahead_covers_nothing(room, slow_item):
    for number in range(12):
        Purpose.objects.create(code=f"26{number:02d}", needed_on=TODAY + timedelta(days=7))
    Purpose.objects.create(code="2699", needed_on=TODAY + timedelta(days=200))
    carried_out()

    assert Forecast.objects.get().orders_reach_on == TODAY + timedelta(days=7)


def test_where_nothing_beats_the_naive_forecast_it_is_used(room):
    use(room, room.roller, [2] * 20 + [2 + 3 * week for week in range(25)], lead_days=30)
    carried_out()

    assert Forecast.objects.get().method == "naive"


def test_a_second_run_replaces_what_the_first_stored(room, slow_item):
    carried_out()
    carried_out()

    assert Forecast.objects.count() == 1
    assert ItemClass.objects.count() == 2


def test_a_stopped_run_keeps_nothing(room, slow_item):
    def stopping(training):
        runs.stop_run(run=LevelRun.objects.get())
        return {}

    run = carried_out(stopping)

    assert run.outcome == "cancelled"
    assert not Forecast.objects.exists()
    assert not ItemLevel.objects.exists()


def test_a_waiting_run_is_stopped_at_once(db):
    run = runs.stop_run(run=LevelRun.objects.create(today=TODAY))

    assert (run.state, run.outcome) == ("finished", "cancelled")


def test_a_fault_is_said_in_the_row(room, slow_item):
    def faulty(training):
        raise ZeroDivisionError("no weeks")

    run = carried_out(faulty)

    assert run.outcome == "failed"
    assert "no weeks" in run.failure


def test_only_one_run_waits(db):
    first = runs.start_run(by=None)

    assert runs.start_run(by=None) == first
