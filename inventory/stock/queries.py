"""Questions about stock, answered for many items in a constant number of queries."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Q, QuerySet

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from inventory.stock.models import Balance, Location, Reservation
from inventory.stock.sums import less, summed

ON_HAND_KINDS = (Location.Kind.SHELF, Location.Kind.WORK)
"""Where a thing must lie to count as on hand."""

NOTHING = Decimal(0)

# Purchase lines stand in the room of buying, above this one; they are reached from the item.
OPEN_LINES = Q(
    purchase_lines__order__state="released",
    purchase_lines__is_closed=False,
    purchase_lines__quantity__gt=F("purchase_lines__received"),
)

STILL_TO_COME = F("purchase_lines__quantity") - F("purchase_lines__received")


@dataclass(frozen=True)
class Availability:
    """How much of an item there is, in its stock unit. `available` may be negative: so much is short."""

    on_hand: Decimal = NOTHING
    reserved: Decimal = NOTHING
    on_order: Decimal = NOTHING

    @property
    def available(self) -> Decimal:
        return self.on_hand - self.reserved


@dataclass(frozen=True)
class OpenReceipt:
    """What is still to come on a line of a released purchase order."""

    line_id: int
    item_id: int
    order_number: str
    supplier_id: int
    quantity: Decimal
    due_on: date


@dataclass(frozen=True)
class Stack:
    """So much of an item at one location, of one lot or of none."""

    item_id: int
    location_id: int
    lot_id: int | None
    quantity: Decimal
    location_code: str
    location_kind: str
    lot_code: str


def place(code: str) -> Location:
    """The location with this code.

    Raises:
        ProblemError: there is none.
    """
    found = Location.objects.filter(code=code).first()
    if found is None:
        raise ProblemError(
            Problem(f"There is no location {code}", "locations", "Add it, or choose another location.")
        )
    return found


def places(codes: Collection[str]) -> dict[str, Location]:
    """The locations with these codes, by code. Raises ProblemError naming the missing ones."""
    found = {location.code: location for location in Location.objects.filter(code__in=codes)}
    missing = sorted(set(codes) - set(found))
    if missing:
        raise ProblemError(
            Problem(f"There is no location {', '.join(missing)}", "locations", "Add it, or choose another.")
        )
    return found


def availability(item_ids: Iterable[int] | None = None) -> dict[int, Availability]:
    """On hand, reserved and on order of the items asked for; without any, of every item with one of the three.

    Three queries whatever the number. Items asked for with nothing anywhere get zeros.
    """
    wanted = None if item_ids is None else set(item_ids)
    on_hand = _sum(on_hand_balances(), wanted)
    reserved = _sum(Reservation.objects.all(), wanted)
    on_order = _on_order(wanted)
    keys = {*on_hand, *reserved, *on_order} if wanted is None else wanted
    return {
        key: Availability(on_hand.get(key, NOTHING), reserved.get(key, NOTHING), on_order.get(key, NOTHING))
        for key in keys
    }


def on_hand_balances() -> QuerySet[Balance]:
    """Balances that count as on hand."""
    return Balance.objects.filter(location__kind__in=ON_HAND_KINDS)


def open_receipts(item_ids: Iterable[int] | None = None) -> list[OpenReceipt]:
    """What is still to come on released purchase orders, soonest first. One query."""
    items = Item.objects.filter(OPEN_LINES)
    if item_ids is not None:
        items = items.filter(pk__in=set(item_ids))
    rows = items.order_by("purchase_lines__due_on", "purchase_lines__pk").values_list(
        "purchase_lines__pk",
        "pk",
        "purchase_lines__order__number",
        "purchase_lines__order__supplier_id",
        less("purchase_lines__quantity", "purchase_lines__received"),
        "purchase_lines__due_on",
    )
    return [OpenReceipt(*row) for row in rows]


def stacks(
    item_ids: Iterable[int] | None = None, *, kinds: Sequence[str] = ON_HAND_KINDS
) -> dict[int, list[Stack]]:
    """What lies where, by item, in the order a picker walks; empty places are left out. One query."""
    rows = Balance.objects.filter(location__kind__in=kinds).exclude(quantity=0)
    if item_ids is not None:
        rows = rows.filter(item_id__in=set(item_ids))
    found: dict[int, list[Stack]] = {}
    for row in rows.select_related("location", "lot").order_by(
        "location__walk_order", "location__code", "lot__pk"
    ):
        lot_code = row.lot.code if row.lot else ""
        stack = Stack(
            row.item_id,
            row.location_id,
            row.lot_id,
            row.quantity,
            row.location.code,
            row.location.kind,
            lot_code,
        )
        found.setdefault(row.item_id, []).append(stack)
    return found


def _sum(rows: QuerySet[Balance] | QuerySet[Reservation], wanted: set[int] | None) -> dict[int, Decimal]:
    if wanted is not None:
        rows = rows.filter(item_id__in=wanted)
    return dict(rows.order_by().values_list("item_id").annotate(total=summed()))


def _on_order(wanted: set[int] | None) -> dict[int, Decimal]:
    items = Item.objects.filter(OPEN_LINES)
    if wanted is not None:
        items = items.filter(pk__in=wanted)
    return dict(items.order_by().values_list("pk").annotate(still=summed(STILL_TO_COME)))
