"""Spread learned from history, many futures of a plan, and dates read off them."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from production.scheduling.asked.trying import lay
from production.scheduling.futures.promise import (
    FEWEST_KNOWN,
    Point,
    chance_of,
    chance_to_ask,
    curve_of,
    day_for,
    rank_of,
)
from production.scheduling.futures.simulate import simulate
from production.scheduling.futures.spread import USUAL_SIGMA, Factor, Spread, factor_of, learn
from production.scheduling.solver.job import (
    Departure,
    Job,
    Lorry,
    Operation,
    Oven,
    Schedule,
    Work,
    WorkCentre,
)
from tests.benchmarks.bench_futures import held_out, lived

MONDAY = date(2026, 5, 11)
SURE = Spread({"weld": Factor(0.0, 0.0, 99), "assemble": Factor(0.0, 0.0, 99)})


def work(units: int = 1) -> Work:
    windows = tuple((day * 1440, day * 1440 + 480) for day in range(30))
    return Work(
        (Job("a", 600), Job("b", 900)),
        (
            Operation("a weld", "a", "weld", 300),
            Operation("b weld", "b", "weld", 300),
            Operation("a zinc", "a", "lorry", 0, ("a weld",), mass_kg=10),
            Operation("a build", "a", "assemble", 60, ("a zinc",)),
        ),
        (WorkCentre("weld", units, windows), WorkCentre("assemble", 1, windows)),
        (Lorry("lorry", (Departure(400, 2880, 100.0), Departure(3280, 5760, 100.0))),),
    )


def laid(asked: Work) -> Schedule:
    schedule = lay(asked, {one.id: index for index, one in enumerate(asked.operations)})
    assert schedule is not None
    return schedule


@pytest.mark.parametrize("units", [1, 2])
def test_without_spread_every_future_is_the_plan(units: int) -> None:
    asked = work(units)
    schedule = laid(asked)
    for job, ends in simulate(asked, schedule, SURE, count=20).items():
        assert set(ends) == {float(schedule.finish_min[job])}


def test_a_missed_lorry_means_the_next_one() -> None:
    asked = work()
    slow = Spread({"weld": Factor(np.log(1.5), 0.0, 99), "assemble": Factor(0.0, 0.0, 99)})
    ends = simulate(asked, laid(asked), slow, count=5)["a"]
    assert set(ends) == {5760.0 + 60}


def test_a_late_delivery_holds_all_who_wait_for_it_alike() -> None:
    windows = ((0, 100_000),)
    asked = Work(
        (Job("a", 0), Job("b", 0)),
        (
            Operation("a x", "a", "weld", 10, earliest_min=100, waits_for="axle"),
            Operation("b x", "b", "weld", 10, earliest_min=100, waits_for="axle"),
        ),
        (WorkCentre("weld", 2, windows),),
    )
    spread = Spread({"weld": Factor(0.0, 0.0, 99)}, material_days=(0.0, 3.0))
    ends = simulate(asked, laid(asked), spread, count=200)
    assert set(ends["a"]) == {110.0, 110.0 + 3 * 1440}
    assert (ends["a"] == ends["b"]).all()


def test_a_batch_in_the_oven_waits_for_its_last_frame() -> None:
    oven = Oven("oven", ((0, 120), (480, 600), (960, 1080)), 2)
    asked = Work(
        (Job("a", 0), Job("b", 0)),
        (
            Operation("a weld", "a", "weld", 60),
            Operation("b weld", "b", "weld", 400),
            Operation("a coat", "a", "oven", 120, ("a weld",), colour="red"),
            Operation("b coat", "b", "oven", 120, ("b weld",), colour="red"),
        ),
        (WorkCentre("weld", 2, ((0, 2000),)),),
        ovens=(oven,),
    )
    slow = Spread({"weld": Factor(np.log(1.5), 0.0, 99)})
    ends = simulate(asked, laid(asked), slow, count=3)
    assert set(ends["a"]) == set(ends["b"]) == {1080.0}


def test_history_shifts_and_widens_a_station_and_little_of_it_only_a_little() -> None:
    known = learn({"weld": [1.3] * 200, "fold": [1.3]})
    assert known.factor("weld").mean == pytest.approx(np.log(1.3), abs=0.01)
    assert known.factor("weld").sigma < 0.08
    assert 0 < known.factor("fold").mean < 0.05
    assert known.factor("saw") == Factor(0.0, USUAL_SIGMA, 0)


def test_a_slip_of_the_hand_is_no_history() -> None:
    assert factor_of([1.0] * 50 + [400.0]) == factor_of([1.0] * 50)


@given(st.lists(st.integers(0, 40), min_size=1, max_size=60), st.floats(0.05, 1.0))
def test_the_day_for_a_chance_is_the_first_with_at_least_that_share(ends: list[int], chance: float) -> None:
    days = [MONDAY + timedelta(days=one) for one in ends]
    curve = curve_of(days)
    on = day_for(curve, chance)
    assert on is not None
    assert chance_of(curve, on) >= chance - 1e-9
    assert chance_of(curve, on - timedelta(days=1)) < chance
    assert curve[-1].share == 1.0


@given(st.lists(st.integers(0, 40), min_size=1, max_size=60), st.integers(0, 40), st.floats(0.05, 1.0))
def test_a_promise_holds_exactly_when_its_chance_is_above_the_rank_of_the_finish(
    ends: list[int], finish: int, chance: float
) -> None:
    curve = curve_of([MONDAY + timedelta(days=one) for one in ends])
    finished = MONDAY + timedelta(days=min(finish, max(ends)))
    on = day_for(curve, chance)
    assert on is not None
    rank = rank_of(curve, finished)
    if abs(chance - rank) > 1e-6:
        assert (finished <= on) == (chance > rank)


def test_finishes_later_than_foreseen_raise_what_is_asked_and_sooner_ones_lower_it() -> None:
    late, soon = [0.97] * 60, [0.1] * 60
    assert chance_to_ask(0.9, late) > 0.95
    assert chance_to_ask(0.9, soon) < 0.8
    assert chance_to_ask(0.9, late[: FEWEST_KNOWN - 1]) == 0.9


def test_ranks_spread_evenly_leave_the_chance_as_it_is() -> None:
    even = [(index + 0.5) / 200 for index in range(200)]
    assert chance_to_ask(0.9, even) == pytest.approx(0.9, abs=0.02)


def test_an_empty_curve_gives_no_day() -> None:
    assert day_for((), 0.9) is None
    assert chance_of((Point(MONDAY, 1.0),), MONDAY - timedelta(days=1)) == 0.0


def test_promises_of_nine_in_ten_hold_about_that_often_on_history_not_seen() -> None:
    """The benchmark in small: an invented shop whose bias and spread nobody told the planner."""
    _, recalibrated, count = held_out([lived(seed, 20) for seed in range(10)], 3, 150, 0.9)
    assert count == 140
    assert 0.82 <= recalibrated <= 0.99
