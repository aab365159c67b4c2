"""The solver through its front door."""

import pytest

from bom.kernel.errors import ProblemError
from production.scheduling.solver.job import (
    Departure,
    Jig,
    Job,
    Lorry,
    Operation,
    Oven,
    Person,
    Stand,
    Work,
    work_centre_of,
)
from production.scheduling.solver.solve import solve

from .shop import DAY, days, one_machine, random_work, station

PLAIN = (station(),)
ONE_JOB = (Job("J", 0),)


def rows(solution):
    return {row.id: (row.start_min, row.end_min) for row in solution.schedule.operations}


def alone(*operations, centres=PLAIN, lorries=(), ovens=(), jobs=ONE_JOB):
    return solve(Work(jobs, operations, centres, lorries, ovens), 0.3)


def test_work_pauses_over_closed_time():
    found = alone(Operation("weld", "J", "weld", 600), centres=(station(windows=days(9, (7, 11), (12, 16))),))

    assert rows(found)["weld"] == (7 * 60, DAY + 9 * 60)


def test_work_that_may_not_split_waits_for_a_window_that_holds_it():
    one = Operation("test", "J", "weld", 200, earliest_min=8 * 60, can_split=False)
    found = alone(one, centres=(station(windows=days(9, (7, 11), (12, 16))),))

    assert rows(found)["test"] == (12 * 60, 12 * 60 + 200)


def test_equal_bays_work_side_by_side():
    work = [Operation(name, "J", "weld", 100) for name in "abc"]

    found = alone(*work, centres=(station(units=2),))

    assert sorted(rows(found).values()) == [(0, 100), (0, 100), (100, 200)]


def test_a_bay_that_stands_takes_no_work():
    work = [Operation(name, "J", "weld", 100) for name in "ab"]
    stand = (Stand(0, 500, 1),)

    found = alone(*work, centres=(station(units=2, stands=stand),))

    assert sorted(rows(found).values()) == [(0, 100), (100, 200)]


def test_windows_with_fewer_units_become_stands():
    centre = work_centre_of("weld", 3, [(480, 600, 1), (60, 480, 3), (700, 800, 3)])

    assert centre.windows == ((60, 600), (700, 800))
    assert centre.stands == (Stand(480, 600, 2),)


def test_all_jobs_of_a_cut_batch_wait_for_it_and_their_lag():
    operations = (
        Operation("cut", "", "laser", 90),
        *(Operation(name, name, "weld", 10, ("cut",), lag_minutes=15) for name in "AB"),
    )
    found = solve(Work((Job("A", 0), Job("B", 0)), operations, (station("laser"), station("weld", 2))), 0.3)

    assert [rows(found)[name][0] for name in "AB"] == [105, 105]


def test_begun_work_keeps_its_place_whatever_it_comes_after():
    operations = (
        Operation("fold", "J", "weld", 100),
        Operation("weld", "J", "weld", 50, ("fold",), earliest_min=900, fixed_start=0),
    )

    assert rows(alone(*operations)) == {"weld": (0, 50), "fold": (50, 150)}


def test_a_full_lorry_leaves_the_rest_to_the_next():
    lorry = Lorry("lorry", (Departure(100, 400, 500), Departure(1000, 1400, 500)))
    work = [Operation(name, name, "lorry", 0, mass_kg=300) for name in "AB"]
    jobs = (Job("A", 0, weight=1), Job("B", 0, weight=5))

    found = alone(*work, lorries=(lorry,), jobs=jobs)

    assert rows(found) == {"B": (100, 400), "A": (1000, 1400)}


def test_what_is_longer_than_one_bath_waits_for_the_longer_one():
    lorry = Lorry("lorry", (Departure(100, 400, 500, 6000), Departure(1000, 1400, 500, 9000)))

    found = alone(Operation("A", "J", "lorry", 0, mass_kg=100, length_mm=7000), lorries=(lorry,))

    assert rows(found)["A"] == (1000, 1400)


def test_the_oven_holds_one_colour_and_needs_time_to_change_it():
    oven = Oven("oven", ((0, 100), (100, 200), (200, 300)), 4, 50)
    work = [
        Operation(f"{colour}{n}", "J", "oven", 0, colour=colour) for colour in ("red", "blue") for n in (1, 2)
    ]

    found = rows(alone(*work, ovens=(oven,)))

    assert {found["red1"], found["blue1"]} == {(0, 100), (200, 300)}
    assert (found["red1"], found["blue1"]) == (found["red2"], found["blue2"])


def test_the_oven_waits_for_a_frame_that_would_miss_the_batch():
    """One batch of three instead of two of two and one: only waiting lets all be in time."""
    oven = Oven("oven", tuple((start, start + 300) for start in range(0, 1200, 50)), 3)
    work = [
        Operation(name, name, "oven", 0, colour="red", earliest_min=minute)
        for name, minute in (("A", 0), ("B", 50), ("C", 100))
    ]

    found = alone(*work, ovens=(oven,), jobs=tuple(Job(name, 400) for name in "ABC"))

    assert found.schedule.late_minutes == 0
    assert set(rows(found).values()) == {(100, 400)}


def test_the_heavier_order_goes_first_when_both_cannot_be_in_time():
    found = solve(one_machine([(100, 100), (100, 100)], weights=[1, 3]), 0.3)

    assert found.schedule.finish_min == {"A": 200, "B": 100}


