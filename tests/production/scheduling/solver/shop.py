"""Small workshops to schedule: one plain station, and random ones with everything in them."""

import random

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
    WorkCentre,
)

DAY = 1440
ALWAYS = ((0, 100_000),)
COLOURS = ("black", "white", "blue")


def station(code="weld", units=1, windows=ALWAYS, stands=()):
    return WorkCentre(code, units, windows, stands)


def one_machine(times_and_dues, weights=()):
    """Jobs A, B, … with one operation each on one machine that is always open."""
    names = [chr(ord("A") + number) for number in range(len(times_and_dues))]
    weights = weights or [1] * len(names)
    rows = list(zip(names, times_and_dues, weights, strict=True))
    return Work(
        tuple(Job(name, due, weight) for name, (_, due), weight in rows),
        tuple(Operation(name, name, "weld", minutes) for name, (minutes, _), _ in rows),
        (station(),),
    )


def days(count, *hours):
    """Every day the hours given."""
    return tuple(
        (day * DAY + start * 60, day * DAY + end * 60) for day in range(count) for start, end in hours
    )


def random_work(seed):
    """Up to eight jobs over stations with shifts, stands, lags, fixed and unsplittable work, lorry, oven, batches.

    Every second one also has jigs, one of which is away for a while, and people with skills, shifts and absences.
    """
    draw = random.Random(seed)
    horizon = 60
    centres = tuple(
        station(
            code,
            draw.randint(1, 3),
            days(horizon, *draw.choice([((7, 11), (12, 16)), ((6, 22),), ((0, 24),)])),
            (Stand(draw.randint(0, 2000), draw.randint(2001, 5000), 1),) if draw.random() < 0.4 else (),
        )
        for code in ("cut", "weld", "build")
    )
    runs = tuple(
        Departure(
            day * DAY + 14 * 60, (day + draw.randint(1, 3)) * DAY + 7 * 60, draw.randint(300, 900), 7000.0
        )
        for day in range(1, horizon - 4, draw.randint(1, 3))
    )
    step = draw.choice([60, 240])
    slots = tuple(
        (day * DAY + minute, day * DAY + minute + 240)
        for day in range(horizon)
        for minute in range(7 * 60, 15 * 60 - 239, step)
    )
    changes = {("black", "white"): 90} if draw.random() < 0.3 else {}
    oven = Oven("oven", slots, draw.randint(2, 4), 45, changes, draw.choice(["", "black"]))
    operations = [Operation("batch", "", "cut", draw.randint(10, 300))]
    jobs = []
    for number in range(draw.randint(1, 8)):
        jobs.append(Job(f"J{number}", draw.randint(500, 12_000), draw.randint(0, 3)))
        operations += _route(f"J{number}", draw, seed % 2)
    jigs = (Jig("long", 1), Jig("short", 2, (Stand(draw.randint(0, 3000), draw.randint(3001, 6000), 1),)))
    return Work(
        tuple(jobs), tuple(operations), centres, (Lorry("lorry", runs),), (oven,), jigs, _people(draw)
    )


def _people(draw):
    """The first three have between them every skill on every day."""
    found = [
        Person(name, skills, days(60, hours))
        for name, skills, hours in (
            ("Ash", ("mig", "tig"), (0, 24)),
            ("Bo", ("mig",), (6, 14)),
            ("Cam", ("tig", "test"), (7, 18)),
        )
    ]
    away = draw.randint(1, 20)
    night = tuple(window for window in days(60, (14, 23)) if not away <= window[0] // DAY < away + 5)
    return (*found, Person("Dee", ("mig", "test"), night))


def _route(job, draw, shared):
    def step(word, centre, after, **more):
        chance = draw.random()
        if shared and centre == "weld":
            more["jig"], more["skill"] = draw.choice(["", "long", "short"]), draw.choice(["", "mig", "tig"])
        if centre in ("cut", "weld", "build") and chance < 0.06:
            more["fixed_start"] = draw.randint(0, 600)
        return Operation(
            f"{job} {word}",
            job,
            centre,
            draw.choice([0, draw.randint(5, 200), draw.randint(100, 900)]) if chance > 0.05 else 30,
            (after,) if after else (),
            lag_minutes=draw.choice([0, 0, 30, 600]),
            earliest_min=draw.choice([0, 0, 0, draw.randint(1, 6000)]),
            **more,
        )

    steps = [step("cut", "cut", draw.choice(["", "batch"]))]
    steps.append(step("weld", "weld", steps[-1].id))
    if draw.random() < 0.7:
        steps.append(
            step(
                "lorry",
                "lorry",
                steps[-1].id,
                mass_kg=draw.randint(50, 300),
                length_mm=draw.randint(10, 7000),
            )
        )
    if draw.random() < 0.6:
        steps.append(
            step("oven", "oven", steps[-1].id, colour=draw.choice(COLOURS), frames=draw.randint(1, 2))
        )
    skill = "test" if shared and draw.random() < 0.5 else ""
    short = Operation(
        f"{job} test", job, "weld", draw.randint(5, 120), (steps[-1].id,), can_split=False, skill=skill
    )
    return [*steps, short, step("build", "build", short.id)]
