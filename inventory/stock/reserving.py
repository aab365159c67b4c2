"""Keeping stock for a purpose. The only writer of reservations.

A reservation says how much of an item is kept, not which box: any box of it will do. Two people cannot keep the
same last box, because the item's row is locked while it is worked out what is still free.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.drafts import PLACES
from inventory.stock.models import Balance, Purpose, Reservation
from inventory.stock.queries import availability, on_hand_balances


@dataclass(frozen=True)
class Want:
    """So much of an item (in its stock unit) to be kept for a purpose."""

    item_id: int
    purpose_id: int
    quantity: Decimal


def reserve(*, item: Item, purpose: Purpose, quantity: Decimal, by: User | None) -> Reservation:
    """Keep `quantity` more of the item for the purpose.

    Raises:
        ProblemError: the quantity is not above zero, or more than is available.
    """
    return reserve_many(wants=[Want(item.pk, purpose.pk, quantity)], by=by)[0]


def reserve_many(*, wants: Sequence[Want], by: User | None) -> list[Reservation]:
    """Keep all of this, or nothing with every shortage said. One reservation for each item and purpose."""
    sums = _together(wants)
    if not sums:
        return []
    with transaction.atomic():
        items = locked_items({item_id for item_id, _ in sums})
        _refuse_above_available(sums, items)
        kept = _kept(sums)
        new = [
            Reservation(item_id=item_id, purpose_id=purpose_id, quantity=quantity, made_by=by)
            for (item_id, purpose_id), quantity in sums.items()
            if (item_id, purpose_id) not in kept
        ]
        for key, reservation in kept.items():
            reservation.quantity += sums[key]
        Reservation.objects.bulk_update(kept.values(), ["quantity"])
        made = Reservation.objects.bulk_create(new)
    every = kept | {(row.item_id, row.purpose_id): row for row in made}
    return [every[key] for key in sums]


def release(*, item: Item, purpose: Purpose, quantity: Decimal | None = None) -> Decimal:
    """Let go of so much, or of all that is kept of the item for the purpose. Returns how much was let go.

    Raises:
        ProblemError: the quantity is not above zero, or more than is kept.
    """
    with transaction.atomic():
        locked_items({item.pk})
        kept = Reservation.objects.filter(item=item, purpose=purpose).first()
        have = kept.quantity if kept else Decimal(0)
        if quantity is None:
            quantity = have
        elif not 0 < quantity <= have:
            raise ProblemError(
                Problem(
                    f"{have.normalize():f} of {item.code} are kept for {purpose.code}; "
                    f"{quantity.normalize():f} cannot be let go",
                    "",
                    "Write a quantity above zero and not above what is kept.",
                )
            )
        _lower({item.pk: quantity}, purpose)
        return quantity


def release_all(*, purpose: Purpose) -> int:
    """Let go of everything kept for the purpose. Returns of how many items."""
    with transaction.atomic():
        locked_items(Reservation.objects.filter(purpose=purpose).values_list("item_id", flat=True))
        count, _ = Reservation.objects.filter(purpose=purpose).delete()
        return count


def use(*, item_id: int, purpose: Purpose, quantity: Decimal) -> None:
    """Lower what is kept of an item after it was issued for its purpose; down to nothing, never an error."""
    use_many(used={item_id: quantity}, purpose=purpose)


def use_many(*, used: Mapping[int, Decimal], purpose: Purpose) -> None:
    """`use` for many items of one purpose, by item."""
    with transaction.atomic():
        locked_items(used)
        _lower(used, purpose)


def _lower(used: Mapping[int, Decimal], purpose: Purpose) -> None:
    rows = list(Reservation.objects.filter(purpose=purpose, item_id__in=used))
    for row in rows:
        row.quantity -= max(Decimal(0), used[row.item_id])
    Reservation.objects.filter(pk__in=[row.pk for row in rows if row.quantity <= 0]).delete()
    Reservation.objects.bulk_update([row for row in rows if row.quantity > 0], ["quantity"])


def _together(wants: Sequence[Want]) -> dict[tuple[int, int], Decimal]:
    sums: dict[tuple[int, int], Decimal] = defaultdict(Decimal)
    for want in wants:
        quantity = want.quantity.quantize(PLACES)
        if quantity <= 0:
            raise ProblemError(
                Problem(
                    f"{want.quantity} cannot be kept", "", "Write a quantity above zero, at least 0.0001."
                )
            )
        sums[want.item_id, want.purpose_id] += quantity
    return dict(sums)


def locked_items(item_ids: Iterable[int]) -> dict[int, Item]:
    """Items locked in one order. The weaker lock leaves others free to write rows that only point to the item."""
    rows = Item.objects.select_for_update(no_key=True).filter(pk__in=set(item_ids)).order_by("pk")
    return {item.pk: item for item in rows}


def _refuse_above_available(sums: Mapping[tuple[int, int], Decimal], items: Mapping[int, Item]) -> None:
    wanted: dict[int, Decimal] = defaultdict(Decimal)
    for (item_id, _), quantity in sums.items():
        wanted[item_id] += quantity
    # The ledger may be taking the same goods just now: wait for it.
    rows: list[Balance] = list(
        on_hand_balances()
        .select_for_update(of=("self",))
        .filter(item_id__in=wanted)
        .order_by("item_id", "location_id", "lot_id")
    )
    free = availability({row.item_id for row in rows} | set(wanted))
    problems = [
        Problem(
            f"{max(Decimal(0), free[item_id].available).normalize():f} of {items[item_id].code} are free and "
            f"{quantity.normalize():f} were asked for",
            "",
            "Buy or make more, or let go of what is kept for another order.",
        )
        for item_id, quantity in wanted.items()
        if quantity > free[item_id].available
    ]
    if problems:
        raise ProblemError(*problems)


def _kept(sums: Mapping[tuple[int, int], Decimal]) -> dict[tuple[int, int], Reservation]:
    rows = Reservation.objects.filter(
        item_id__in={item_id for item_id, _ in sums}, purpose_id__in={purpose_id for _, purpose_id in sums}
    )
    return {(row.item_id, row.purpose_id): row for row in rows if (row.item_id, row.purpose_id) in sums}
