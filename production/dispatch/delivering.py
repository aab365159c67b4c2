"""Delivery runs: planned for a day from the trailers at the gate, changed by hand, sent off, received.

A run's trailers leave together: what keeps one of them at the gate keeps the lorry. Planning a day again gives up its
runs that have not left and shares everything out anew.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.dispatch import runs
from production.dispatch.distances import the_works, written_ways
from production.dispatch.leaving import send_off, what_holds
from production.dispatch.models import Delivery, DeliveryPlace, DeliveryRun, Lorry
from production.orders.models import NumberSeries, Order

MOST_TRAILERS = 40
_SERIES = "runs"
State = DeliveryRun.State


@transaction.atomic
def plan_day(
    *, day: date, orders: Collection[Order], lorries: Collection[Lorry], by: User
) -> list[DeliveryRun]:
    """Share these trailers out among these lorries, each going once. Runs of the day that have not left give way.

    Raises:
        ProblemError: no trailers or lorries, too little room, a customer without a place, a way that nobody wrote
            down, a trailer that has gone or is on a run of another day.
    """
    orders, lorries = sorted(orders, key=lambda one: one.number), sorted(lorries, key=lambda one: one.pk)
    where = f"runs of {day:%a} {day.day} {day:%b}"
    NumberSeries.objects.select_for_update().get_or_create(code=_SERIES)
    for run in DeliveryRun.objects.filter(day=day, state=State.PLANNED):
        _give_up(run)
    lorries = [one for one in lorries if not _is_out(one, day)]
    if problems := [*_no_room(orders, lorries, where), *_elsewhere(orders)]:
        raise ProblemError(*problems)
    places = places_of(orders)
    works, ways = the_works(), written_ways()
    if problems := _no_way(orders, places, works, ways):
        raise ProblemError(*problems)
    names, room = [places[one.pk].name for one in orders], [one.trailers for one in lorries]
    found = runs.plan(names, room, works.name, ways)
    if wrong := runs.faults(found, names, room, works.name, ways):
        raise ProblemError(
            *(Problem(f"The plan of runs is wrong: {one}", where, "Tell the office.") for one in wrong)
        )
    return [_write(round_, found.is_shortest, day, orders, lorries, places, by) for round_ in found.rounds]


@transaction.atomic
def move(*, delivery: Delivery, to: int) -> DeliveryRun:
    """Hand this trailer over as the `to`-th of its run; the others keep their order. It is then no plan's any more.

    Raises:
        ProblemError: the run has left, or has no such place.
    """
    run = _planned(delivery.run_id)
    rest = [one for one in run.deliveries.order_by("sequence") if one.pk != delivery.pk]
    if not 1 <= to <= len(rest) + 1:
        raise ProblemError(
            Problem(
                f"There is no place {to} on run {run.number}",
                f"run {run.number}",
                f"Say 1 to {len(rest) + 1}.",
            )
        )
    rest.insert(to - 1, run.deliveries.get(pk=delivery.pk))
    _number(rest)
    run.is_shortest = False
    run.save(update_fields=["is_shortest"])
    return run


@transaction.atomic
def leave_out(*, delivery: Delivery) -> DeliveryRun:
    """Take a trailer off its run; it stays at the gate. A run without any is given up.

    Raises:
        ProblemError: the run has left.
    """
    run = _planned(delivery.run_id)
    Delivery.objects.filter(pk=delivery.pk).delete()
    _number(list(run.deliveries.order_by("sequence")))
    if not run.deliveries.exists():
        _give_up(run)
    return run


@transaction.atomic
def give_up(*, run: DeliveryRun) -> DeliveryRun:
    """The lorry does not go; its trailers are free for another run. Repeating changes nothing.

    Raises:
        ProblemError: the run has left.
    """
    run = _locked(run.pk)
    if run.state == State.CANCELLED:
        return run
    run = _planned(run.pk)
    _give_up(run)
    return run


@transaction.atomic
def lorry_leaves(*, run: DeliveryRun, by: User) -> DeliveryRun:
    """The lorry has left: every trailer on it has gone, and its record is sealed. Repeating changes nothing.

    Raises:
        ProblemError: something keeps one of its trailers at the gate; everything is named.
    """
    run = _locked(run.pk)
    if run.state == State.GONE:
        return run
    run = _planned(run.pk)
    trailers = list(run.deliveries.select_related("order__model", "order__purpose").order_by("sequence"))
    if problems := [
        one for row in trailers if row.order.state != Order.State.GONE for one in what_holds(row.order)
    ]:
        raise ProblemError(*problems)
    for row in trailers:
        send_off(order=row.order, by=by)
    run.state, run.left_by, run.left_at = State.GONE, by, timezone.now()
    run.save(update_fields=["state", "left_by", "left_at"])
    return run


@transaction.atomic
def receive(*, delivery: Delivery, name: str) -> Delivery:
    """Who took the trailer. The name that stands there stays.

    Raises:
        ProblemError: no name, or the lorry has not left.
    """
    run = _locked(delivery.run_id)
    delivery = run.deliveries.select_related("order").get(pk=delivery.pk)
    if delivery.received_at is not None:
        return delivery
    where = f"order {delivery.order.number}, run {run.number}"
    if run.state != State.GONE:
        raise ProblemError(Problem("The lorry has not left", where, "Say that it has left first."))
    if not name.strip():
        raise ProblemError(Problem("No name was given", where, "Write who took the trailer."))
    delivery.received_by, delivery.received_at = name.strip()[:120], timezone.now()
    delivery.save(update_fields=["received_by", "received_at"])
    return delivery


def places_of(orders: Collection[Order]) -> dict[int, DeliveryPlace]:
    """The place each trailer is taken to, by order id; none for a customer whose place nobody wrote down. One query."""
    rows = {one.name.casefold(): one for one in DeliveryPlace.objects.all()}
    found = {one.pk: rows.get(one.customer.place.strip().casefold()) for one in orders}
    return {pk: place for pk, place in found.items() if place is not None}


def _write(
    round_: runs.Round,
    is_shortest: bool,
    day: date,
    orders: Sequence[Order],
    lorries: Sequence[Lorry],
    places: Mapping[int, DeliveryPlace],
    by: User,
) -> DeliveryRun:
    series = NumberSeries.objects.get(code=_SERIES)
    series.last += 1
    series.save(update_fields=["last"])
    run = DeliveryRun.objects.create(
        number=f"DR-{series.last:04d}", day=day, lorry=lorries[round_.lorry], is_shortest=is_shortest, by=by
    )
    Delivery.objects.bulk_create(
        Delivery(run=run, order=orders[one], place=places[orders[one].pk], sequence=at)
        for at, one in enumerate(round_.trailers, 1)
    )
    return run


def _locked(pk: int) -> DeliveryRun:
    run: DeliveryRun = DeliveryRun.objects.select_for_update(of=("self",)).select_related("lorry").get(pk=pk)
    return run


def _planned(pk: int) -> DeliveryRun:
    run = _locked(pk)
    if run.state != State.PLANNED:
        raise ProblemError(
            Problem(
                f"Run {run.number} is {run.get_state_display()}", f"run {run.number}", "It stays as it is."
            )
        )
    return run


def _give_up(run: DeliveryRun) -> None:
    run.deliveries.all().delete()
    run.state = State.CANCELLED
    run.save(update_fields=["state"])


def _number(rows: Sequence[Delivery]) -> None:
    for at, row in enumerate(rows, 1):
        row.sequence = at
    Delivery.objects.bulk_update(rows, ["sequence"])


def _is_out(lorry: Lorry, day: date) -> bool:
    return DeliveryRun.objects.filter(lorry=lorry, day=day, state=State.GONE).exists()


def _no_room(orders: Sequence[Order], lorries: Sequence[Lorry], where: str) -> list[Problem]:
    if not orders:
        return [Problem("No trailer was chosen", where, "Tick those that are to be delivered.")]
    room = sum(one.trailers for one in lorries)
    if len(orders) > min(room, MOST_TRAILERS):
        mend = "Leave some for another day, or take another lorry."
        return [
            Problem(
                f"{len(orders)} trailers, but room for {min(room, MOST_TRAILERS)} on that day", where, mend
            )
        ]
    return []


def _elsewhere(orders: Sequence[Order]) -> list[Problem]:
    taken = Delivery.objects.filter(order__in=orders).select_related("run", "order")
    problems = [
        Problem(
            f"It is on run {one.run.number} already",
            f"order {one.order.number}",
            "Take it off there first.",
        )
        for one in taken
    ]
    problems += [
        Problem(f"It is {one.get_state_display()}", f"order {one.number}", "Leave it out.")
        for one in orders
        if one.state not in (Order.State.DONE, Order.State.BEGUN, Order.State.RELEASED)
    ]
    return problems


def _no_way(
    orders: Sequence[Order], places: Mapping[int, DeliveryPlace], works: DeliveryPlace, ways: runs.Ways
) -> list[Problem]:
    problems = [
        Problem(
            f"“{one.customer.place}” is no place with distances"
            if one.customer.place
            else "Its customer has no place",
            f"order {one.number}, {one.customer.name}",
            "Write the place and its distances down on the page of distances.",
        )
        for one in orders
        if one.pk not in places
    ]
    names = {place.name for place in places.values()} | {works.name}
    problems += [
        Problem(f"No way is known from {one} to {other}", "distances", "Write down how far it is.")
        for one, other in runs.lacking(ways, names)
    ]
    return problems


def may_go(day: date) -> QuerySet[Order]:
    """Trailers on no run that stand at the gate, or that the released plan has finished by the end of this day."""
    is_finished = Q(
        forecasts__plan__is_current=True,
        forecasts__finishes_at__date__lte=day,
        state__in=[Order.State.BEGUN, Order.State.RELEASED],
    )
    return (
        Order.objects.filter(Q(state=Order.State.DONE) | is_finished, delivery__isnull=True)
        .select_related("customer", "model", "hull")
        .distinct()
        .order_by("state", "customer__place", "number")
    )
