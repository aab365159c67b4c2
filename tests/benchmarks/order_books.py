"""Ten frozen order books a size for the scheduler, `instances/trailers60-01.json.gz` to `trailers300-10.json.gz`.

`python -m tests.benchmarks.order_books` writes them anew from their seeds; the files are what the benchmark reads, so
that figures of different days can be compared. A trailer passes saw, fold, weld, fettle, the galvaniser, sometimes
sweep and powder, electrics, assembly and inspection; some trailers share a cut batch. By number of the file:
1, 2 plain · 3, 4 the lorry's mass binds · 5, 6 several calendars and holidays · 7, 8 an oven of two batches a day ·
9 late axles · 10 all of it. A book that earliest due date first manages with less than five hours' lateness a trailer
asks nothing of a scheduler, so the next seed is taken.
"""

from __future__ import annotations

import gzip
import json
import random
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from itertools import count
from pathlib import Path
from typing import Any

from production.scheduling.solver.decode import Decoder
from production.scheduling.solver.job import Departure, Job, Lorry, Operation, Oven, Stand, Work, WorkCentre
from production.scheduling.solver.model import build_model
from production.scheduling.solver.rules import dispatch, edd

FOLDER = Path(__file__).parent / "instances"
SIZES = (60, 300)
NUMBERS = range(1, 11)
DAY = 1440
LEAST_LATE_MIN = 300
# Days over which due dates are spread, and how much heavier the lorry may be, by size: an endless book settles at a
# higher load than a short one, whose first and last weeks are quiet.
SPREAD_DAYS = {60: 27, 300: 108}
LORRY_SHARE = {60: 1.0, 300: 1.35}
COLOURS = ("black", "white", "blue", "green", "grey")
ONE, TWO = ((7, 11), (12, 16)), ((6, 14), (14, 22))
THREE, SHORT = ((0, 8), (8, 16), (16, 24)), ((8, 13),)


@dataclass(frozen=True)
class Kind:
    """What is special about a book."""

    lorry_kg: float = 2800.0
    powder_share: float = 0.4
    many_calendars: bool = False
    oven_binds: bool = False
    late_axles: bool = False


KINDS = (
    Kind(),
    Kind(),
    Kind(lorry_kg=2000.0),
    Kind(lorry_kg=1800.0),
    Kind(many_calendars=True),
    Kind(many_calendars=True),
    Kind(powder_share=0.7, oven_binds=True),
    Kind(powder_share=0.7, oven_binds=True),
    Kind(late_axles=True),
    Kind(lorry_kg=2000.0, powder_share=0.7, many_calendars=True, oven_binds=True, late_axles=True),
)


def read_book(size: int, number: int) -> Work:
    """A frozen book."""
    return _work(json.loads(gzip.decompress((FOLDER / f"trailers{size}-{number:02}.json.gz").read_bytes())))


def make_book(size: int, number: int) -> Work:
    """A book from its seed: `size` trailers, of the kind that its number says."""
    for attempt in count():
        work = _book(random.Random(f"{size} {number} {attempt}"), size, KINDS[number - 1])
        model = build_model(work)
        decoded = Decoder(model).decode(dispatch(model, edd(model)))
        if decoded is not None and decoded.late >= size * LEAST_LATE_MIN:
            return work
    raise AssertionError


