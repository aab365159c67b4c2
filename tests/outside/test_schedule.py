"""The scheduler against published instances, textbook examples and rules known to be best.

Job shops: tests/outside/data/jobshop.json (sources there). Textbook cases say beside them where they stand; every value
was worked out anew, by trying all sequences where that is said.
"""

import json
from itertools import pairwise
from pathlib import Path

import pytest

from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.job import Job, Operation, Oven, Work, WorkCentre
from production.scheduling.solver.jobshop import solve_job_shop
from production.scheduling.solver.solve import solve

INSTANCES = json.loads((Path(__file__).parent / "data" / "jobshop.json").read_text())["instances"]
OPTIMA = {"ft06": 55, "la01": 666, "la02": 655, "la03": 597, "la04": 590, "la05": 593, "la16": 945}
OPEN = ((0, 10_000),)


@pytest.mark.parametrize("name", OPTIMA)
def test_classic_job_shops_are_solved_to_their_optimum(name):
    """Muth and Thompson 1963 (ft06), Lawrence 1984 (la)."""
    instance = INSTANCES[name]
    durations, machines = instance["duration"], instance["machine"]

    makespan, bound, starts = solve_job_shop(durations, machines, 30, 2)

    assert (makespan, bound) == (OPTIMA[name], OPTIMA[name])
    rows = [
        (machine, start, start + length)
        for times, lengths, where in zip(starts, durations, machines, strict=True)
        for start, length, machine in zip(times, lengths, where, strict=True)
    ]
    assert max(end for _, _, end in rows) == makespan
    for (machine, _, end), (other, start, _) in pairwise(sorted(rows)):
        assert machine != other or start >= end
    for times, lengths in zip(starts, durations, strict=True):
        assert all(
            later >= start + length
            for (start, length), later in zip(zip(times, lengths, strict=True), times[1:], strict=False)
        )


def flow_shop(times):
    """The two-machine flow shop as a factory: one job whose lateness, due at 0, is the makespan."""
    operations = []
    for name, (first, second) in times.items():
        operations.append(Operation(f"{name}1", "", "M1", first))
        operations.append(Operation(f"{name}2", "", "M2", second, (f"{name}1",)))
    operations.append(Operation("end", "all", "M1", 0, tuple(f"{name}2" for name in times)))
    centres = (WorkCentre("M1", 1, OPEN), WorkCentre("M2", 1, OPEN))
    return Work((Job("all", 0),), tuple(operations), centres)


FLOW_SHOPS = [
    # Heizer and Render, from memory; makespan by trying all sequences.
    pytest.param({"A": (5, 2), "B": (3, 6), "C": (8, 4), "D": (10, 7), "E": (7, 12)}, 35, id="five jobs"),
    # https://quesba.com/questions/use-johnson-s-rule-determine-optimal-sequencing-five-jobs-processed-two-1851439
    pytest.param(
        {"A": (10, 11), "B": (8, 17), "C": (14, 10), "D": (13, 7), "E": (10, 8), "F": (25, 9), "G": (6, 15)},
        93,
        id="seven jobs",
    ),
    # https://justaaa.com/operations-management/392320-use-johnsons-rule-to-determine-the-optimal (which forgets a job
    # on the second machine and says 26).
    pytest.param({"L": (10, 2), "M": (5, 4), "N": (7, 5), "O": (3, 6), "P": (1, 7)}, 28, id="jobs L to P"),
    # Data: math-gpt.org (which says 39).
    pytest.param(
        {"A": (3, 8), "B": (12, 10), "C": (5, 9), "D": (2, 6), "E": (9, 3), "F": (11, 1)}, 43, id="six jobs"
    ),
    # https://tutorsglobe.com/question/correct-sequence-for-processing-the-jobs-51792771.aspx
    pytest.param({"A": (5, 8), "B": (3, 9), "C": (8, 7), "D": (7, 2), "E": (4, 6)}, 35, id="jobs A to E"),
]


@pytest.mark.parametrize(("times", "makespan"), FLOW_SHOPS)
def test_two_machine_flow_shops_reach_the_makespan_of_johnsons_rule(times, makespan):
    """Johnson 1954: on two machines the rule is optimal, so nothing can be shorter."""
    work = flow_shop(times)

    found = solve(work, 4)

    assert found.schedule.late_minutes == makespan
    assert found.proven
    assert check_schedule(work, found.schedule) == []


def one_machine(jobs, weight=1):
    return Work(
        tuple(Job(name, due, weight) for name, (_, due) in jobs.items()),
        tuple(Operation(name, name, "M", minutes) for name, (minutes, _) in jobs.items()),
        (WorkCentre("M", 1, OPEN),),
    )


# Data found in a stored corpus of mathematical web pages (minutes, due), ten jobs; all rules worked out anew.
TEN = {
    "1": (19, 48), "2": (23, 75), "3": (5, 170), "4": (31, 215), "5": (17, 205), "6": (8, 240), "7": (32, 85),
    "8": (41, 67), "9": (26, 100), "10": (18, 95),
}  # fmt: skip
# Heizer and Render, from memory.
FIVE = {"A": (6, 8), "B": (2, 6), "C": (8, 18), "D": (3, 15), "E": (9, 23)}


def test_earliest_due_date_gives_the_textbook_lateness():
    """Ten jobs: earliest due date first (Jackson 1955) has a total lateness of 135 and completions of 1346;

    five jobs: 6 and 68.
    """
    ten, five = solve(one_machine(TEN), 1), solve(one_machine(FIVE), 1)

    values = {rule.name: (rule.late_minutes, rule.finish_minutes) for rule in ten.rules}
    assert values["EDD"] == (135, 1346)
    assert {rule.name: rule.late_minutes for rule in five.rules}["EDD"] == 6
    assert ten.schedule.late_minutes <= 135
    assert five.schedule.late_minutes <= 6


@pytest.mark.parametrize(
    ("jobs", "completions"),
    [pytest.param(TEN, 915, id="ten jobs"), pytest.param(FIVE, 65, id="five jobs")],
)
def test_with_everything_due_at_once_shortest_first_is_found(jobs, completions):
    """Smith 1956: shortest processing time first has the least sum of completions, here the lateness."""
    found = solve(one_machine({name: (minutes, 0) for name, (minutes, _) in jobs.items()}), 3)

    assert found.schedule.late_minutes == completions


@pytest.mark.parametrize(
    ("number", "slots", "batches"),
    [pytest.param(17, 10, 4, id="17 in fives"), pytest.param(20, 10, 4, id="20 in fives")],
)
def test_a_batch_oven_needs_as_many_batches_as_its_frames_ask(number, slots, batches):
    """Equal batch time p, capacity b, n jobs ready at 0: makespan ⌈n ÷ b⌉ × p; for n 17, b 5, p 45 that is 180."""
    oven = Oven("oven", tuple((45 * slot, 45 * slot + 45) for slot in range(slots)), 5)
    frames = tuple(Operation(f"frame{index}", "", "oven", 0, colour="grey") for index in range(number))
    end = Operation("end", "all", "M", 0, tuple(one.id for one in frames))
    work = Work((Job("all", 0),), (*frames, end), (WorkCentre("M", 1, OPEN),), (), (oven,))

    found = solve(work, 1)

    assert found.schedule.late_minutes == batches * 45
