"""The checker finds what is wrong: each case is a right schedule with one thing spoilt."""

import pytest

from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.job import (
    Departure,
    Jig,
    Job,
    Lorry,
    Operation,
    Oven,
    Person,
    Schedule,
    ScheduledOperation,
    Stand,
    Work,
)

from .shop import station

WORK = Work(
    (Job("J", 900),),
    (
        Operation("cut", "", "laser", 60),
        Operation("weld", "J", "weld", 120, ("cut",), lag_minutes=10, earliest_min=70),
        Operation("weld2", "", "weld", 120, fixed_start=100),
        Operation("test", "", "weld", 50, can_split=False),
        Operation("galvanise", "J", "lorry", 0, ("weld",), mass_kg=80, length_mm=5000),
        Operation("galvanise2", "", "lorry", 0, mass_kg=80),
        Operation("powder", "J", "oven", 0, ("galvanise",), colour="red"),
        Operation("powder2", "", "oven", 0, colour="red"),
        Operation("powder3", "", "oven", 0, colour="blue"),
    ),
    (
        station("laser"),
        station("weld", 2, ((0, 200), (300, 1000)), (Stand(700, 800, 1),)),
    ),
    (Lorry("lorry", (Departure(400, 500, 100, 6000), Departure(600, 700, 100, 4000))),),
    (Oven("oven", ((0, 100), (150, 250), (700, 800), (850, 950)), 1, 60),),
)
RIGHT = (
    ScheduledOperation("cut", "laser", 0, 0, 60),
    ScheduledOperation("weld", "weld", 0, 70, 190),
    ScheduledOperation("weld2", "weld", 1, 100, 320),
    ScheduledOperation("test", "weld", 0, 300, 350),
    ScheduledOperation("galvanise", "lorry", 0, 400, 500),
    ScheduledOperation("galvanise2", "lorry", 1, 600, 700),
    ScheduledOperation("powder", "oven", 2, 700, 800),
    ScheduledOperation("powder2", "oven", 3, 850, 950),
    ScheduledOperation("powder3", "oven", 0, 0, 100),
)


def scheduled(finish=800, late=0, **changed):
    """The right schedule with some rows replaced."""
    rows = {row.id: row for row in RIGHT} | {row.id: row for row in changed.values()}
    return Schedule(tuple(rows.values()), {"J": finish}, late)


def row(name, start, end, unit=0):
    place = next(one.work_centre for one in WORK.operations if one.id == name)
    return ScheduledOperation(name, place, unit, start, end)


def test_a_right_schedule_has_no_problem():
    assert check_schedule(WORK, scheduled()) == []


@pytest.mark.parametrize(
    ("spoilt", "words"),
    [
        pytest.param(row("weld", 65, 185), "before 70", id="before its material"),
        pytest.param(row("cut", 20, 80), "too early after cut", id="lag"),
        pytest.param(row("test", 250, 350), "closed", id="begins while closed"),
        pytest.param(row("test", 300, 340), "40 minutes of work instead of 50", id="too short"),
        pytest.param(row("test", 190, 340), "may not", id="pauses although it may not"),
        pytest.param(row("test", 150, 200), "on the same unit", id="two on one unit"),
        pytest.param(row("test", 300, 350, 2), "no unit 3", id="unknown unit"),
        pytest.param(row("weld2", 110, 330, 1), "fixed at 100 but begins at 110", id="fixed work moved"),
        pytest.param(row("weld2", 90, 310, 1), "before its fixed start", id="fixed work early"),
        pytest.param(row("galvanise2", 400, 500), "160 kg are loaded, 100 kg may be", id="too heavy"),
        pytest.param(row("galvanise", 600, 700, 1), "5000 mm are too long", id="too long"),
        pytest.param(row("galvanise", 400, 450), "not those of its departure", id="wrong return"),
        pytest.param(row("powder3", 850, 950, 3), "Colours blue, red are in one batch", id="two colours"),
        pytest.param(row("powder2", 700, 800, 2), "2 frames are in a batch of 1", id="too many frames"),
        pytest.param(row("powder2", 150, 250, 1), "no time to change from blue to red", id="colour change"),
        pytest.param(row("powder2", 160, 250, 1), "not those of a batch", id="no such batch"),
    ],
)
def test_one_thing_spoilt_is_found(spoilt, words):
    problems = check_schedule(WORK, scheduled(changed=spoilt))

    assert any(words in str(problem) for problem in problems), problems


