"""The question put to the scheduler: open orders, the floor and the shop as work on stations.

Names of operations are "2604 weld" for an order's own, "batch 3" for a cut batch of the plan, and the batch's number
for one that is begun. What is begun keeps its place; what is done is not asked for again.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from bom.items.models import Item
from production.cutting.batching import Batch
from production.planning.needs import Needs
from production.planning.netting.data import Peg
from production.planning.netting.plan import NetPlan
from production.scheduling.asked.question import LEAST_LEFT, LORRY, Question, operation_name
from production.scheduling.asked.reading import Floor, Job
from production.scheduling.solver import job as solver
from production.scheduling.solver.axis import Axis
from production.shop.calendars import Centre, Shop

SIDE_BY_SIDE = ("laser", "saw", "fold")
SLOT_STEP = 30
NEVER = 1 << 60


@dataclass(frozen=True)
class Wait:
    """From `minute` on something is there, called `words`."""

    minute: int
    words: str


def lorries_of(shop: Shop) -> tuple[solver.Lorry, ...]:
    """The galvaniser's lorry with the shop's departures, in their order."""
    clock = shop.clock
    runs = tuple(
        solver.Departure(
            clock.minute(run.leaves_at),
            clock.minute(run.back_at),
            float(run.call.max_kg),
            float(run.call.bath_length_mm),
        )
        for run in shop.departures
    )
    return (solver.Lorry(LORRY, runs),)


def people_of(shop: Shop) -> tuple[solver.Person, ...]:
    """Who has skills, and when each is there."""
    return tuple(
        solver.Person(hand.code, hand.skills, tuple((one.start, one.end) for one in hand.windows))
        for hand in shop.crew.hands
        if hand.skills
    )


def jigs_of(shop: Shop) -> tuple[solver.Jig, ...]:
    """The jigs, with what is away for repair."""
    return tuple(
        solver.Jig(jig.code, jig.units, tuple(solver.Stand(*stand) for stand in jig.out))
        for jig in shop.crew.jigs
    )


def ask(
    floor: Floor,
    needs: Needs,
    net: NetPlan,
    batches: Sequence[Batch],
    later: Mapping[int, float],
    shop: Shop,
    words: Mapping[str, str],
    frozen: Mapping[str, int] | None = None,
) -> Question:
    """Put the question. `later` is, by order, the laser minutes of parts that are not in a batch yet; `words` says
    by the reference of a receipt or planned supply what comes with it; `frozen` are starts of the released plan
    that are to stay, where what they come after stays too."""
    return _Asking(floor, needs, net, batches, later, shop, words, frozen or {}).question()


class _Asking:
    def __init__(
        self,
        floor: Floor,
        needs: Needs,
        net: NetPlan,
        batches: Sequence[Batch],
        later: Mapping[int, float],
        shop: Shop,
        words: Mapping[str, str],
        frozen: Mapping[str, int],
    ) -> None:
        self.floor, self.needs, self.net, self.shop = floor, needs, net, shop
        self.batches, self.later, self.words, self.frozen = batches, later, words, frozen
        self.centres = {centre.process: centre for centre in reversed(shop.centres)}
        self.operations: list[solver.Operation] = []
        self.own: dict[str, tuple[int, str]] = {}
        self.cut_in: dict[int, list[str]] = defaultdict(list)
        self.parts_day: dict[int, int] = {}
        self.stays_until: dict[str, int] = {}

    def question(self) -> Question:
        laid = {f"batch {index}": index for index in range(len(self.batches))}
        begun = {one.batch.number: one.batch.pk for one in self.floor.begun_batches}
        self._begun_batches()
        self._new_batches()
        for job in self.floor.jobs:
            self._job(job)
        jobs = tuple(
            solver.Job(job.order.number, self._due(job.order.due_on), job.order.weight)
            for job in self.floor.jobs
        )
        work = solver.Work(
            jobs,
            tuple(self.operations),
            tuple(self._work_centres()),
            lorries_of(self.shop),
            self._ovens(),
            jigs_of(self.shop),
            people_of(self.shop),
        )
        return Question(work, self.own, laid, begun, self.parts_day)

    def _due(self, due_on: date) -> int:
        """The end of the day; lateness from before now cannot be mended and is not counted."""
        return max(0, self.shop.clock.end_of(due_on))

    def _work_centres(self) -> Iterable[solver.WorkCentre]:
        for centre in self.shop.centres:
            if centre.oven is None:
                windows = [(window.start, window.end, window.units) for window in centre.windows]
                yield solver.work_centre_of(centre.code, centre.units, windows)

    def _ovens(self) -> tuple[solver.Oven, ...]:
        return tuple(self._oven(centre) for centre in self.shop.centres if centre.oven is not None)

    def _oven(self, centre: Centre) -> solver.Oven:
        figures = centre.oven
        assert figures is not None
        busy = max((self._minute(batch.ends_at) for batch in self.floor.coating.values()), default=0)
        slots = tuple(
            (start, start + figures.batch_minutes)
            for window in centre.windows
            for start in range(max(window.start, busy), window.end - figures.batch_minutes + 1, SLOT_STEP)
        )
        return solver.Oven(
            centre.code,
            slots,
            figures.frames,
            max(figures.change_to_darker_minutes, figures.change_to_lighter_minutes),
            self._changes(centre),
            next((batch.colour.code for batch in self.floor.coating.values()), ""),
        )

    def _changes(self, centre: Centre) -> dict[tuple[str, str], int]:
        figures = centre.oven
        assert figures is not None
        return {
            (one.code, other.code): figures.change_to_darker_minutes
            if other.lightness < one.lightness
            else figures.change_to_lighter_minutes
            for one in self.floor.colours
            for other in self.floor.colours
            if one.pk != other.pk
        }

    def _minute(self, moment: datetime) -> int:
        return max(0, self.shop.clock.minute(moment))

    def _begun_batches(self) -> None:
        laser = self.centres.get("laser")
        for one in self.floor.begun_batches:
            if laser is None or one.minutes_left <= 0:
                continue
            self.operations.append(
                solver.Operation(
                    one.batch.number,
                    "",
                    laser.code,
                    math.ceil(one.minutes_left),
                    fixed_start=0,
                    skill=self._skill("laser"),
                )
            )
            for order_id in one.order_ids:
                self.cut_in[order_id].append(one.batch.number)

    def _new_batches(self) -> None:
        laser = self.centres.get("laser")
        for index, batch in enumerate(self.batches):
            if laser is None or not batch.sheets:
                continue
            wait = self._steel(batch)
            self.operations.append(
                solver.Operation(
                    f"batch {index}",
                    "",
                    laser.code,
                    max(1, math.ceil(batch.minutes)),
                    earliest_min=wait.minute,
                    waits_for=wait.words,
                    skill=self._skill("laser"),
                )
            )
            for order_id in batch.gathered.order_ids:
                self.cut_in[order_id].append(f"batch {index}")

    def _skill(self, process: str) -> str:
        return self.shop.crew.skill_of.get(process, "")

    def _steel(self, batch: Batch) -> Wait:
        day = batch.gathered.steel_on
        grade, thickness = batch.gathered.metal
        words = f"sheet {grade} {thickness.normalize():f} mm, there {day:%a} {day.day} {day:%b}"
        return self._from(day.toordinal(), words)

    def _from(self, day: int, words: str) -> Wait:
        if day <= self.needs.today:
            return Wait(0, "")
        return Wait(max(0, self.shop.clock.start_of(date.fromordinal(day))), words)

    def _job(self, job: Job) -> None:
        """The chain of one order: laser, saw and fold side by side as far as they may, then one after the other."""
        waits = self._waits(job)
        self.parts_day[job.order.pk] = max(
            (peg.available_day for peg in self._outside(job)), default=self.needs.today
        )
        cut = list(self.cut_in.get(job.order.pk, ()))
        if not job.is_done("laser") and (later := self.later.get(job.order.pk, 0.0)) > 0:
            cut += self._add(job, "laser", later, (), waits.get("laser"))
        sawn = self._plain(job, "saw", (), waits)
        folded = self._plain(job, "fold", cut, waits)
        last = [*cut, *sawn, *folded]
        hold = Wait(0, "")
        for process in ("weld", "galvanise", "powder", "assemble", "inspect"):
            wait = max(hold, waits.get(process, Wait(0, "")), key=lambda one: one.minute)
            if process == "galvanise":
                added, away = self._galvanise(job, last)
            elif process == "powder":
                added, away = self._powder(job, last, wait)
            else:
                added, away = self._plain(job, process, last, {process: wait}), None
            hold = away if away is not None else Wait(0, "") if added else hold
            last = added or last

    def _plain(self, job: Job, process: str, after: Sequence[str], waits: Mapping[str, Wait]) -> list[str]:
        operation = job.operations.get(process)
        if operation is None or job.is_done(process):
            return []
        return self._add(job, process, float(operation.minutes), after, waits.get(process))

    def _add(
        self, job: Job, process: str, minutes: float, after: Sequence[str], wait: Wait | None
    ) -> list[str]:
        centre = self.centres.get(process)
        if centre is None:
            return []
        name = operation_name(job.order.number, process)
        is_begun = job.is_begun(process) and process != "laser"
        operation = job.operations[process]
        if is_begun and operation.began_at is not None:
            spent = centre.minutes_open(operation.began_at, self.shop.clock)
            minutes = max(minutes - spent, minutes * LEAST_LEFT)
        work = max(1, math.ceil(minutes))
        fixed = 0 if is_begun else self._frozen_start(name, centre, work, after, wait)
        self.operations.append(
            solver.Operation(
                name,
                job.order.number,
                centre.code,
                work,
                after=() if is_begun else tuple(after),
                earliest_min=0 if is_begun or wait is None else wait.minute,
                waits_for="" if is_begun or wait is None else wait.words,
                fixed_start=fixed,
                jig=self.shop.crew.jig_of.get(job.order.model_id, "") if process == "weld" else "",
                skill=self._skill(process),
            )
        )
        if is_begun:
            axis = Axis((window.start, window.end) for window in centre.windows)
            self.stays_until[name] = axis.end_at(min(axis.position(0) + work, axis.total))
        self.own[name] = (job.order.pk, process)
        return [name]

    def _frozen_start(
        self, name: str, centre: Centre, minutes: int, after: Sequence[str], wait: Wait | None
    ) -> int | None:
        """Where the released plan has it, if that is to stay and can: all before it stays too and ends in time."""
        start = self.frozen.get(name)
        if start is None or (wait is not None and wait.minute > start):
            return None
        if any(self.stays_until.get(one, NEVER) > start for one in after):
            return None
        axis = Axis((window.start, window.end) for window in centre.windows)
        position = axis.position(start)
        if position + minutes > axis.total:
            return None
        self.stays_until[name] = axis.end_at(position + minutes)
        return start

    def _galvanise(self, job: Job, after: Sequence[str]) -> tuple[list[str], Wait | None]:
        """A run of the lorry, or the wait for the load that is away."""
        if job.is_done("galvanise"):
            return [], None
        load = self.floor.away.get(job.order.pk)
        if load is not None or job.is_begun("galvanise"):
            back = self._minute(load.back_at) if load is not None else 0
            return [], Wait(back, f"load {load.number} back from the galvaniser" if load else "")
        name = operation_name(job.order.number, "galvanise")
        items = {item.pk: item for item in self.needs.items.values()}
        self.operations.append(
            solver.Operation(
                name,
                job.order.number,
                LORRY,
                0,
                after=tuple(after),
                mass_kg=float(job.order.bill.chassis_kg) if job.order.bill else 0.0,
                length_mm=_longest(job, items),
            )
        )
        self.own[name] = (job.order.pk, "galvanise")
        return [name], None

    def _powder(self, job: Job, after: Sequence[str], wait: Wait) -> tuple[list[str], Wait | None]:
        """A batch in the oven, or the wait for the one that is in it."""
        centre = self.centres.get("powder")
        if job.is_done("powder") or job.powder is None or centre is None or centre.oven is None:
            return [], None
        batch = self.floor.coating.get(job.order.pk)
        if batch is not None:
            return [], Wait(self._minute(batch.ends_at), f"powder batch {batch.number}")
        name = operation_name(job.order.number, "powder")
        self.operations.append(
            solver.Operation(
                name,
                job.order.number,
                centre.code,
                centre.oven.batch_minutes,
                after=tuple(after),
                earliest_min=wait.minute,
                waits_for=wait.words,
                colour=job.powder.code,
            )
        )
        self.own[name] = (job.order.pk, "powder")
        return [name], None

    def _outside(self, job: Job) -> Iterable[Peg]:
        return (peg for peg in self.net.pegs_of(job.order.number) if not self.needs.items[peg.item].is_made)

    def _waits(self, job: Job) -> dict[str, Wait]:
        """By process, when the last of what comes from outside for it is there."""
        waits: dict[str, Wait] = {}
        for parent, peg in self.net.stage_waits(job.order.number).items():
            made = job.made.get(self.needs.items[parent].pk) if parent else None
            if made is None:
                continue
            wait = self._from(peg.available_day, self._words(peg))
            if wait.minute > waits.get(made.first, Wait(0, "")).minute:
                waits[made.first] = wait
        return waits

    def _words(self, peg: Peg) -> str:
        item = self.needs.items[peg.item]
        day = date.fromordinal(peg.available_day)
        amount = f"{peg.quantity.normalize():f}" + ("" if item.unit in ("pc", "set") else f" {item.unit}")
        source = self.words.get(f"{peg.kind} {peg.reference}", "")
        return f"{amount} × {item.code} {item.name}, there {day:%a} {day.day} {day:%b}{source}"


def _longest(job: Job, items: Mapping[int, Item]) -> float:
    return max((float(items[item_id].length_mm or 0) for item_id in job.chassis), default=0.0)
