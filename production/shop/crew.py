"""The people and jigs of the shop over a horizon, as the scheduler wants to be told."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from production.shop.crew_models import Absence, Jig, JigRepair, Skill, Worker
from production.shop.hours import Clock, DifferentDay, Hours, Stand, Window, open_windows


@dataclass(frozen=True)
class Hand:
    """Somebody with skills, and when he is there: his hours and his stations' extra hours, without absences."""

    code: str
    skills: tuple[str, ...]
    windows: tuple[Window, ...]


@dataclass(frozen=True)
class JigFigures:
    """How many of a jig there are, and the minutes (from, to, how many) in which some cannot be used."""

    code: str
    units: int
    out: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True)
class Crew:
    """`skill_of` gives the skill that a process asks for, `jig_of` the jig by the id of a trailer model."""

    hands: tuple[Hand, ...] = ()
    jigs: tuple[JigFigures, ...] = ()
    skill_of: Mapping[str, str] = field(default_factory=dict)
    jig_of: Mapping[int, str] = field(default_factory=dict)


def load_crew(
    hours: Mapping[int, Hours],
    extra_by_process: Mapping[str, tuple[DifferentDay, ...]],
    clock: Clock,
    days: int,
) -> Crew:
    """Everybody who works here, and every jig. Seven queries.

    `hours` by calendar; `extra_by_process` are the extra hours of the work centres that do a process.
    """
    processes = dict(Skill.objects.values_list("code", "process__code"))
    workers = list(Worker.objects.filter(is_active=True).prefetch_related("skills"))
    away: dict[int, list[Stand]] = defaultdict(list)
    for row in Absence.objects.filter(ends_at__gt=clock.starts_at):
        away[row.worker_id].append(Stand(row.starts_at, row.ends_at))
    hands = []
    for worker in workers:
        skills = tuple(skill.code for skill in worker.skills.all())
        extra = tuple(day for skill in skills for day in extra_by_process.get(processes[skill], ()))
        own = replace(hours[worker.calendar_id], extra=extra)
        windows = open_windows(own, clock, days, 1, away[worker.pk])
        hands.append(Hand(worker.name, skills, windows))
    had = {skill for hand in hands for skill in hand.skills}
    jigs, jig_of = _jigs(clock)
    return Crew(
        tuple(hands), jigs, {process: code for code, process in processes.items() if code in had}, jig_of
    )


def _jigs(clock: Clock) -> tuple[tuple[JigFigures, ...], dict[int, str]]:
    out: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
    rows = list(Jig.objects.prefetch_related("models"))
    for repair in JigRepair.objects.filter(ends_at__gt=clock.starts_at).select_related("jig"):
        start, end = max(0, clock.minute(repair.starts_at)), clock.minute(repair.ends_at)
        if start < end:
            units = repair.jig.units if repair.units is None else min(repair.units, repair.jig.units)
            out[repair.jig_id].append((start, end, units))
    jig_of: dict[int, str] = {}
    for row in rows:
        for model in row.models.all():
            jig_of.setdefault(model.pk, row.code)
    return tuple(JigFigures(row.code, row.units, tuple(out[row.pk])) for row in rows), jig_of
