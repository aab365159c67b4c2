"""Why an order is finished no sooner, in plain words: the scheduler's chain of reasons, said to the manager.

The chain follows the order back from its finish. Where another order had the station, it says which, what the order
itself would have waited for anyhow, and what it all goes back to.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from itertools import islice

from production.scheduling.asked.question import LORRY, Question
from production.scheduling.asked.reading import Floor
from production.scheduling.making.timetable import Cause
from production.scheduling.solver.job import ScheduledOperation, Solution
from production.scheduling.solver.why import HELD_BY_WORK, CauseKind, why
from production.scheduling.solver.why import Cause as Link
from production.shop.calendars import Shop

MOST_LINKS = 8
DONE: Mapping[str, str] = {
    "laser": "cut",
    "saw": "sawn",
    "fold": "folded",
    "weld": "welded",
    "galvanise": "galvanised",
    "powder": "powder coated",
    "assemble": "assembled",
    "inspect": "inspected",
}
DOING: Mapping[str, str] = {
    "laser": "The laser",
    "saw": "Sawing",
    "fold": "Folding",
    "weld": "Welding",
    "powder": "Powder coating",
    "assemble": "Assembly",
    "inspect": "Inspection",
}


def causes_of(
    question: Question, solution: Solution, floor: Floor, shop: Shop, batch_names: Mapping[str, str]
) -> dict[int, tuple[Cause, ...]]:
    """By order id, the chain of every order that is late, the finish first.

    `batch_names` gives the name on the floor of each operation that is a cut batch.
    """
    teller = _Teller(question, solution, floor, shop, batch_names)
    found = {}
    for job in floor.jobs:
        finish = solution.schedule.finish_min.get(job.order.number, 0)
        if shop.clock.day_of(finish) > job.order.due_on:
            due = max(0, shop.clock.end_of(job.order.due_on))
            found[job.order.pk] = tuple(islice(teller.tell(job.order.number, due), MOST_LINKS))
    return found


class _Teller:
    def __init__(
        self,
        question: Question,
        solution: Solution,
        floor: Floor,
        shop: Shop,
        batch_names: Mapping[str, str],
    ) -> None:
        self.question, self.shop, self.batch_names = question, shop, batch_names
        self.schedule = solution.schedule
        self.asked = {one.id: one for one in question.work.operations}
        self.placed = {row.id: row for row in solution.schedule.operations}
        self.due = {job.order.pk: job.order.due_on for job in floor.jobs}
        self.places = {centre.code: centre.name for centre in shop.centres}
        self.on_run: dict[int, list[ScheduledOperation]] = defaultdict(list)
        for row in solution.schedule.operations:
            if row.work_centre == LORRY:
                self.on_run[row.unit].append(row)

    def tell(self, number: str, due: int) -> Iterable[Cause]:
        """The links of one order in words."""
        links = why(self.question.work, self.schedule, number)
        for index, link in enumerate(links):
            if link.kind in HELD_BY_WORK:
                yield self._busy(link)
                yield from self._anyhow(number, due)
                yield from self._root(self._order_of(link.subject), links[index + 1 :])
                return
            words = self._words(link, is_first=index == 0 or not _worked(links[:index]))
            if words:
                yield Cause(link.kind.value, words)

    def _words(self, link: Link, *, is_first: bool) -> str:
        if link.kind == CauseKind.WORK:
            return self._worked(link, is_first)
        place = self.places.get(link.work_centre, link.work_centre)
        return {
            CauseKind.FULL: self._full(link),
            CauseKind.BATCH: f"It waits for the oven batch of {self._when(link.end_min)}.",
            CauseKind.MATERIAL: f"{self._doing(link.operation)} waits for {link.subject or 'its material'}.",
            CauseKind.AWAY: f"Nobody who can do it is there until {self._when(link.end_min)}.",
            CauseKind.STANDS: f"At {place} something stands until {self._when(link.end_min)}.",
            CauseKind.HELD: f"{self._doing(link.operation)} is held at {self._when(link.end_min)}.",
            CauseKind.FIXED: "That is begun, or was not to be moved.",
            CauseKind.START: f"Nothing of it could begin before {self._when(link.end_min)}.",
        }.get(link.kind, "")

    def _worked(self, link: Link, is_first: bool) -> str:
        row = self.placed[link.operation]
        batch = self.batch_names.get(link.operation)
        if is_first:
            return f"It is {self._done(link.operation)} {_day(self._moment(row.end_min))}."
        if batch is not None:
            return f"Before that its parts are cut in batch {batch}, until {self._when(row.end_min)}."
        if row.work_centre == LORRY:
            run = self.shop.departures[row.unit]
            return f"It goes with the lorry of {_day(run.leaves_at)}, back {_day(run.back_at)}."
        return f"Before that it is {self._done(link.operation)} {self._when(row.end_min)}."

    def _full(self, link: Link) -> str:
        """Why the run before could not take it."""
        runs = self.question.work.lorries[0].departures
        missed = [index for index, run in enumerate(runs) if link.start_min <= run.leaves_min < link.end_min]
        if link.kind != CauseKind.FULL or not missed:
            return ""
        kg = sum(self.asked[row.id].mass_kg for row in self.on_run[missed[0]])
        leaves = _day(self.shop.departures[missed[0]].leaves_at)
        if kg + self.asked[link.operation].mass_kg > runs[missed[0]].max_kg:
            return f"The lorry of {leaves} is full with {kg:.0f} of {runs[missed[0]].max_kg:.0f} kg."
        return f"The lorry of {leaves} would not have made it sooner."

    def _busy(self, link: Link) -> Cause:
        place = self.places.get(link.work_centre, link.work_centre)
        until = self._when(link.end_min)
        words = {
            CauseKind.JIG: f"Its jig is in use until {until}",
            CauseKind.PEOPLE: f"Whoever can do it is at other work until {until}",
        }.get(link.kind, f"No time at {place} until {until}")
        order_id = self._order_of(link.subject)
        if order_id is None:
            batch = self.batch_names.get(link.subject, link.subject)
            return Cause(link.kind.value, f"{words}, because of cut batch {batch}.")
        due = self.due[order_id]
        return Cause(link.kind.value, f"{words}, because of an order due {_date(due)}:", order_id)

    def _anyhow(self, number: str, due: int) -> Iterable[Cause]:
        """A part of its own that alone would make the order late."""
        own = [one for one in self.question.work.operations if one.job == number and one.waits_for]
        last = max(own, key=lambda one: one.earliest_min, default=None)
        if last is not None and last.earliest_min + last.minutes > due:
            words = f"{self._doing(last.id)} would wait anyhow for {last.waits_for}."
            yield Cause(CauseKind.MATERIAL.value, words)

    def _root(self, blocker: int | None, links: Sequence[Link]) -> Iterable[Cause]:
        """What the order that had the station was late for itself, if that is something from outside."""
        last = links[-1] if links else None
        if last is None or last.kind != CauseKind.MATERIAL or blocker is None:
            return
        if self._order_of(last.operation) == blocker:
            doing = self._doing(last.operation)
            words = f"There {doing[0].lower()}{doing[1:]} waits for {last.subject}."
            yield Cause(last.kind.value, words)

    def _order_of(self, name: str) -> int | None:
        return self.question.own.get(name, (None, ""))[0]

    def _done(self, name: str) -> str:
        process = self.question.own.get(name, (0, ""))[1]
        return DONE.get(process, process)

    def _doing(self, name: str) -> str:
        if name in self.batch_names:
            return f"Batch {self.batch_names[name]}"
        return DOING.get(self.question.own.get(name, (0, ""))[1], "It")

    def _moment(self, minute: int) -> datetime:
        return self.shop.clock.moment(minute)

    def _when(self, minute: int) -> str:
        moment = self._moment(minute)
        return f"{_day(moment)} {moment:%H:%M}"


def _worked(links: Iterable[Link]) -> bool:
    return any(link.kind == CauseKind.WORK for link in links)


def _day(moment: datetime) -> str:
    return _date(moment.date())


def _date(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