def _book(draw: random.Random, size: int, kind: Kind) -> Work:
    days = 90 + size
    holidays = frozenset(draw.sample(range(3, size // 2), size // 15)) if kind.many_calendars else frozenset()
    batches = [f"cut{index:02}" for index in range(size // 5)]
    operations = [Operation(batch, "", "laser", draw.randint(60, 300)) for batch in batches]
    axle_days = sorted(draw.sample(range(3, 6 + SPREAD_DAYS[size]), size // 8))
    jobs = []
    for index in range(size):
        name = f"T{index:03}"
        wanted_day = 8 + draw.randrange(SPREAD_DAYS[size])
        parts_day = _parts_day(kind, draw, size, wanted_day, axle_days)
        # Nobody promises a trailer for a day on which its axle cannot have been built in.
        due_day = max(wanted_day, parts_day + 3)
        jobs.append(Job(name, due_day * DAY + 16 * 60, draw.choice((1, 1, 1, 2, 4))))
        operations += _route(name, draw.choice(batches), draw, kind, parts_day)
    return Work(tuple(jobs), tuple(operations), *_workshop(kind, days, holidays, LORRY_SHARE[size]))


def _parts_day(kind: Kind, draw: random.Random, size: int, wanted_day: int, axle_days: list[int]) -> int:
    """When the bought parts are there: mostly at once; late axles come shortly before the day wanted."""
    if not kind.late_axles:
        return draw.randrange(size // 5) if draw.random() < 0.3 else 0
    return min(axle_days, key=lambda day: abs(day - (wanted_day - 3))) if draw.random() < 0.6 else 0


def _route(name: str, batch: str, draw: random.Random, kind: Kind, parts_day: int) -> list[Operation]:
    def step(word: str, centre: str, minutes: int, *after: str, **more: Any) -> Operation:
        return Operation(f"{name} {word}", name, centre, minutes, after, **more)

    steps = [
        step("saw", "saw", draw.randint(20, 90)),
        step("fold", "brake", draw.randint(20, 120), batch),
        step("weld", "weld", draw.randint(180, 720), f"{name} saw", f"{name} fold"),
        step("fettle", "fettle", draw.randint(30, 120), f"{name} weld"),
        step(
            "galvanise",
            "lorry",
            0,
            f"{name} fettle",
            mass_kg=float(draw.randint(90, 420)),
            length_mm=float(draw.randrange(3500, 7500, 100)),
        ),
    ]
    last = f"{name} galvanise"
    if draw.random() < kind.powder_share:
        colour = draw.choice(COLOURS[:4] if kind.oven_binds else COLOURS)
        steps.append(step("sweep", "sweep", draw.randint(20, 60), last))
        steps.append(step("powder", "oven", 0, f"{name} sweep", lag_minutes=30, colour=colour))
        last = f"{name} powder"
    lag = 120 if last.endswith("powder") else 0
    steps.append(step("electrics", "electrics", draw.randint(60, 180), last, lag_minutes=lag))
    steps.append(
        step(
            "assemble",
            "assembly",
            draw.randint(120, 480),
            f"{name} electrics",
            earliest_min=parts_day * DAY,
            waits_for="axle" if parts_day else "",
        )
    )
    steps.append(step("inspect", "inspection", draw.randint(30, 60), f"{name} assemble"))
    return steps


def _workshop(
    kind: Kind, days: int, holidays: frozenset[int], lorry_share: float
) -> tuple[tuple[WorkCentre, ...], tuple[Lorry, ...], tuple[Oven, ...]]:
    def hours(*shifts: tuple[int, int], week: int = 5) -> tuple[tuple[int, int], ...]:
        return tuple(
            (day * DAY + start * 60, day * DAY + end * 60)
            for day in range(days)
            if day % 7 < week and day not in holidays
            for start, end in shifts
        )

    many = kind.many_calendars
    centres = (
        WorkCentre("laser", 1, hours(*(THREE if many else TWO))),
        WorkCentre("saw", 1, hours(*TWO)),
        WorkCentre("brake", 1, hours(*(ONE if many else TWO))),
        WorkCentre("weld", 4, hours(*((6, 14), (14, 18)) if many else ONE), (Stand(2 * DAY, 4 * DAY, 1),)),
        WorkCentre("fettle", 2, hours(*ONE, week=4 if many else 5)),
        WorkCentre("sweep", 1, hours(*(SHORT if many else ONE))),
        WorkCentre("electrics", 2, hours(*ONE)),
        WorkCentre("assembly", 3, hours(*((7, 15),) if many else ONE, week=6 if many else 5)),
        WorkCentre("inspection", 1, hours(*(((9, 12), (13, 17)) if many else ONE))),
    )
    runs = tuple(
        Departure(
            day * DAY + 14 * 60,
            (day + 3 + 2 * (day % 7 == 3)) * DAY + 7 * 60,
            kind.lorry_kg * lorry_share,
            9000.0,
        )
        for day in range(days - 7)
        if day % 7 in (1, 3)
    )
    if kind.oven_binds:
        changes = {
            (one, other): 90 if COLOURS.index(one) < COLOURS.index(other) else 30
            for one in COLOURS
            for other in COLOURS
            if one != other
        }
        slots = [start for start, _ in hours((7, 8), (8, 9), (9, 10), (10, 11), (11, 12), (12, 13))]
        oven = Oven("oven", tuple((start, start + 210) for start in slots), 4, 90, changes)
    else:
        oven = Oven("oven", hours(*ONE), 4, 45)
    return centres, (Lorry("lorry", runs),), (oven,)


def _write(size: int, number: int) -> None:
    work = make_book(size, number)
    plain = {
        "jobs": [asdict(job) for job in work.jobs],
        "operations": [_short(one) for one in work.operations],
        "work_centres": [asdict(one) for one in work.work_centres],
        "lorries": [asdict(one) for one in work.lorries],
        "ovens": [_plain_oven(one) for one in work.ovens],
    }
    text = json.dumps(plain, separators=(",", ":")).encode()
    path = FOLDER / f"trailers{size}-{number:02}.json.gz"
    path.write_bytes(gzip.compress(text, 9, mtime=0))


def _short(one: Operation) -> dict[str, Any]:
    usual = asdict(Operation("", "", "", 0))
    return {key: value for key, value in asdict(one).items() if value != usual[key] or key == "id"}


def _plain_oven(oven: Oven) -> dict[str, Any]:
    changes = [[before, after, minutes] for (before, after), minutes in oven.changes.items()]
    return {
        "code": oven.code,
        "slots": oven.slots,
        "frames": oven.frames,
        "change_minutes": oven.change_minutes,
        "changes": changes,
        "colour": oven.colour,
    }


def _work(plain: Mapping[str, Any]) -> Work:
    return Work(
        tuple(Job(**row) for row in plain["jobs"]),
        tuple(_operation(row) for row in plain["operations"]),
        tuple(
            WorkCentre(
                row["code"],
                row["units"],
                tuple((start, end) for start, end in row["windows"]),
                tuple(Stand(**stand) for stand in row["stands"]),
            )
            for row in plain["work_centres"]
        ),
        tuple(
            Lorry(row["code"], tuple(Departure(**run) for run in row["departures"]))
            for row in plain["lorries"]
        ),
        tuple(
            Oven(
                row["code"],
                tuple((start, end) for start, end in row["slots"]),
                row["frames"],
                row["change_minutes"],
                {(before, after): minutes for before, after, minutes in row["changes"]},
                row["colour"],
            )
            for row in plain["ovens"]
        ),
    )


def _operation(row: Mapping[str, Any]) -> Operation:
    return Operation(**{"job": "", "minutes": 0, **row, "after": tuple(row.get("after", ()))})


if __name__ == "__main__":
    for wanted_size in SIZES:
        for wanted_number in NUMBERS:
            _write(wanted_size, wanted_number)
