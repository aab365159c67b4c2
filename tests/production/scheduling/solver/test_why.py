"""The chain of causes: from a job's end back to a late part or the start of the plan."""

import pytest

from production.scheduling.solver.job import Departure, Jig, Job, Lorry, Operation, Oven, Person, Work
from production.scheduling.solver.solve import solve
from production.scheduling.solver.why import HELD_BY_WORK, CauseKind, why

from .shop import DAY, days, random_work, station


def chain(work, job):
    schedule = solve(work, 0.3).schedule
    return [
        (link.kind.value, link.operation, link.subject, link.minutes) for link in why(work, schedule, job)
    ]


def test_a_late_part_is_the_end_of_the_chain():
    operations = (
        Operation("weld", "J", "weld", 100, earliest_min=10),
        Operation("build", "J", "build", 60, ("weld",), earliest_min=500, waits_for="axle 1350 kg"),
    )
    work = Work((Job("J", 0),), operations, (station("weld"), station("build")))

    assert chain(work, "J") == [("work", "build", "", 60), ("material", "build", "axle 1350 kg", 500)]


def test_waiting_for_a_busy_station_leads_on_to_the_job_that_had_it():
    operations = (
        Operation("big", "first", "weld", 300, earliest_min=20, waits_for="tube"),
        Operation("small", "second", "weld", 100, earliest_min=30),
    )
    work = Work((Job("first", 0, 9), Job("second", 0)), operations, (station("weld"),))

    assert chain(work, "second") == [
        ("work", "small", "", 100),
        ("busy", "small", "big", 290),
        ("work", "big", "", 300),
        ("material", "big", "tube", 20),
    ]


def test_this_order_waits_for_the_lorry_which_waits_for_the_weld():
    lorry = Lorry("lorry", (Departure(50, 100, 500), Departure(700, 1500, 500)))
    operations = (
        Operation("weld", "J", "weld", 200),
        Operation("galvanise", "J", "lorry", 0, ("weld",), mass_kg=90),
        Operation("build", "J", "build", 60, ("galvanise",), lag_minutes=30),
    )
    work = Work((Job("J", 0),), operations, (station("weld"), station("build")), (lorry,))

    assert chain(work, "J") == [
        ("work", "build", "", 60),
        ("lag", "build", "galvanise", 30),
        ("work", "galvanise", "", 800),
        ("departure", "galvanise", "lorry", 500),
        ("work", "weld", "", 200),
        ("start", "weld", "", 0),
    ]


def test_a_full_lorry_and_a_missed_batch_are_told_apart_from_waiting():
    lorry = Lorry("lorry", (Departure(50, 100, 100), Departure(700, 800, 100)))
    oven = Oven("oven", ((0, 60), (900, 960)), 4)
    operations = (
        Operation("heavy", "first", "lorry", 0, mass_kg=90),
        Operation("light", "second", "lorry", 0, mass_kg=90),
        Operation("powder", "second", "oven", 0, ("light",), colour="red"),
    )
    work = Work((Job("first", 0, 9), Job("second", 0)), operations, (), (lorry,), (oven,))

    assert chain(work, "second") == [
        ("work", "powder", "red", 60),
        ("batch", "powder", "red", 100),
        ("work", "light", "", 100),
        ("full", "light", "lorry", 700),
        ("start", "light", "", 0),
    ]


def test_closed_time_within_and_before_the_work_is_a_link_of_its_own():
    centre = station("weld", windows=days(5, (7, 15)))
    work = Work((Job("J", 0),), (Operation("weld", "J", "weld", 600),), (centre,))

    assert chain(work, "J") == [
        ("closed", "weld", "weld", DAY - 8 * 60),
        ("work", "weld", "", 600),
        ("closed", "weld", "weld", 7 * 60),
        ("start", "weld", "", 0),
    ]


def test_begun_work_ends_the_chain():
    work = Work((Job("J", 0),), (Operation("weld", "J", "weld", 60, fixed_start=0),), (station(),))

    assert chain(work, "J") == [("work", "weld", "", 60), ("fixed", "weld", "", 0)]


@pytest.mark.parametrize("seed", range(60))
def test_every_chain_runs_without_a_gap_from_the_finish_to_its_origin(seed):
    work = random_work(seed)
    schedule = solve(work, 0.05).schedule

    for job in work.jobs:
        links = why(work, schedule, job.id)
        minute = schedule.finish_min[job.id]
        for link in links:
            assert link.end_min == minute, links
            if link.kind not in HELD_BY_WORK:
                minute = link.start_min
        assert links[-1].kind in (CauseKind.START, CauseKind.MATERIAL, CauseKind.FIXED)


def test_a_jig_in_use_and_people_at_other_work_are_named():
    people = (Person("Ash", ("tig",), ((0, 5000),)),)
    operations = (
        Operation("first", "A", "weld", 100, jig="long"),
        Operation("second", "B", "weld", 50, jig="long", skill="tig"),
        Operation("third", "C", "weld", 50, ("second",), skill="tig"),
        Operation("fourth", "D", "weld", 50, earliest_min=160, skill="tig"),
    )
    jobs = (Job("A", 0, 99), Job("B", 0, 5), Job("C", 0, 3), Job("D", 0))
    work = Work(jobs, operations, (station(units=4),), jigs=(Jig("long", 1),), people=people)

    assert chain(work, "B")[1] == ("jig", "second", "first", 100)
    assert chain(work, "D")[1] == ("people", "fourth", "third", 40)


def test_waiting_for_somebody_who_is_away_is_said():
    people = (Person("Ash", ("tig",), ((300, 5000),)),)
    work = Work(
        (Job("J", 0),), (Operation("weld", "J", "weld", 60, skill="tig"),), (station(),), people=people
    )

    assert chain(work, "J")[1] == ("away", "weld", "tig", 300)
