"""A change tried on a schedule: what it pushes, who becomes late, what stops it. Nothing is searched."""

from hypothesis import given
from hypothesis import strategies as st

from production.scheduling.asked import trying
from production.scheduling.asked.sealing import seal, unseal
from production.scheduling.asked.trying import Extra, Move, Progress
from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.job import (
    Departure,
    Job,
    Lorry,
    Operation,
    Oven,
    Schedule,
    Work,
    WorkCentre,
    work_centre_of,
)

DAY = 480


def station(units: int = 1, days: int = 20) -> WorkCentre:
    return WorkCentre("weld", units, tuple((day * 1440, day * 1440 + DAY) for day in range(days)))


def three_jobs(units: int = 1) -> Work:
    """Three jobs of two hours each at one station, due after 2, 4 and 6 hours."""
    jobs = tuple(Job(name, due) for name, due in (("a", 120), ("b", 240), ("c", 360)))
    operations = tuple(Operation(f"{name} weld", name, "weld", 120) for name in "abc")
    return Work(jobs, operations, (station(units),))


def laid(work: Work, starts: dict[str, int], *moves: Move) -> Schedule:
    schedule = trying.lay(work, starts, moves)
    assert schedule is not None
    return schedule


ORDER = {"a weld": 0, "b weld": 120, "c weld": 240}


def at(schedule: Schedule, name: str) -> int:
    return next(row.start_min for row in schedule.operations if row.id == name)


def test_what_is_moved_later_lets_the_others_close_up() -> None:
    work = three_jobs()
    schedule = laid(work, ORDER, Move("a weld", 240))
    assert [at(schedule, name) for name in ("b weld", "c weld", "a weld")] == [0, 120, 240]


def test_what_is_moved_to_the_front_pushes_the_others_and_makes_them_late() -> None:
    work = three_jobs()
    before = laid(work, ORDER)
    after = laid(work, ORDER, Move("c weld", 0))
    effect = trying.effect_of(work, before, after)
    assert [job.job for job in effect.newly_late] == ["a", "b"]
    assert {name for name, *_ in effect.pushed} == {"a weld", "b weld", "c weld"}
    assert (effect.late_before, effect.late_after) == (0, 240)


def test_a_move_into_closed_time_says_so_and_begins_at_the_opening() -> None:
    work = three_jobs()
    move = Move("c weld", 600)
    schedule = laid(work, ORDER, move)
    [found] = trying.hindrances(work, schedule, [move])
    assert (found.kind, found.subject, at(schedule, "c weld")) == ("closed", "weld", 1440)


def test_a_move_before_what_it_comes_after_names_that() -> None:
    work = Work(
        (Job("a", 300),),
        (Operation("a fold", "a", "weld", 60), Operation("a weld", "a", "weld", 60, after=("a fold",))),
        (station(2),),
    )
    move = Move("a weld", 0)
    schedule = laid(work, {"a fold": 0, "a weld": 60}, move)
    [found] = trying.hindrances(work, schedule, [move])
    assert (found.kind, found.subject, found.minute) == ("after", "a fold", 60)


def test_a_move_before_its_material_names_that() -> None:
    work = Work(
        (Job("a", 300),),
        (Operation("a weld", "a", "weld", 60, earliest_min=100, waits_for="2 rollers"),),
        (station(),),
    )
    schedule = laid(work, {"a weld": 100}, Move("a weld", 10))
    [found] = trying.hindrances(work, schedule, [Move("a weld", 10)])
    assert (found.kind, found.subject) == ("material", "2 rollers")


def test_overtime_lets_work_go_on_that_day() -> None:
    work = Work((Job("a", 540),), (Operation("a weld", "a", "weld", 540),), (station(),))
    assert laid(work, {}).late_minutes > 0
    longer = trying.with_hours(work, [Extra("weld", DAY, DAY + 60)])
    assert laid(longer, {}).late_minutes == 0


def test_overtime_at_the_oven_gives_batches_across_the_usual_closing_time() -> None:
    oven = Oven("oven", tuple((start, start + 120) for start in range(0, 361, 30)), 2)
    work = trying.with_hours(Work((), (), (), ovens=(oven,)), [Extra("oven", 480, 540)])
    assert work.ovens[0].slots[-1] == (420, 540)
    assert (390, 510) in work.ovens[0].slots
    assert (450, 570) not in work.ovens[0].slots


def test_an_extra_lorry_takes_what_the_usual_one_would_have_taken_later() -> None:
    lorry = Lorry("lorry", (Departure(2000, 4000, 100.0),))
    work = Work((Job("a", 2500),), (Operation("a zinc", "a", "lorry", 0, mass_kg=50),), (), (lorry,))
    more = trying.with_runs(work, [Departure(500, 2400, 100.0)])
    assert (laid(work, {}).late_minutes, laid(more, {}).late_minutes) == (1500, 0)


def test_what_is_done_is_left_out_and_nothing_begins_before_now() -> None:
    work = three_jobs()
    now = trying.moved_on(work, Progress(done=frozenset({"a weld"}), left={"b weld": 30}), 200)
    schedule = laid(now, ORDER)
    assert [row.id for row in schedule.operations] == ["b weld", "c weld"]
    assert (at(schedule, "b weld"), at(schedule, "c weld")) == (200, 230)


def test_what_is_away_holds_what_comes_after_it() -> None:
    work = Work(
        (Job("a", 300),),
        (Operation("a zinc", "a", "weld", 1), Operation("a build", "a", "weld", 60, after=("a zinc",))),
        (station(),),
    )
    now = trying.moved_on(work, Progress(away={"a zinc": (1500, "load 1 back")}), 10)
    assert (now.operations[0].earliest_min, now.operations[0].waits_for) == (1500, "load 1 back")


@st.composite
def works(draw: st.DrawFn) -> tuple[Work, dict[str, int], list[Move]]:
    units = draw(st.integers(1, 3))
    count = draw(st.integers(1, 8))
    operations, jobs = [], []
    for index in range(count):
        jobs.append(Job(f"j{index}", draw(st.integers(0, 3000)), draw(st.integers(1, 3))))
        before: tuple[str, ...] = ()
        for step in range(draw(st.integers(1, 3))):
            name = f"j{index} s{step}"
            operations.append(
                Operation(
                    name, f"j{index}", draw(st.sampled_from(["x", "y"])), draw(st.integers(1, 300)), before
                )
            )
            before = (name,)
    days = [(day * 1440, day * 1440 + DAY, units) for day in range(40)]
    centres = (work_centre_of("x", units, days), work_centre_of("y", 1, days))
    names = [one.id for one in operations]
    starts = {name: draw(st.integers(0, 2000)) for name in names}
    moves = [Move(draw(st.sampled_from(names)), draw(st.integers(0, 4000)))]
    return Work(tuple(jobs), tuple(operations), centres), starts, moves


@given(works())
def test_what_is_laid_passes_the_independent_check_and_keeps_to_the_move(
    case: tuple[Work, dict[str, int], list[Move]],
) -> None:
    work, starts, moves = case
    schedule = laid(work, starts, *moves)
    assert check_schedule(work, schedule) == []
    assert at(schedule, moves[0].operation) >= moves[0].minute
    late = bool(trying.hindrances(work, schedule, moves))
    assert late == (at(schedule, moves[0].operation) > moves[0].minute)


@given(works())
def test_a_sealed_question_opens_as_it_was(case: tuple[Work, dict[str, int], list[Move]]) -> None:
    work, *_ = case
    assert unseal(Work, seal(work)) == work
