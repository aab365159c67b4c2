"""Why an order is finished no sooner, as the floor stands now: the chain in words, and drawn to a scale of time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from production.scheduling.board.drafts import Draft
from production.scheduling.board.wording import Namer, when
from production.scheduling.reasons.cure_models import TIGHT_MINUTES
from production.scheduling.solver.job import Schedule, Work
from production.scheduling.solver.why import Cause, CauseKind, why

MOST_LINKS = 24
SHOWN = frozenset(set(CauseKind) - {CauseKind.START, CauseKind.CLOSED, CauseKind.FIXED})


@dataclass(frozen=True)
class Link:
    """One stretch of the chain. `left` and `width` are per cent of the drawing; `other` an order in the way."""

    kind: str
    words: str
    operation: str
    other: str
    starts_at: datetime
    ends_at: datetime
    left: float
    width: float


@dataclass(frozen=True)
class Chain:
    """An order with its chain, the last link first. `slack_minutes` below 0 is late."""

    order: str
    finishes_at: datetime
    slack_minutes: int
    links: tuple[Link, ...]
    due_left: float | None

    @property
    def key(self) -> Link | None:
        """The link that says most: what comes from outside before a lorry, that before a busy station."""
        ranked = ("material", "held", "full", "busy", "stands", "batch", "departure")
        telling = [link for link in self.links if link.kind in ranked]
        return min(telling, key=lambda link: ranked.index(link.kind), default=None)


def late_or_tight(draft: Draft) -> list[str]:
    """Orders that are late or have less than three days to spare, the worst first."""
    due = {job.id: job.due_min for job in draft.work.jobs}
    slack = {job: due[job] - finish for job, finish in draft.after.finish_min.items() if finish}
    return sorted((job for job, left in slack.items() if left < TIGHT_MINUTES), key=lambda job: slack[job])


def raw_chain(work: Work, schedule: Schedule, order: str) -> tuple[Cause, ...]:
    """The chain as the scheduler gives it, the links that say something.

    What waits for no part by name waits only for the present: nothing can begin before now.
    """
    found = why(work, schedule, order)
    told = (one for one in found if one.subject or one.kind != CauseKind.MATERIAL)
    return tuple(one for one in told if one.kind in SHOWN)[:MOST_LINKS]


def chain_of(draft: Draft, namer: Namer, order: str) -> Chain:
    """One order's chain."""
    ends = {row.id: row.end_min for row in draft.after.operations}
    causes = tuple(
        # Work goes on over closed hours: what is shown is when it really ends.
        replace(one, end_min=ends.get(one.operation, one.end_min)) if one.kind == CauseKind.WORK else one
        for one in raw_chain(draft.work, draft.after, order)
    )
    finish = draft.after.finish_min.get(order, 0)
    due = namer.due.get(order, finish)
    first = min([draft.standing.now, *(one.start_min for one in causes)])
    last = max([finish, due, first + 1])
    return Chain(
        order,
        draft.clock.moment(finish),
        due - finish,
        tuple(_links(draft, namer, causes, first, last)),
        _share(due, first, last),
    )


def _links(draft: Draft, namer: Namer, causes: Sequence[Cause], first: int, last: int) -> Iterable[Link]:
    for one in causes:
        other = namer.order_of(one.subject) if one.kind == CauseKind.BUSY else ""
        yield Link(
            one.kind.value,
            words_of(draft, namer, one),
            one.operation,
            other if other != namer.order_of(one.operation) else "",
            draft.clock.moment(one.start_min),
            draft.clock.moment(one.end_min),
            _share(one.start_min, first, last),
            max(0.4, _share(one.end_min, first, last) - _share(one.start_min, first, last)),
        )


def _share(minute: int, first: int, last: int) -> float:
    return round(100 * (min(max(minute, first), last) - first) / (last - first), 3)


def words_of(draft: Draft, namer: Namer, one: Cause) -> str:
    """One link in a sentence."""
    what, place = namer.full(one.operation), namer.places.get(one.work_centre, one.work_centre)
    lead, until = f"{what[0].upper()}{what[1:]}", when(draft, one.end_min)
    if one.kind == CauseKind.WORK:
        return f"{lead}: {when(draft, one.start_min)} to {until}."
    if one.kind == CauseKind.BUSY:
        return f"{lead} waits until {until} at {place}, behind {namer.full(one.subject)}."
    if one.kind == CauseKind.MATERIAL:
        return f"{lead} waits until {until} for {one.subject or 'its material'}."
    if one.kind == CauseKind.FULL:
        return f"{lead}: a lorry before {until} would not have been in time or had no room left."
    if one.kind == CauseKind.DEPARTURE:
        return f"{lead} waits for the lorry of {until}."
    if one.kind == CauseKind.BATCH:
        return f"{lead} waits for the oven batch of {until}."
    if one.kind == CauseKind.HELD:
        return f"{lead} is held until {until}: it was moved there on the board."
    if one.kind == CauseKind.STANDS:
        return f"{lead} waits until {until}: something stands at {place}."
    return f"{lead} waits until {until}."