def test_an_earlier_plan_is_kept_where_nothing_is_better():
    work = one_machine([(100, 900), (100, 900), (100, 900)])
    before = {"C": 0, "A": 100, "B": 200}

    found = solve(work, 0.3, before=before)
    again = solve(work, 0.3, before={row.id: row.start_min for row in found.schedule.operations})

    assert rows(again) == rows(found)


def test_the_caller_may_stop_and_gets_the_best_so_far():
    told = []

    def stop(percent, sentence, best):
        told.append((percent, sentence))
        return False

    found = solve(random_work(5), 30, progress=stop)

    assert found.stopped
    assert len(told) == 1
    assert found.schedule.late_minutes <= min(rule.late_minutes for rule in found.rules)


def test_progress_speaks_in_sentences_and_never_goes_back():
    told = []

    solve(
        random_work(30),
        1.5,
        progress=lambda percent, sentence, best: told.append((percent, sentence)) or True,
    )

    assert all(sentence and 0 <= percent < 100 for percent, sentence in told)
    assert [percent for percent, _ in told] == sorted(percent for percent, _ in told)


def test_nothing_to_do_is_a_schedule_too():
    found = solve(Work((), (), (station(),)), 0.2)

    assert found.schedule.operations == ()
    assert found.proven


def test_work_beyond_the_horizon_is_refused():
    work = [Operation(name, "J", "weld", 80) for name in "ab"]

    with pytest.raises(ProblemError, match="does not fit into the horizon"):
        alone(*work, centres=(station(windows=((0, 100),)),))


LORRY = Lorry("lorry", (Departure(10, 20, 100),))
OVEN = Oven("oven", ((0, 60),), 2)


@pytest.mark.parametrize(
    ("operation", "words"),
    [
        pytest.param(Operation("x", "J", "mill", 5), "no work centre mill", id="place"),
        pytest.param(Operation("x", "J", "weld", -5), "time is below zero", id="time"),
        pytest.param(
            Operation("x", "J", "weld", 5, ("y",)), "comes after y, which is not there", id="missing"
        ),
        pytest.param(Operation("x", "J", "weld", 5, ("x",)), "in a ring", id="ring"),
        pytest.param(Operation("x", "J", "weld", 200_000), "fit into no open time", id="too long"),
        pytest.param(
            Operation("x", "J", "lorry", 0, mass_kg=101), "No departure of lorry takes it", id="mass"
        ),
        pytest.param(Operation("x", "J", "oven", 0), "without a colour", id="colour"),
        pytest.param(
            Operation("x", "J", "oven", 0, colour="red", frames=3), "do not fit into a batch", id="frames"
        ),
    ],
)
def test_work_that_makes_no_sense_is_refused_by_name(operation, words):
    with pytest.raises(ProblemError, match=f"operation x: .*{words}"):
        alone(operation, lorries=(LORRY,), ovens=(OVEN,))


def test_what_is_there_twice_is_refused():
    with pytest.raises(ProblemError, match="operation x is there 2 times"):
        alone(Operation("x", "J", "weld", 5), Operation("x", "J", "weld", 5))


@pytest.mark.parametrize("windows", [((10, 5),), ((0, 10), (5, 20)), ((50, 60), (0, 10))])
def test_calendars_that_make_no_sense_are_refused(windows):
    with pytest.raises(ProblemError, match="work centre weld"):
        alone(centres=(station(windows=windows),))


def shared(*operations, jigs=(), people=(), units=4):
    work = Work(ONE_JOB, operations, (station(units=units, windows=((0, 1000),)),), jigs=jigs, people=people)
    return rows(solve(work, 0.3))


def test_work_waits_for_its_jig_though_a_bay_is_free():
    work = [Operation(name, "J", "weld", 100, jig="long") for name in "ab"]

    assert sorted(shared(*work, jigs=(Jig("long", 1),)).values()) == [(0, 100), (100, 200)]


def test_a_jig_away_for_repair_holds_nothing():
    jig = Jig("long", 1, (Stand(50, 300, 1),))

    assert shared(Operation("a", "J", "weld", 100, jig="long"), jigs=(jig,)) == {"a": (300, 400)}


def test_work_pauses_while_its_person_is_away_and_goes_on_with_the_next_one():
    people = (Person("Ash", ("tig",), ((0, 60),)), Person("Bo", ("tig",), ((50, 80), (200, 900))))

    found = shared(Operation("a", "J", "weld", 100, skill="tig"), people=people)

    assert found == {"a": (0, 220)}


def test_a_person_with_two_skills_does_one_thing_at_a_time():
    people = (Person("Ash", ("mig", "tig"), ((0, 900),)), Person("Bo", ("mig",), ((0, 900),)))
    work = [
        Operation(name, "J", "weld", 100, skill=skill)
        for name, skill in (("a", "mig"), ("b", "mig"), ("c", "tig"))
    ]

    found = shared(*work, people=people)

    assert sorted(found.values()) == [(0, 100), (0, 100), (100, 200)]


def test_a_skill_that_nobody_has_is_said():
    with pytest.raises(ProblemError, match="while somebody for tig is there"):
        shared(Operation("a", "J", "weld", 100, skill="tig"))


def test_a_new_plan_leaves_what_need_not_move_where_it_was():
    """Two orders alike, neither late: without the earlier plan either may come first."""
    work = Work(
        (Job("A", 5000), Job("B", 5000)),
        (Operation("a", "A", "weld", 500), Operation("b", "B", "weld", 500)),
        (station(),),
    )

    for before in ({"a": 0, "b": 500}, {"a": 500, "b": 0}):
        found = solve(work, 0.4, before=before)
        assert {name: start for name, (start, _) in rows(found).items()} == before
        assert found.moved == 0
