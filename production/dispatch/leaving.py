"""The gate: an inspected trailer with its plate leaves with its customer."""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import ledger, reserving
from inventory.stock.models import Posting
from inventory.stock.queries import place
from production.assembly import fitting
from production.dispatch import inspecting, plating, recording
from production.dispatch.models import Inspection
from production.orders.models import Order
from production.works.models import WorksOperation

ONE = Decimal(1)


@transaction.atomic
def send_off(*, order: Order, by: User) -> Order:
    """The trailer has gone: READY to CUSTOMER, its record is sealed. A second click changes nothing.

    Raises:
        ProblemError: the order is not done, some of its work or checks are not, or it has no plate.
    """
    order = Order.objects.select_for_update(of=("self",)).select_related("purpose", "model").get(pk=order.pk)
    if order.state == Order.State.GONE:
        return order
    if problems := what_holds(order):
        raise ProblemError(*problems)
    lines = [
        ledger.Line(order.model.item_id, place("READY").pk, -ONE),
        ledger.Line(order.model.item_id, place("CUSTOMER").pk, ONE),
    ]
    ledger.post(
        key=f"gate:{order.number}",
        kind=Posting.Kind.DISPATCH,
        lines=lines,
        by=by,
        reason=f"order {order.number} gone",
        purpose=order.purpose,
    )
    recording.seal(order=order, by=by)
    order.state = Order.State.GONE
    order.save(update_fields=["state"])
    if order.purpose is not None:
        reserving.release_all(purpose=order.purpose)
        order.purpose.is_open = False
        order.purpose.save(update_fields=["is_open"])
    return order


def what_holds(order: Order) -> list[Problem]:
    """Everything that keeps this trailer at the gate, in the order in which it is put right."""
    where = f"order {order.number}"
    unfinished = WorksOperation.objects.filter(
        works_order__order=order, state__in=[WorksOperation.State.WAITING, WorksOperation.State.BEGUN]
    ).select_related("process")
    problems = [
        Problem(
            f"{one.process.name.capitalize()} is not done",
            where,
            "Finish it at its station, then let the trailer go.",
        )
        for one in unfinished.order_by("sequence")
    ]
    if not problems and order.state != Order.State.DONE:
        problems.append(
            Problem(
                f"It is {order.get_state_display()}, not done",
                where,
                "Only a trailer that passed inspection leaves; look at the order's page.",
            )
        )
    return problems or [*_unsigned(order), *_without_plate(order), *fitting.missing_numbers(order)]


def _unsigned(order: Order) -> list[Problem]:
    if Inspection.objects.filter(order=order, signed_at__isnull=False).exists():
        return []
    problem = Problem(
        "Nobody has signed its inspection", f"order {order.number}", "Sign it on the inspection's page."
    )
    return [problem, *inspecting.open_problems(order)]


def _without_plate(order: Order) -> list[Problem]:
    if plating.plate_of(order) is not None:
        return []
    if plating.the_maker() is None:
        return [
            Problem(
                "Nobody has written down who the maker is, so it can have no plate",
                f"order {order.number}",
                "Fill in the maker's data at the gate.",
            )
        ]
    return [
        Problem(
            "It has no serial plate", f"order {order.number}", "Give it its number on its page at the gate."
        )
    ]
