"""What the laser and the saw cut is kept for the orders it was cut for, by the cast of its steel."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal

from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.models import Lot, Posting, Reservation
from production.orders.models import Order

GoodParts = Counter[tuple[int, int]]
"""How many good parts there are by (order, item)."""


def cast_of(lot: Lot | None) -> str:
    """The cast number that the ledger knows; a lot of another kind than cast may carry one too."""
    if lot is None:
        return ""
    return lot.cast or (lot.code if lot.kind == Lot.Kind.CAST else "")


def cast_lots(items: Iterable[int], cast: str) -> dict[int, int]:
    """By item the lot of parts cut from this cast, made where it is the first; none where the cast is unknown."""
    if not cast:
        return {}
    items = list(items)
    known = dict(Lot.objects.filter(item_id__in=items, code=cast).values_list("item_id", "pk"))
    for item_id in items:
        if item_id not in known:
            known[item_id] = Lot.objects.create(
                item_id=item_id, code=cast, kind=Lot.Kind.CAST, cast=cast, received_on=timezone.localdate()
            ).pk
    return known


def keep_parts(good: GoodParts, orders: Mapping[int, Order], by: User) -> None:
    """Keep good parts for their orders."""
    wants = [
        reserving.Want(item_id, purpose_id, Decimal(count))
        for (order_id, item_id), count in sorted(good.items())
        if (purpose_id := orders[order_id].purpose_id) is not None
    ]
    reserving.reserve_many(wants=wants, by=by)


def give_up_parts(
    good: GoodParts, orders: Mapping[int, Order], items: Mapping[int, Item], where: str
) -> None:
    """Give up what the orders keep of these parts.

    Raises:
        ProblemError: an order has used some of them already.
    """
    kept = {
        (row.purpose_id, row.item_id): row.quantity
        for row in Reservation.objects.filter(
            item_id__in=items, purpose_id__in={order.purpose_id for order in orders.values()}
        )
    }
    used = [
        f"{items[item_id].code} of order {orders[order_id].number}"
        for (order_id, item_id), count in sorted(good.items())
        if kept.get((orders[order_id].purpose_id or 0, item_id), 0) < count
    ]
    if used:
        raise ProblemError(
            Problem(
                f"The count cannot be undone: {', '.join(used[:4])} went on to the next station",
                where=where,
                mend="Undo that work first, or count the parts in the stores.",
            )
        )
    for (order_id, item_id), count in good.items():
        purpose = orders[order_id].purpose
        if purpose is not None:
            reserving.release(item=items[item_id], purpose=purpose, quantity=Decimal(count))


def count_key(base: str) -> str:
    """`base` for the first count; what is counted again after an undo gets a key of its own."""
    before = Posting.objects.filter(key__startswith=f"{base}:again-").count()
    before += Posting.objects.filter(key=base).count()
    return f"{base}:again-{before}" if before else base
