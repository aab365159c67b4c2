"""Proof that the ledger adds up, worked out from its movements alone."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.db.models import F, Q

from bom.kernel.errors import Problem
from inventory.stock.drafts import Spot
from inventory.stock.models import Balance, Lot, Movement, Posting
from inventory.stock.sums import summed


def audit() -> list[Problem]:
    """Everything in the ledger that does not add up; an empty list is the proof that all does."""
    return [
        *_unbalanced_postings(),
        *_wrong_balances(),
        *_below_floor(),
        *_doubled_serials(),
        *_crooked_mirrors(),
        *_other_moments(),
    ]


def movement_sums() -> dict[Spot, Decimal]:
    """What every balance should be: the sum of the movements of an item at a location, by lot."""
    rows = Movement.objects.order_by().values_list("item_id", "location_id", "lot_id")
    return {(item, place, lot): total for item, place, lot, total in rows.annotate(total=summed())}


def _unbalanced_postings() -> Iterator[Problem]:
    totals = Movement.objects.order_by().values_list("posting__key", "item__code").annotate(total=summed())
    for key, code, total in totals.exclude(total=0):
        yield Problem(
            f"Its movements of {code} add up to {total.normalize():f}", f"posting {key}", "Restore a backup."
        )


def _wrong_balances() -> Iterator[Problem]:
    sums = movement_sums()
    kept = Balance.objects.select_related("item", "location", "lot")
    for balance in kept:
        total = sums.pop((balance.item_id, balance.location_id, balance.lot_id), Decimal(0))
        if balance.quantity != total:
            yield Problem(
                f"The balance of {balance.item.code} at {balance.location.code} says "
                f"{balance.quantity.normalize():f}, its movements {total.normalize():f}",
                "balances",
                "Rebuild the balances.",
            )
    for (item_id, location_id, _), total in sums.items():
        if total:
            yield Problem(
                f"There is no balance of item {item_id} at location {location_id}, its movements say "
                f"{total.normalize():f}",
                "balances",
                "Rebuild the balances.",
            )


def _below_floor() -> Iterator[Problem]:
    low = Balance.objects.filter(quantity__lt=F("location__floor")).select_related("item", "location")
    for balance in low:
        yield Problem(
            f"{balance.location.code} holds {balance.quantity.normalize():f} of {balance.item.code}, under its floor",
            "balances",
            "Count the place.",
        )


def _doubled_serials() -> Iterator[Problem]:
    serials = Balance.objects.filter(lot__kind=Lot.Kind.SERIAL, location__floor__isnull=False)
    for balance in serials.exclude(quantity__in=[0, 1]).select_related("item", "location", "lot"):
        yield Problem(
            f"Serial number {balance.lot} of {balance.item.code} lies at {balance.location.code} "
            f"{balance.quantity.normalize():f} times",
            "balances",
            "Count the place.",
        )


def _crooked_mirrors() -> Iterator[Problem]:
    """Reversed postings whose mirror differs: together they must move nothing."""
    pairs = Movement.objects.filter(
        Q(posting__reverses__isnull=False) | Q(posting__reversed_by__isnull=False)
    )
    left: dict[tuple[int | None, Spot], Decimal] = {}
    for row in pairs.values_list(
        "posting_id", "posting__reverses_id", "item_id", "location_id", "lot_id", "quantity"
    ):
        posting_id, reverses_id, item_id, location_id, lot_id, quantity = row
        place = (reverses_id or posting_id, (item_id, location_id, lot_id))
        left[place] = left.get(place, Decimal(0)) + quantity
    keys = dict(Posting.objects.filter(reversed_by__isnull=False).values_list("pk", "key"))
    for key in sorted({keys.get(pk or 0, "?") for (pk, _), quantity in left.items() if quantity}):
        yield Problem("Its reversal is not its mirror", f"posting {key}", "Restore a backup.")


def _other_moments() -> Iterator[Problem]:
    """Postings whose movements say another moment than they."""
    moved = Movement.objects.order_by().exclude(happened_at=F("posting__happened_at"))
    for key in moved.values_list("posting__key", flat=True).distinct():
        yield Problem("Its movements happened at another moment", f"posting {key}", "Restore a backup.")
