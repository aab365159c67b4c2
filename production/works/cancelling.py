"""Cancelling an order: nothing more is made for it, and what was kept for it is free for others."""

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.models import Purpose
from production.orders.models import Order
from production.works.card_closing import cancel_cards, restore_cards
from production.works.models import WorksOperation, WorksOrder

OPEN = (WorksOperation.State.WAITING, WorksOperation.State.BEGUN)


@transaction.atomic
def cancel_order(*, order: Order, by: User | None, reason: str) -> Order:
    """Cancel an order that has not gone: its work stops, its reservations are let go.

    What was already made for it stays where it lies, free for other orders. A cancelled order is left as it is.

    Raises:
        ProblemError: no reason, or the trailer is done or gone.
    """
    order = _locked(order)
    if order.state == Order.State.CANCELLED:
        return order
    if not reason.strip():
        raise ProblemError(Problem("No reason is given", f"order {order.number}", "Say why it is cancelled."))
    if order.state in (Order.State.DONE, Order.State.GONE):
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()}; there is nothing left to stop",
                f"order {order.number}",
                "Sell the trailer to another customer, or take it back at the gate.",
            )
        )
    order.cancelled_from, order.state, order.cancel_reason = (
        order.state,
        Order.State.CANCELLED,
        reason.strip(),
    )
    order.save(update_fields=["cancelled_from", "state", "cancel_reason"])
    if order.purpose is not None:
        reserving.release_all(purpose=order.purpose)
        _open_purpose(order.purpose, False)
    WorksOrder.objects.filter(order=order).update(state=WorksOrder.State.CANCELLED)
    cancel_cards(WorksOperation.objects.filter(works_order__order=order))
    WorksOperation.objects.filter(works_order__order=order, state__in=OPEN).update(
        state=WorksOperation.State.CANCELLED
    )
    return order


@transaction.atomic
def restore_order(*, order: Order, by: User | None) -> Order:
    """Undo the cancelling, as long as no work had begun. An order that is not cancelled is left as it is.

    A released order comes back as confirmed: the plan that held it may have gone on without it.

    Raises:
        ProblemError: something was already cut or begun for it.
    """
    order = _locked(order)
    if order.state != Order.State.CANCELLED:
        return order
    if order.cancelled_from not in ("", Order.State.DRAFT) and _was_begun(order):
        raise ProblemError(
            Problem(
                f"Work on order {order.number} had begun and its parts are free for others now",
                f"order {order.number}",
                "Write a new order like it.",
            )
        )
    is_draft = order.cancelled_from in ("", Order.State.DRAFT)
    order.state = Order.State.DRAFT if is_draft else Order.State.CONFIRMED
    order.cancelled_from, order.cancel_reason = "", ""
    order.save(update_fields=["state", "cancelled_from", "cancel_reason"])
    if order.purpose is not None:
        _open_purpose(order.purpose, True)
    WorksOrder.objects.filter(order=order).update(state=WorksOrder.State.CONFIRMED)
    WorksOperation.objects.filter(works_order__order=order).update(state=WorksOperation.State.WAITING)
    restore_cards(WorksOperation.objects.filter(works_order__order=order))
    return order


def can_restore(order: Order) -> bool:
    """Whether cancelling may still be undone."""
    return order.state == Order.State.CANCELLED and not _was_begun(order)


def _was_begun(order: Order) -> bool:
    return WorksOperation.objects.filter(works_order__order=order, began_at__isnull=False).exists()


def _locked(order: Order) -> Order:
    WorksOrder.objects.select_for_update().filter(order=order).first()
    return Order.objects.select_for_update(of=("self",)).select_related("purpose").get(pk=order.pk)


def _open_purpose(purpose: Purpose, is_open: bool) -> None:
    purpose.is_open = is_open
    purpose.save(update_fields=["is_open"])
