"""Asking for a date, promising one, and how promises made were kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.orders.models import Order
from production.orders.promising import promise_order
from production.scheduling import tasks
from production.scheduling.futures.promise import Point, chance_to_ask, day_for, rank_of
from production.scheduling.promises.promise_models import PromiseRun
from production.works.models import WorksOperation

WANTED = 0.9
MOST_JUDGED = 400


@dataclass(frozen=True)
class Kept:
    """A promise whose order is finished: whether it held, and where the finish lay in what was foreseen."""

    run: PromiseRun
    finished_on: date
    rank: float

    @property
    def held(self) -> bool:
        return self.run.promised_on is not None and self.finished_on <= self.run.promised_on

    @property
    def days_late(self) -> int:
        return max(0, (self.finished_on - (self.run.promised_on or self.finished_on)).days)


@dataclass(frozen=True)
class Record:
    """Promises made with a chance, judged by what happened; `asked` is what a wanted chance now asks of the curve."""

    kept: tuple[Kept, ...]
    open_count: int
    wanted: float
    asked: float

    @property
    def share(self) -> float | None:
        return sum(one.held for one in self.kept) / len(self.kept) if self.kept else None


@transaction.atomic
def ask_date(*, order: Order, by: User | None) -> PromiseRun:
    """Queue an offer for an order. Where one of it waits or works, that one is returned.

    Raises:
        ProblemError: the order is done, gone or cancelled.
    """
    if order.state not in (Order.State.DRAFT, *Order.OPEN):
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()}",
                "order",
                "Only what is still to be made gets a date.",
            )
        )
    running = PromiseRun.objects.filter(order=order).exclude(state=PromiseRun.State.FINISHED).first()
    if running is not None:
        return running
    run = PromiseRun.objects.create(order=order, asked_by=by, step="waiting for the worker")
    transaction.on_commit(partial(tasks.offer_date.delay, run.pk))
    return run


@transaction.atomic
def promise(*, run: PromiseRun, on: date, chance: float, by: User) -> PromiseRun:
    """Promise a day that was offered, and write down with which chance.

    Raises:
        ProblemError: the offer was not worked out, or the day or order cannot be promised.
    """
    if not run.has_succeeded:
        raise ProblemError(Problem("This offer was not worked out", str(run), "Ask for a date again."))
    promise_order(order=run.order, on=on, by=by)
    run.promised_on, run.wanted_chance = on, Decimal(repr(round(chance, 3)))
    run.promised_at, run.promised_by = timezone.now(), by
    run.save(update_fields=["promised_on", "wanted_chance", "promised_at", "promised_by"])
    return run


def curve(run: PromiseRun) -> tuple[Point, ...]:
    """What was foreseen. One query."""
    return tuple(Point(point.on, float(point.share)) for point in run.points.all())


def record(wanted: float = WANTED) -> Record:
    """How promises were kept: those of finished orders, the latest promise of each. Three queries."""
    rows = list(
        PromiseRun.objects.filter(promised_on__isnull=False)
        .select_related("order__customer")
        .prefetch_related("points")
        .order_by("-promised_at")[:MOST_JUDGED]
    )
    latest: dict[int, PromiseRun] = {}
    for row in rows:
        latest.setdefault(row.order_id, row)
    finished = {
        order_id: timezone.localtime(at).date()
        for order_id, at in WorksOperation.objects.filter(
            works_order__order__in=latest, works_order__order__state__in=[Order.State.DONE, Order.State.GONE]
        )
        .order_by()
        .values_list("works_order__order")
        .annotate(last=Max("finished_at"))
        if at is not None
    }
    kept = tuple(
        Kept(run, finished[pk], rank_of(curve(run), finished[pk]))
        for pk, run in latest.items()
        if pk in finished
    )
    return Record(kept, len(latest) - len(kept), wanted, chance_to_ask(wanted, [one.rank for one in kept]))


def offered_day(points: Sequence[Point], wanted: float, known: Record) -> date | None:
    """The day to promise so that it is kept with the wanted chance, by what past promises teach."""
    ranks = [one.rank for one in known.kept]
    return day_for(points, chance_to_ask(wanted, ranks))
