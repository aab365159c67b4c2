"""What the stores pages show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import (
    Case,
    CharField,
    F,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from bom.items.models import Item
from inventory.stock.models import Balance, Location, Lot, Movement, Posting, Reservation
from inventory.stock.queries import ON_HAND_KINDS, OPEN_LINES, STILL_TO_COME, on_hand_balances
from inventory.stock.sums import QUANTITY, less, summed

SHORT = "short"
UNDER_LEVEL = "under level"
ON_THE_SHELF = "on the shelf"
COMING = "coming"
NONE = "none"


@dataclass(frozen=True)
class Entry:
    """One movement of an item: into or out of a place, and how much was on hand after it.

    `on_hand` counts shelves and racks; movements between outside places do not change it.
    """

    posting: Posting
    place: str
    other_places: str
    quantity: Decimal
    lot: str
    on_hand: Decimal


def stock_list() -> QuerySet[Item]:
    """Items that may lie on a shelf, each with its figures and its condition.

    Added are on_hand, reserved, available, on_order, reorder_level, next_due and condition (one of the words of
    this module). One query; figures are worked out for the rows asked for.
    """
    return (
        Item.objects.filter(is_phantom=False)
        .select_related("colour")
        .annotate(
            on_hand=total_of(on_hand_balances()),
            reserved=total_of(Reservation.objects.all()),
            on_order=to_come_of(),
            next_due=_next_due(),
            reorder_level=Coalesce(F("level__reorder_point"), Value(Decimal(0)), output_field=QUANTITY),
        )
        .annotate(available=less("on_hand", "reserved"))
        .annotate(condition=_condition())
    )


def item_ledger(item: Item, on_hand: Decimal, limit: int = 50) -> list[Entry]:
    """The latest movements of an item at places of the house, latest first, with what was on hand after each.

    Two queries. The figure after each movement is worked back from what is on hand now.
    """
    rows = (
        Movement.objects.filter(item=item, location__kind__in=ON_HAND_KINDS)
        .select_related("posting__by", "posting__purpose", "location", "lot")
        .order_by("-happened_at", "-posting_id", "-pk")[:limit]
    )
    movements = list(rows)
    sides = _sides(item, [movement.posting_id for movement in movements])
    entries = []
    for movement in movements:
        others = [code for code, sign in sides[movement.posting_id] if sign != (movement.quantity > 0)]
        entries.append(
            Entry(
                posting=movement.posting,
                place=movement.location.code,
                other_places=", ".join(dict.fromkeys(others)),
                quantity=movement.quantity,
                lot=movement.lot.code if movement.lot else "",
                on_hand=on_hand,
            )
        )
        on_hand -= movement.quantity
    return entries


def reservations(item: Item) -> list[Reservation]:
    """For what the item is kept, soonest needed first. One query."""
    rows = Reservation.objects.filter(item=item).select_related("purpose")
    return list(rows.order_by(F("purpose__needed_on").asc(nulls_last=True), "purpose__code"))


def held(item: Item) -> Decimal:
    """How much of the item is on hold. One query."""
    rows = Balance.objects.filter(item=item, location__kind=Location.Kind.HOLD)
    total: Decimal | None = rows.aggregate(total=summed())["total"]
    return total or Decimal(0)


def postings() -> QuerySet[Posting]:
    """The ledger, latest event first, with who and what for."""
    return Posting.objects.select_related("by", "purpose", "reversed_by").order_by("-happened_at", "-pk")


def last_counted(item: Item) -> datetime | None:
    """When the item was last counted with a difference."""
    counts = Movement.objects.filter(
        item=item, location__kind=Location.Kind.COUNT, posting__kind=Posting.Kind.COUNT
    )
    return counts.order_by("-happened_at").values_list("happened_at", flat=True).first()


def lots_here(item: Item) -> QuerySet[Lot]:
    """Lots of the item that lie in the house."""
    return Lot.objects.filter(
        item=item, balances__location__kind__in=ON_HAND_KINDS, balances__quantity__gt=0
    ).distinct()


def total_of(rows: QuerySet[Balance] | QuerySet[Reservation], item: str = "pk") -> Coalesce:
    """The sum of these rows for the item that `item` of the outer query names."""
    sums = rows.filter(item=OuterRef(item)).order_by().values("item").annotate(total=summed())
    return Coalesce(Subquery(sums.values("total")), Value(Decimal(0)), output_field=QUANTITY)


def to_come_of(item: str = "pk") -> Coalesce:
    """What is still to come on purchase orders, of the item that `item` of the outer query names."""
    sums = (
        Item.objects.filter(OPEN_LINES, pk=OuterRef(item))
        .order_by()
        .values("pk")
        .annotate(total=summed(STILL_TO_COME))
    )
    return Coalesce(Subquery(sums.values("total")), Value(Decimal(0)), output_field=QUANTITY)


def _sides(item: Item, posting_ids: list[int]) -> dict[int, list[tuple[str, bool]]]:
    """For each posting the places it touched, and whether something came in there."""
    rows = Movement.objects.filter(item=item, posting_id__in=posting_ids).order_by("pk")
    found: dict[int, list[tuple[str, bool]]] = {posting_id: [] for posting_id in posting_ids}
    for posting_id, code, quantity in rows.values_list("posting_id", "location__code", "quantity"):
        found[posting_id].append((code, quantity > 0))
    return found


def _next_due() -> Subquery:
    lines = Item.objects.filter(OPEN_LINES, pk=OuterRef("pk")).order_by().values("pk")
    return Subquery(lines.annotate(due=Min("purchase_lines__due_on")).values("due"))


def _condition() -> Case:
    under = Q(reorder_level__gt=F("available") + F("on_order"))
    return Case(
        When(available__lt=0, then=Value(SHORT)),
        When(under, then=Value(UNDER_LEVEL)),
        When(available__gt=0, then=Value(ON_THE_SHELF)),
        When(on_order__gt=0, then=Value(COMING)),
        default=Value(NONE),
        output_field=CharField(),
    )
