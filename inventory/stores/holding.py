"""Quality hold: goods set apart until somebody has looked at them. What is on hold is not on hand.

It cannot be picked, kept for an order or planned with, because the place is of another kind than a shelf.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import Balance, Location, Lot, Movement, Posting, ReasonCode
from inventory.stock.queries import ON_HAND_KINDS
from inventory.stores.handling import carry, refuse_no_reason, refuse_other_kinds
from inventory.stores.reasons import said


@dataclass(frozen=True)
class Held:
    """So much of an item on hold at a place, and the posting that last brought some of it there."""

    balance: Balance
    posting: Posting | None


def hold_place() -> Location:
    """Where goods on hold are put: the first place of that kind.

    Raises:
        ProblemError: there is none.
    """
    found = Location.objects.filter(kind=Location.Kind.HOLD).order_by("walk_order", "code").first()
    if found is None:
        raise ProblemError(
            Problem("There is no place for goods on hold", "locations", "Add a location of that kind.")
        )
    return found


def put_on_hold(
    *,
    item: Item,
    quantity: Decimal,
    source: Location,
    by: User | None,
    key: str,
    code: ReasonCode | None = None,
    remark: str = "",
    lot: Lot | None = None,
    target: Location | None = None,
    happened_at: datetime | None = None,
) -> Posting:
    """Set goods apart until they are looked at; say why, by a code or in words.

    Raises:
        ProblemError: no reason, too little lies there, or the places are of other kinds.
    """
    refuse_other_kinds(source)
    refuse_no_reason(said(code, remark), "Choose why, or say it in your own words.")
    target = target or hold_place()
    _refuse_no_hold(target)
    return carry(
        item,
        quantity,
        source,
        target,
        lot,
        Posting.Kind.HOLD,
        by,
        key,
        said(code, remark),
        code,
        happened_at=happened_at,
    )


def release_from_hold(
    *,
    item: Item,
    quantity: Decimal,
    source: Location,
    target: Location,
    by: User | None,
    key: str,
    remark: str,
    lot: Lot | None = None,
    happened_at: datetime | None = None,
) -> Posting:
    """Goods are found good and go on a shelf; say on what ground.

    Raises:
        ProblemError: no remark, the source is no place of hold, or the target no shelf.
    """
    _refuse_no_hold(source)
    refuse_other_kinds(target)
    refuse_no_reason(remark, "Say what was looked at, e.g. measured, papers came.")
    return carry(
        item,
        quantity,
        source,
        target,
        lot,
        Posting.Kind.FREED,
        by,
        key,
        remark.strip(),
        happened_at=happened_at,
    )


def held() -> list[Held]:
    """Everything on hold, by place and item, each with the posting that last brought it. Two queries."""
    balances = list(
        Balance.objects.filter(location__kind=Location.Kind.HOLD, quantity__gt=0)
        .select_related("item", "location", "lot")
        .order_by("location__code", "item__code", "lot__code")
    )
    last: dict[tuple[int, int, int | None], Posting] = {}
    moves = Movement.objects.filter(
        location__kind=Location.Kind.HOLD, quantity__gt=0, item_id__in={row.item_id for row in balances}
    ).select_related("posting__by", "posting__reason_code")
    for move in moves.order_by("happened_at", "pk"):
        last[move.item_id, move.location_id, move.lot_id] = move.posting
    return [Held(row, last.get((row.item_id, row.location_id, row.lot_id))) for row in balances]


def days_held(one: Held, now: datetime) -> int:
    """Whole days since the last of it came on hold."""
    return (now - one.posting.happened_at).days if one.posting else 0


def _refuse_no_hold(location: Location) -> None:
    if location.kind != Location.Kind.HOLD:
        kinds = " and ".join(str(kind.label) for kind in ON_HAND_KINDS)
        raise ProblemError(
            Problem(
                f"{location.code} is no place for goods on hold",
                "place",
                f"Goods on {kinds} places are moved, not released.",
            )
        )
