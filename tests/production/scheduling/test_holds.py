"""Operations held at a time: kept with all that leads up to them, or said why not. Nothing is searched."""

import random

import pytest

from production.scheduling.asked.holds import PASSED, held_in_place, kept_in, put_in_place
from production.scheduling.asked.sealing import seal, unseal
from production.scheduling.asked.trying import Move, hindrances, lay
from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.decode import Decoder
from production.scheduling.solver.intake import work_problems
from production.scheduling.solver.job import Job, Operation, Schedule, Work, WorkCentre
from production.scheduling.solver.model import build_model
from production.scheduling.solver.rules import dispatch, edd
from production.scheduling.solver.why import CauseKind, why
from tests.production.scheduling.solver.shop import random_work

DAYS = tuple((day * 1440, day * 1440 + 480) for day in range(20))


def two_jobs(**weld: object) -> Work:
    """Two jobs, each folded for two hours and welded for one, with one place for each."""
    operations = [
        operation
        for name in "ab"
        for operation in (
            Operation(f"{name} fold", name, "fold", 120),
            Operation(f"{name} weld", name, "weld", 60, (f"{name} fold",)),
        )
    ]
    operations[3] = Operation("b weld", "b", "weld", 60, ("b fold",), **weld)  # type: ignore[arg-type]
    centres = tuple(WorkCentre(code, 1, DAYS) for code in ("fold", "weld"))
    return Work((Job("a", 480), Job("b", 480)), tuple(operations), centres)


def searched(work: Work) -> Schedule:
    """A schedule by due dates, in the place of a search."""
    model = build_model(work)
    decoder = Decoder(model)
    decoded = decoder.decode(dispatch(model, edd(model)))
    assert decoded is not None
    return decoder.schedule(decoded)


def at(schedule: Schedule, name: str) -> int:
    return next(row.start_min for row in schedule.operations if row.id == name)


def test_what_leads_up_to_a_held_operation_is_done_in_time_for_it() -> None:
    placed = put_in_place(two_jobs(), {"b weld": 120}, {})
    schedule = searched(placed.pinned)
    assert placed.broken == ()
    assert (at(schedule, "b weld"), at(schedule, "b fold"), at(schedule, "a fold")) == (120, 0, 120)
    assert check_schedule(placed.work, schedule) == []


def test_what_leads_up_to_it_stays_where_the_earlier_plan_has_it_if_that_is_soon_enough() -> None:
    starts = {"b fold": 200}
    assert at(searched(put_in_place(two_jobs(), {"b weld": 360}, starts).pinned), "b fold") == 200
    assert at(searched(put_in_place(two_jobs(), {"b weld": 240}, starts).pinned), "b fold") == 0


@pytest.mark.parametrize(
    ("weld", "minute", "kind", "subject"),
    [
        ({}, 60, "after", "b fold"),
        ({"earliest_min": 1440, "waits_for": "2 rollers"}, 240, "material", "2 rollers"),
        ({}, 600, "closed", "weld"),
        ({}, -5, PASSED, ""),
    ],
)
def test_a_hold_that_cannot_be_kept_says_what_is_in_its_way(
    weld: dict[str, object], minute: int, kind: str, subject: str
) -> None:
    placed = put_in_place(two_jobs(**weld), {"b weld": minute}, {})
    [found] = placed.broken
    assert (found.operation, found.kind, found.subject) == ("b weld", kind, subject)
    assert all(one.held_start is None and one.fixed_start is None for one in placed.pinned.operations)


def test_two_held_at_one_place_and_time_keep_the_first_and_name_it() -> None:
    placed = put_in_place(two_jobs(), {"a weld": 300, "b weld": 330}, {})
    [found] = placed.broken
    assert (found.operation, found.kind, found.subject) == ("b weld", "busy", "a weld")


def test_what_is_gone_from_the_work_is_passed_over() -> None:
    placed = put_in_place(two_jobs(), {"c weld": 300}, {})
    assert placed.pinned == two_jobs()
    assert placed.broken == ()


def test_a_hold_is_kept_on_the_board_until_a_change_moves_it() -> None:
    work = put_in_place(two_jobs(), {"b weld": 300}, {}).work
    assert unseal(Work, seal(work)) == work
    starts = {"a fold": 0, "b fold": 120, "a weld": 120, "b weld": 300}
    laid = lay(work, starts)
    assert laid is not None
    assert at(laid, "b weld") == 300
    later = lay(work, starts, [Move("b weld", 400)])
    assert later is not None
    assert at(later, "b weld") == 400
    assert [one.held_start for one in kept_in(work, later, ["b weld"]).operations] == [None] * 4


def test_a_change_in_the_way_of_a_hold_is_said() -> None:
    work = put_in_place(two_jobs(), {"b weld": 300}, {}).work
    moves = [Move("b fold", 960)]
    laid = lay(work, {"a fold": 0, "b fold": 120, "a weld": 120, "b weld": 300}, moves)
    assert laid is not None
    [found, *_] = hindrances(work, laid, [Move("b weld", 300)])
    assert (found.kind, found.subject) == ("after", "b fold")
    assert all(one.held_start is None for one in kept_in(work, laid).operations)


def test_the_search_is_given_no_hold_that_is_not_fixed() -> None:
    placed = put_in_place(two_jobs(), {"b weld": 300}, {})
    assert work_problems(placed.pinned) == []
    assert any("held but not fixed" in str(problem) for problem in work_problems(placed.work))


def test_the_chain_says_that_it_is_held() -> None:
    placed = put_in_place(two_jobs(), {"b weld": 400}, {})
    chain = why(placed.work, searched(placed.pinned), "b")
    assert [(link.kind, link.start_min, link.end_min) for link in chain[:2]] == [
        (CauseKind.WORK, 400, 460),
        (CauseKind.HELD, 120, 400),
    ]


@pytest.mark.parametrize("seed", range(60))
def test_any_workshop_with_holds_passes_the_check(seed: int) -> None:
    """Half of the holds are where some schedule has them, half a while later; jigs, people, lorry and oven too."""
    work, draw = random_work(seed), random.Random(seed)
    starts = {row.id: row.start_min for row in searched(work).operations}
    free = [one.id for one in work.operations if one.fixed_start is None]
    wanted = draw.sample(free, min(3, len(free)))
    holds = {name: starts[name] + draw.choice([0, 0, draw.randint(1, 3000)]) for name in wanted}
    placed = put_in_place(work, holds, starts)
    schedule = searched(placed.pinned)
    kept = {one.id for one in placed.work.operations if one.held_start is not None}
    assert kept | {one.operation for one in placed.broken} == set(holds)
    assert check_schedule(placed.work, schedule) == []
    assert held_in_place(placed.work, schedule, ()) == placed.pinned
