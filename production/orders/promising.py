"""Promises: the day we told the customer."""

from datetime import date

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.orders.models import Order


@transaction.atomic
def promise_order(*, order: Order, on: date | None, by: User | None) -> Order:
    """Promise the order for a day, or take the promise back (none). What is kept for it is needed by that day.

    Raises:
        ProblemError: the order is cancelled, done or gone; the day has passed.
    """
    order = Order.objects.select_for_update(of=("self",)).select_related("purpose").get(pk=order.pk)
    if order.state not in (Order.State.DRAFT, *Order.OPEN):
        raise ProblemError(
            Problem(
                f"Order {order.number} is {order.get_state_display()}",
                f"order {order.number}",
                "Only an order that is still to be made can be promised.",
            )
        )
    if on is not None and on < timezone.localdate():
        raise ProblemError(
            Problem(f"{on:%d %b %Y} has passed", f"order {order.number}, promised", "Promise a day to come.")
        )
    order.promised_on = on
    order.save(update_fields=["promised_on"])
    if order.purpose is not None:
        order.purpose.needed_on = order.due_on
        order.purpose.save(update_fields=["needed_on"])
    return order
