"""What a person sets of how an item is handled: its place, bins, inspection, class, substitutes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import Q

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import Location
from inventory.stores.models import CountClass, HandlingRule, Substitute


@dataclass(frozen=True)
class Handling:
    """See `HandlingRule`; `bin_quantity` in the stock unit."""

    home: Location | None = None
    bin_quantity: Decimal = Decimal(0)
    is_inspected: bool = False
    count_class: CountClass | None = None


@dataclass(frozen=True)
class Offer:
    """An item that may be taken instead, and what to mind."""

    instead: Item
    note: str


@transaction.atomic
def set_handling(*, item: Item, handling: Handling, by: User | None) -> HandlingRule:
    """Set how stores handle an item.

    Raises:
        ProblemError: its place is no shelf, a bin is negative, or a thing with serial numbers is kept in bins.
    """
    home = handling.home
    if home is not None and (home.kind != Location.Kind.SHELF or home.is_goods_in):
        raise ProblemError(Problem(f"{home.code} is not a shelf", "own place", "Choose a shelf."))
    if handling.bin_quantity < 0:
        raise ProblemError(Problem("A bin cannot hold less than nothing", "bin", "Write 0 for no bins."))
    if handling.bin_quantity and item.tracking == Item.Tracking.SERIAL:
        raise ProblemError(
            Problem(
                f"{item.code} has serial numbers; pieces in a bin could not be traced",
                "bin",
                "Pick it instead.",
            )
        )
    rule, _ = HandlingRule.objects.update_or_create(
        item=item,
        defaults={
            "home": home,
            "bin_quantity": handling.bin_quantity,
            "is_inspected": handling.is_inspected,
            "count_class": handling.count_class,
        },
    )
    return rule


@transaction.atomic
def add_substitute(*, item: Item, instead: Item, note: str, both_ways: bool, by: User | None) -> Substitute:
    """Say that one item may be taken instead of another. Said again, note and direction are changed.

    Raises:
        ProblemError: the same item, another unit, or nothing to mind is said.
    """
    if item.pk == instead.pk:
        raise ProblemError(Problem(f"{item.code} is no substitute for itself", "instead", "Choose another."))
    if item.unit != instead.unit:
        raise ProblemError(
            Problem(
                f"{item.code} is kept in {item.get_unit_display()}s and {instead.code} in "
                f"{instead.get_unit_display()}s",
                "instead",
                "Choose an item of the same unit; one is taken for one.",
            )
        )
    if not note.strip():
        raise ProblemError(
            Problem("A note is missing", "note", "Say when it may be taken, and what to mind.")
        )
    row, _ = Substitute.objects.update_or_create(
        item=item, instead=instead, defaults={"note": note.strip(), "both_ways": both_ways}
    )
    return row


@transaction.atomic
def remove_substitute(*, substitute: Substitute, by: User | None) -> None:
    """It may no longer be taken; what was taken before stays as it is."""
    substitute.delete()


def substitutes(item_ids: Collection[int]) -> dict[int, list[Offer]]:
    """What may be taken instead of each item, both directions looked at. One query."""
    found: dict[int, list[Offer]] = defaultdict(list)
    rows = Substitute.objects.filter(
        Q(item__in=item_ids) | Q(instead__in=item_ids, both_ways=True)
    ).select_related("item", "instead")
    for row in rows.order_by("pk"):
        if row.item_id in item_ids:
            found[row.item_id].append(Offer(row.instead, row.note))
        if row.both_ways and row.instead_id in item_ids:
            found[row.instead_id].append(Offer(row.item, row.note))
    return dict(found)
