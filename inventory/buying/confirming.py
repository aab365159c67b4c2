"""What a supplier confirms, line by line. A changed day or quantity is what planning counts on from then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.models import Confirmation, PurchaseOrder, PurchaseOrderLine
from inventory.buying.ordering import locked
from inventory.stock.drafts import PLACES


@dataclass(frozen=True)
class Promise:
    """So much of what is still to come on a line arrives on a day; `rest_on` is when the rest does, if it does."""

    promised_on: date
    quantity: Decimal
    rest_on: date | None = None
    note: str = ""


@transaction.atomic
def confirm_line(
    *, line: PurchaseOrderLine, promise: Promise, by: User | None, key: str
) -> PurchaseOrderLine:
    """Enter a supplier's promise. A repeat of the key changes nothing.

    Less than is to come: with `rest_on` the rest becomes a line of its own for that day, without it the rest is
    no longer expected. `asked_quantity` and `wanted_on` keep what was ordered.

    Raises:
        ProblemError: the order is not released, nothing is to come, the day has passed, or the quantity is not
            between nothing and what is still to come.
    """
    order = locked(line.order, PurchaseOrder.State.RELEASED, doing="confirmed")
    if Confirmation.objects.filter(key=key).exists():
        return PurchaseOrderLine.objects.get(pk=line.pk)
    found = PurchaseOrderLine.objects.select_related("item").get(pk=line.pk)
    quantity = _acceptable(order, found, promise)
    rest = found.quantity - found.received - quantity
    Confirmation.objects.create(
        line=found,
        key=key,
        promised_on=promise.promised_on,
        quantity=quantity,
        before_on=found.due_on,
        before_quantity=found.quantity - found.received,
        by=by,
        at=timezone.now(),
        note=promise.note.strip(),
    )
    found.due_on = found.confirmed_on = promise.promised_on
    found.quantity = found.received + quantity
    if rest > 0 and promise.rest_on:
        found.asked_quantity = found.quantity
        _add_rest(order, found, rest, promise, by, key)
    found.save(update_fields=["due_on", "confirmed_on", "quantity", "asked_quantity"])
    return found


@transaction.atomic
def confirm_as_ordered(*, order: PurchaseOrder, by: User | None, key: str) -> int:
    """Everything not confirmed yet comes as ordered. Returns how many lines that were."""
    found = locked(order, PurchaseOrder.State.RELEASED, doing="confirmed")
    lines = [
        line
        for line in found.lines.select_related("order", "item")
        if line.confirmed_on is None and not line.is_closed and line.received < line.quantity
    ]
    late = [line for line in lines if line.due_on < timezone.localdate()]
    if late:
        raise ProblemError(
            *(
                Problem(
                    f"Line {line.position} was wanted on a day that has passed",
                    found.number,
                    "Enter the day they name now.",
                )
                for line in late
            )
        )
    for line in lines:
        promise = Promise(line.due_on, line.quantity - line.received)
        confirm_line(line=line, promise=promise, by=by, key=f"{key}:{line.position}")
    return len(lines)


def _add_rest(
    order: PurchaseOrder,
    line: PurchaseOrderLine,
    rest: Decimal,
    promise: Promise,
    by: User | None,
    key: str,
) -> PurchaseOrderLine:
    assert promise.rest_on is not None
    last = order.lines.aggregate(last=Max("position"))["last"] or 0
    added = PurchaseOrderLine.objects.create(
        order=order,
        position=last + 1,
        item=line.item,
        quantity=rest,
        price=line.price,
        due_on=promise.rest_on,
        asked_quantity=rest,
        wanted_on=line.wanted_on,
        confirmed_on=promise.rest_on,
        rest_of=line,
    )
    Confirmation.objects.create(
        line=added,
        key=f"{key}:rest",
        promised_on=promise.rest_on,
        quantity=rest,
        before_on=line.wanted_on or promise.rest_on,
        before_quantity=rest,
        by=by,
        at=timezone.now(),
        note=f"rest of line {line.position}",
    )
    return added


def _acceptable(order: PurchaseOrder, line: PurchaseOrderLine, promise: Promise) -> Decimal:
    where = f"{order.number}, line {line.position}"
    to_come = line.quantity - line.received
    if line.is_closed or to_come <= 0:
        raise ProblemError(Problem("Nothing of this line is still to come", where, "Choose another line."))
    if not promise.quantity.is_finite() or not 0 < promise.quantity.quantize(PLACES) <= to_come:
        raise ProblemError(
            Problem(
                f"{promise.quantity} was confirmed and {to_come.normalize():f} is to come",
                where,
                "Enter more than nothing and no more than is to come; order more on another order.",
            )
        )
    days = [promise.promised_on, *([promise.rest_on] if promise.rest_on else [])]
    if min(days) < timezone.localdate():
        raise ProblemError(
            Problem("A day that has passed cannot be promised", where, "Enter today or a later day.")
        )
    if promise.rest_on and promise.rest_on <= promise.promised_on:
        raise ProblemError(
            Problem("The rest would come before the first part", where, "Enter the earlier day first.")
        )
    return promise.quantity.quantize(PLACES)
