"""Issuing by hand for an order, and what comes back from the floor.

Kits are picked at assembly (`production.assembly.kits`). This is for what no kit holds: a further part, one in the
place of a spoilt one.
"""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.drafts import PLACES
from inventory.stock.models import Location, Lot, Movement, Posting, Purpose, Reservation
from inventory.stock.queries import availability, place
from inventory.stock.sums import summed
from inventory.stores import handling
from inventory.stores.handling import carry, refuse_no_reason, refuse_other_kinds

USED = "CONV"
"""Where issued goods go: they become part of a trailer."""

HAND = f"{handling.KEY}:"


@transaction.atomic
def issue_to_order(
    *,
    item: Item,
    quantity: Decimal,
    source: Location,
    purpose: Purpose,
    reason: str,
    by: User | None,
    key: str,
    lot: Lot | None = None,
) -> Posting:
    """Give goods out for an order, to be used at once. What was kept of them for the order is kept no longer.

    Raises:
        ProblemError: the order is closed, no reason, too little lies there, or the rest is kept for other orders
            (named).
    """
    refuse_other_kinds(source)
    refuse_no_reason(reason, "Say what it is for, e.g. in place of a spoilt one.")
    if not purpose.is_open:
        raise ProblemError(
            Problem(f"Order {purpose.code} is closed", "order", "Choose an open order, or scrap the goods.")
        )
    done: Posting | None = Posting.objects.filter(key=key).first()
    if done is not None:
        return done
    reserving.locked_items([item.pk])
    _refuse_kept_for_others(item, quantity, purpose)
    posting = carry(
        item,
        quantity,
        source,
        place(USED),
        lot,
        Posting.Kind.ISSUE,
        by,
        key,
        reason.strip(),
        purpose=purpose,
    )
    reserving.use(item_id=item.pk, purpose=purpose, quantity=quantity.quantize(PLACES))
    return posting


@transaction.atomic
def return_from_order(
    *,
    item: Item,
    quantity: Decimal,
    purpose: Purpose,
    target: Location,
    by: User | None,
    key: str,
    lot: Lot | None = None,
    reason: str = "",
) -> Posting:
    """Goods that were given out by hand for an order and not used go back on a shelf.

    Raises:
        ProblemError: more than was given out by hand for that order, or the target is no shelf.
    """
    refuse_other_kinds(target)
    done: Posting | None = Posting.objects.filter(key=key).first()
    if done is not None:
        return done
    reserving.locked_items([item.pk])
    out = given_out(item, purpose, lot)
    if not 0 < quantity.quantize(PLACES) <= out:
        raise ProblemError(
            Problem(
                f"{out.normalize():f} of {item.code} were given out by hand for order {purpose.code}; "
                f"{quantity.normalize():f} cannot come back",
                "quantity",
                "Count what comes back; a kit's parts are put back on the kit's own page.",
            )
        )
    return carry(
        item,
        quantity,
        place(USED),
        target,
        lot,
        Posting.Kind.RETURN,
        by,
        key,
        reason.strip(),
        purpose=purpose,
    )


def return_to_shelf(
    *,
    item: Item,
    quantity: Decimal,
    source: Location,
    target: Location,
    by: User | None,
    key: str,
    lot: Lot | None = None,
    reason: str = "",
) -> Posting:
    """What lies at work and is not wanted there goes back on a shelf.

    Raises:
        ProblemError: the source is no place of work, the target no shelf, or too little lies there. What lies in
            the kit rack belongs to an order and is put back on its kit's page.
    """
    if source.kind != Location.Kind.WORK or source.code == "KIT":
        raise ProblemError(
            Problem(
                f"{source.code} is no place from which goods simply come back",
                "from",
                "Put a kit's parts back on the kit's page; move what lies on a shelf.",
            )
        )
    if target.kind != Location.Kind.SHELF:
        raise ProblemError(Problem(f"{target.code} is not a shelf", "to", "Choose the shelf it is put on."))
    return carry(item, quantity, source, target, lot, Posting.Kind.RETURN, by, key, reason.strip())


def given_out(item: Item, purpose: Purpose, lot: Lot | None = None) -> Decimal:
    """How much of an item was given out by hand for an order and has not come back. One query."""
    rows = Movement.objects.filter(
        item=item, lot=lot, location__code=USED, posting__purpose=purpose, posting__key__startswith=HAND
    ) | Movement.objects.filter(
        item=item,
        lot=lot,
        location__code=USED,
        posting__reverses__purpose=purpose,
        posting__reverses__key__startswith=HAND,
    )
    total: Decimal | None = rows.order_by().aggregate(total=summed())["total"]
    return total or Decimal(0)


@transaction.atomic
def undo_issue(*, posting: Posting, by: User | None, reason: str) -> Posting:
    """Take an issue for an order back: the goods lie where they lay and, as far as free, are kept for it again."""
    mirror = handling.take_back(posting=posting, by=by, reason=reason)
    if posting.purpose is not None and posting.purpose.is_open:
        for item_id, quantity in mirror.movements.filter(quantity__gt=0).values_list("item_id", "quantity"):
            free = min(quantity, availability([item_id])[item_id].available)
            if free > 0:
                want = reserving.Want(item_id, posting.purpose.pk, free)
                reserving.reserve_many(wants=[want], by=by)
    return mirror


def _refuse_kept_for_others(item: Item, quantity: Decimal, purpose: Purpose) -> None:
    own = Reservation.objects.filter(item=item, purpose=purpose).values_list("quantity", flat=True).first()
    free = availability([item.pk])[item.pk].available + (own or Decimal(0))
    if quantity.is_finite() and quantity > free:
        others = Reservation.objects.filter(item=item).exclude(purpose=purpose).select_related("purpose")
        named = ", ".join(f"{row.purpose.code} ({row.quantity.normalize():f})" for row in others[:4])
        raise ProblemError(
            Problem(
                f"{max(free, Decimal(0)).normalize():f} of {item.code} are free for order {purpose.code} and "
                f"{quantity.normalize():f} were asked for; kept for others: {named or 'nothing'}",
                "quantity",
                "Take what is free, or give it from the other order to this one first.",
            )
        )
