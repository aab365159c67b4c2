"""Putting away: from the place where goods are set down to the shelf where they belong."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Max

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import Balance, Location, Lot, Movement, Posting
from inventory.stores.handling import carry
from inventory.stores.models import HandlingRule


@dataclass(frozen=True)
class Waiting:
    """So much of an item waits to be put away; where it should go and why there, and since when it waits."""

    balance: Balance
    proposed: Location | None
    ground: str
    since: datetime | None


def goods_in_places() -> list[Location]:
    """Where goods are set down when they come, in walking order. One query."""
    return list(Location.objects.filter(is_goods_in=True, kind=Location.Kind.SHELF))


def put_away(
    *,
    item: Item,
    quantity: Decimal,
    source: Location,
    target: Location,
    by: User | None,
    key: str,
    lot: Lot | None = None,
    happened_at: datetime | None = None,
) -> Posting:
    """Carry goods from goods-in to their shelf; `happened_at` where it is written down later.

    Raises:
        ProblemError: the source is no place of goods-in, the target no shelf, or too little lies there.
    """
    if not source.is_goods_in:
        raise ProblemError(
            Problem(f"{source.code} is no place of goods-in", "from", "Move what lies on a shelf instead.")
        )
    if target.kind != Location.Kind.SHELF or target.is_goods_in:
        raise ProblemError(
            Problem(f"{target.code} is not a shelf to put goods away on", "to", "Choose a shelf.")
        )
    return carry(
        item,
        quantity,
        source,
        target,
        lot,
        Posting.Kind.MOVE,
        by,
        key,
        "put away",
        happened_at=happened_at,
    )


def waiting() -> list[Waiting]:
    """What waits at goods-in, the longest waiting first. Five queries."""
    balances = list(
        Balance.objects.filter(
            location__is_goods_in=True, location__kind=Location.Kind.SHELF, quantity__gt=0
        ).select_related("item", "location", "lot")
    )
    ids = {row.item_id for row in balances}
    proposed = proposed_places(ids)
    came = dict(
        Movement.objects.filter(item__in=ids, location__is_goods_in=True, quantity__gt=0)
        .order_by()
        .values_list("item_id")
        .annotate(last=Max("happened_at"))
    )
    rows = []
    for row in balances:
        target, ground = proposed.get(row.item_id, (None, "it never lay anywhere"))
        rows.append(Waiting(row, target, ground, came.get(row.item_id)))
    return sorted(rows, key=lambda row: (row.since is None, row.since, row.balance.item.code))


def proposed_places(item_ids: Collection[int]) -> dict[int, tuple[Location, str]]:
    """Where each item should be put, and on what ground: its own place, where most of it lies, where it last lay.

    Three queries, whatever the number of items; items that never lay anywhere are left out.
    """
    shelves = Location.objects.filter(kind=Location.Kind.SHELF, is_goods_in=False).in_bulk()
    found: dict[int, tuple[Location, str]] = {}
    last = Movement.objects.filter(item__in=item_ids, location__in=shelves, quantity__gt=0)
    latest = last.values("item_id", "location_id").annotate(at=Max("happened_at"), latest=Max("pk"))
    for item_id, location_id in latest.order_by("at", "latest").values_list("item_id", "location_id"):
        found[item_id] = (shelves[location_id], "it last lay here")
    lying = Balance.objects.filter(item__in=item_ids, location__in=shelves, quantity__gt=0)
    for item_id, location_id in lying.order_by("quantity", "-location__walk_order").values_list(
        "item_id", "location_id"
    ):
        found[item_id] = (shelves[location_id], "most of it lies here")
    homes = HandlingRule.objects.filter(item__in=item_ids, home__in=shelves)
    for item_id, home_id in homes.values_list("item_id", "home_id"):
        found[item_id] = (shelves[home_id], "its own place")
    return found