def test_work_on_a_unit_that_stands_is_found():
    changed = {"a": row("test", 700, 750), "b": row("weld2", 700, 820, 1)}

    problems = check_schedule(WORK, scheduled(**changed))

    assert any("units are taken of 2" in str(problem) for problem in problems)


def test_fixed_work_may_wait_for_other_fixed_work():
    work = Work((), tuple(Operation(name, "", "weld", 50, fixed_start=100) for name in "ab"), (station(),))
    rows = (ScheduledOperation("a", "weld", 0, 100, 150), ScheduledOperation("b", "weld", 0, 150, 200))

    assert check_schedule(work, Schedule(rows, {}, 0)) == []


@pytest.mark.parametrize(
    ("schedule", "words"),
    [
        pytest.param(scheduled(finish=790), "given as 790 but is 800", id="finish"),
        pytest.param(scheduled(late=5), "lateness is given as 5 but is 0", id="lateness"),
        pytest.param(Schedule(RIGHT[1:], {"J": 800}, 0), "not scheduled", id="missing"),
        pytest.param(Schedule((*RIGHT, RIGHT[0]), {"J": 800}, 0), "twice", id="twice"),
        pytest.param(scheduled(changed=RIGHT[0]._replace(work_centre="weld")), "does not belong", id="place"),
    ],
)
def test_figures_and_presence_are_checked(schedule, words):
    assert any(words in str(problem) for problem in check_schedule(WORK, schedule))


def test_held_work_stands_at_its_minute_and_after_what_it_needs():
    work = Work(
        (),
        (
            Operation("cut", "", "weld", 60),
            Operation("weld", "", "weld", 50, ("cut",), fixed_start=100, held_start=100),
        ),
        (station("weld", 2),),
    )

    def problems(cut, weld):
        rows = (
            ScheduledOperation("cut", "weld", 0, cut, cut + 60),
            ScheduledOperation("weld", "weld", 1, weld, weld + 50),
        )
        return [problem.what for problem in check_schedule(work, Schedule(rows, {}, 0))]

    assert problems(40, 100) == []
    assert "It is held at 100 but begins at 110" in problems(40, 110)
    assert problems(50, 100) == ["It begins at 100, too early after cut"]


SHARED = Work(
    (),
    (
        Operation("long", "", "weld", 100, jig="long", skill="mig"),
        Operation("long2", "", "weld", 100, jig="long"),
        Operation("mig", "", "weld", 100, skill="mig"),
        Operation("tig", "", "weld", 100, skill="tig"),
    ),
    (station("weld", 4, ((0, 1000),)),),
    jigs=(Jig("long", 1, (Stand(700, 800, 1),)),),
    people=(
        Person("Ash", ("mig", "tig"), ((0, 300), (400, 1000))),
        Person("Bo", ("mig",), ((0, 250), (400, 500))),
    ),
)


def shared(**starts_and_ends):
    right = {"long": (0, 100), "long2": (100, 200), "mig": (100, 200), "tig": (0, 100)} | starts_and_ends
    return Schedule(
        tuple(
            ScheduledOperation(name, "weld", unit, start, end)
            for unit, (name, (start, end)) in enumerate(right.items())
        ),
        {},
        0,
    )


@pytest.mark.parametrize(
    ("spoilt", "words"),
    [
        pytest.param({}, "", id="right"),
        pytest.param({"long2": (50, 150)}, "2 are in use, 1 of 1 can be", id="two in one jig"),
        pytest.param({"long2": (650, 750)}, "1 are in use, 0 of 1 can be", id="jig away"),
        pytest.param({"mig": (250, 450)}, "", id="right, as it pauses while nobody is there"),
        pytest.param(
            {"mig": (290, 400)}, "10 minutes of work instead of 100", id="works while nobody is there"
        ),
        pytest.param({"mig": (320, 500)}, "nobody for mig is there", id="begins while nobody is there"),
        pytest.param({"mig": (0, 100)}, "nobody is left for", id="three want two people"),
        pytest.param({"tig": (200, 300), "mig": (200, 300)}, "nobody is left for", id="only one has both"),
    ],
)
def test_jigs_and_people_are_checked(spoilt, words):
    problems = [str(problem) for problem in check_schedule(SHARED, shared(**spoilt))]

    assert any(words in problem for problem in problems) if words else problems == []
