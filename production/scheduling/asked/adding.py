"""One more order put into a plan without moving anything that stands. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from production.scheduling.asked.question import LORRY, operation_name
from production.scheduling.asked.trying import lay
from production.scheduling.solver.job import Job, Operation, Schedule, Work

LAST_STAGES = ("weld", "galvanise", "powder", "assemble", "inspect")


@dataclass(frozen=True)
class Wanted:
    """The order: minutes by process, what goes with the lorry, its colour, and by process from which minute on its
    parts are there (with what comes then)."""

    number: str
    due_min: int
    minutes: Mapping[str, float]
    mass_kg: float
    length_mm: float
    colour: str
    waits: Mapping[str, tuple[int, str]]


@dataclass(frozen=True)
class Supply:
    """What nobody else has spoken for: pieces on the shelf, and what comes by minute; else it is bought in `lead`."""

    free: Mapping[str, Decimal]
    coming: Mapping[str, tuple[tuple[int, Decimal], ...]]
    lead_min: Mapping[str, int]


def there_at(supply: Supply, item: str, quantity: Decimal) -> int:
    """The minute from which so many of an item are there."""
    left = quantity - supply.free.get(item, Decimal(0))
    for minute, coming in supply.coming.get(item, ()):
        if left <= 0:
            return 0
        left -= coming
        if left <= 0:
            return minute
    return 0 if left <= 0 else supply.lead_min.get(item, 0)


def add_order(work: Work, schedule: Schedule, wanted: Wanted, places: Mapping[str, str], now: int) -> Work:
    """The work with everything planned held where it is and the order's operations besides.

    `places` gives the work centre of each process.
    """
    starts = {row.id: row.start_min for row in schedule.operations}
    held = tuple(replace(one, fixed_start=starts[one.id]) for one in work.operations)
    own = tuple(_operations(wanted, places, now, {oven.code for oven in work.ovens}))
    job = Job(wanted.number, wanted.due_min)
    return replace(work, jobs=(*work.jobs, job), operations=(*held, *own))


def _operations(wanted: Wanted, places: Mapping[str, str], now: int, ovens: set[str]) -> list[Operation]:
    """The order's chain: laser, saw and fold side by side as far as they may, then one after the other."""
    found: list[Operation] = []

    def add(process: str, after: tuple[str, ...]) -> tuple[str, ...]:
        place = LORRY if process == "galvanise" else places.get(process)
        if process not in wanted.minutes or place is None or (place in ovens and not wanted.colour):
            return ()
        earliest, words = wanted.waits.get(process, (0, ""))
        name = operation_name(wanted.number, process)
        found.append(
            Operation(
                name,
                wanted.number,
                place,
                0 if process == "galvanise" else max(1, round(wanted.minutes[process])),
                after=after,
                earliest_min=max(now, earliest),
                waits_for=words if earliest > now else "",
                mass_kg=wanted.mass_kg if process == "galvanise" else 0.0,
                length_mm=wanted.length_mm if process == "galvanise" else 0.0,
                colour=wanted.colour if place in ovens else "",
            )
        )
        return (name,)

    cut, sawn = add("laser", ()), add("saw", ())
    last = (*sawn, *(add("fold", cut) or cut))
    for process in LAST_STAGES:
        last = add(process, last) or last
    return found


def place_order(work: Work, schedule: Schedule, number: str) -> Schedule | None:
    """Every operation where it stands, the order's own at the first moment that is left. None where none is left."""
    starts = {row.id: row.start_min for row in schedule.operations}
    laid = lay(work, starts)
    if laid is None or number not in laid.finish_min:
        return None
    return laid
