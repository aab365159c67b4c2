"""Approval of purchase orders above a person's limit: asked for by one, given by another.

Nobody approves what he drafted or asked for himself. Any change to the order's lines withdraws both, so that what
was approved is what is released.
"""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.limits import reach_of
from inventory.buying.models import PurchaseOrder
from inventory.buying.ordering import locked, refuse_without_lines, withdraw_approval
from inventory.buying.queries import order_value

DRAFT = PurchaseOrder.State.DRAFT


@transaction.atomic
def ask_approval(*, order: PurchaseOrder, by: User) -> PurchaseOrder:
    """Ask another person to approve a draft. Asking again while it waits changes nothing.

    Raises:
        ProblemError: it is not a draft, has no lines, or the person may release it without asking.
    """
    found = locked(order, DRAFT, doing="approved")
    refuse_without_lines(found)
    if found.asked_at is not None:
        return found
    value = order_value(found).value
    if reach_of(by).may_release(value):
        raise ProblemError(
            Problem(
                f"{value} is within your own limit", found.number, "Release it; nobody needs to approve it."
            )
        )
    found.asked_by, found.asked_at = by, timezone.now()
    found.save(update_fields=["asked_by", "asked_at"])
    return found


@transaction.atomic
def approve(*, order: PurchaseOrder, by: User) -> PurchaseOrder:
    """Approve what another person has asked for, at the value it has now.

    Raises:
        ProblemError: nobody has asked, somebody has approved it already, it is the person's own, he has not the
            right, or the value is above what he may approve.
    """
    found = locked(order, DRAFT, doing="approved")
    value = order_value(found).value
    if found.asked_at is None:
        raise ProblemError(
            Problem("Nobody has asked for an approval", found.number, "Ask for it, or release the order.")
        )
    if found.approved_at is not None:
        raise ProblemError(
            Problem(
                f"{found.approved_by} has approved it already", found.number, "Release it to the supplier."
            )
        )
    if by.pk in (found.asked_by_id, found.made_by_id):
        raise ProblemError(
            Problem(
                "Nobody approves an order that he drafted or asked for himself",
                found.number,
                "Another person with the right has to look at it.",
            )
        )
    if not reach_of(by).may_approve_value(value):
        raise ProblemError(
            Problem(
                f"{value} is above what you may approve", found.number, "Ask a person with a higher limit."
            )
        )
    found.approved_by, found.approved_at, found.approved_value = by, timezone.now(), value
    found.save(update_fields=["approved_by", "approved_at", "approved_value"])
    return found


@transaction.atomic
def decline(*, order: PurchaseOrder, by: User) -> PurchaseOrder:
    """Give a draft back without approval, or take an approval back before it was released.

    Raises:
        ProblemError: nobody has asked, or it is released already.
    """
    found = locked(order, DRAFT, doing="given back")
    if found.asked_at is None:
        raise ProblemError(
            Problem("Nobody has asked for an approval", found.number, "Nothing is to be done.")
        )
    withdraw_approval(found)
    return found
