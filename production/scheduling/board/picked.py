"""One operation picked on the board, with its order's thread through the stations."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from production.orders.models import Order
from production.scheduling.asked.held_models import HeldOperation
from production.scheduling.board.drafts import Draft
from production.scheduling.board.wording import Namer


@dataclass(frozen=True)
class Knot:
    """One operation on the thread. `kind` is done, now or empty for what is to come."""

    operation: str
    name: str
    kind: str
    starts_at: datetime | None
    ends_at: datetime | None
    is_picked: bool


@dataclass(frozen=True)
class Picked:
    """What the desk beside the board says of the picked operation."""

    operation: str
    words: str
    order: Order | None
    starts_at: datetime
    ends_at: datetime
    minutes: int
    can_move: bool
    waits_for: str
    due_on: date | None
    finishes_at: datetime | None
    days_late: int
    thread: tuple[Knot, ...]
    others: tuple[Order, ...]
    hold: HeldOperation | None


def picked_of(draft: Draft, namer: Namer, name: str) -> Picked | None:
    """The picked operation; none where the work as it stands does not hold it. No query."""
    one = next((one for one in draft.work.operations if one.id == name), None)
    row = next((row for row in draft.after.operations if row.id == name), None)
    if one is None or row is None:
        return None
    number = namer.order_of(name)
    clock = draft.clock
    finish = namer.finish(number)
    served = {namer.order_of(other.id) for other in draft.work.operations if name in other.after}
    return Picked(
        name,
        namer.full(name),
        draft.standing.orders.get(number),
        clock.moment(row.start_min),
        clock.moment(row.end_min),
        one.minutes,
        one.fixed_start is None,
        one.waits_for if one.earliest_min > draft.standing.now else "",
        namer.due_on(number),
        clock.moment(finish) if finish else None,
        namer.days_late(number),
        thread_of(draft, namer, number, name),
        tuple(draft.standing.orders[number] for number in sorted(served) if number in draft.standing.orders)
        if not number
        else (),
        next((row for row in draft.standing.holds if row.name == name), None),
    )


def thread_of(draft: Draft, namer: Namer, number: str, pick: str = "") -> tuple[Knot, ...]:
    """The order's way: what is done, what is begun, what is planned, in the order of its time."""
    if not number:
        return ()
    clock = draft.clock
    rows = {row.id: row for row in draft.after.operations}
    begun = {one.id for one in draft.work.operations if one.fixed_start is not None}
    own = [name for name, (order_id, _) in namer.own.items() if namer.orders.get(order_id) == number]
    shared = [
        name for one in draft.work.operations if one.job == number for name in one.after if name not in own
    ]
    names = {**dict.fromkeys(shared), **dict.fromkeys(own)}
    knots = [
        Knot(
            name,
            namer.processes.get(
                namer.process_of(name), namer.short(name) if name in shared else namer.process_of(name)
            ),
            "done" if name not in rows else "now" if name in begun else "",
            clock.moment(rows[name].start_min) if name in rows else None,
            clock.moment(rows[name].end_min) if name in rows else draft.standing.done.get(name),
            name == pick,
        )
        for name in names
    ]
    first = datetime.min.replace(tzinfo=clock.zone)
    return tuple(
        sorted(knots, key=lambda knot: (knot.kind != "done", knot.starts_at or knot.ends_at or first))
    )
