"""What stores do by hand: move, count, scrap, and take such a posting back.

Every verb takes the key of the form it was entered in; the same form sent twice is one posting.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.ledger import Line
from inventory.stock.models import Balance, Location, Lot, Posting, Purpose, ReasonCode
from inventory.stock.queries import ON_HAND_KINDS, place
from inventory.stores.reasons import said

KEY = "stores"
"""Keys of postings made here begin with this; only those may be taken back here."""

COUNT = "COUNT"
SCRAP = "SCRAP"


@dataclass(frozen=True)
class Counted:
    """What a count found: so much of an item, of one lot or of none, at a location."""

    item: Item
    quantity: Decimal
    lot: Lot | None = None


def move_stock(
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
    """Carry goods from one shelf or rack to another, now or at `happened_at`.

    Raises:
        ProblemError: both places are the same, one of them holds no stock of ours, or too little lies there.
    """
    for location in (source, target):
        refuse_other_kinds(location)
    if source.pk == target.pk:
        raise ProblemError(
            Problem(f"{item.code} already lies at {source.code}", "to", "Choose another place to put it.")
        )
    return carry(item, quantity, source, target, lot, Posting.Kind.MOVE, by, key, happened_at=happened_at)


def scrap_stock(
    *,
    item: Item,
    quantity: Decimal,
    source: Location,
    reason: str,
    by: User | None,
    key: str,
    lot: Lot | None = None,
    code: ReasonCode | None = None,
) -> Posting:
    """Goods that cannot be used go to scrap, from a shelf or from hold; say why, by a code or in words."""
    if source.kind != Location.Kind.HOLD:
        refuse_other_kinds(source)
    words = said(code, reason)
    refuse_no_reason(words, "Say what is wrong with it, or choose a reason.")
    return carry(item, quantity, source, place(SCRAP), lot, Posting.Kind.SCRAP, by, key, words, code)


def count_stock(
    *,
    item: Item,
    location: Location,
    counted: Decimal,
    reason: str,
    by: User | None,
    key: str,
    lot: Lot | None = None,
) -> Posting | None:
    """Post the difference between what was counted and what the ledger says; none where they agree.

    Raises:
        ProblemError: a negative count, no reason for a difference, or a place that holds no stock of ours.
    """
    return count_place(location=location, found=[Counted(item, counted, lot)], reason=reason, by=by, key=key)


@transaction.atomic
def count_place(
    *,
    location: Location,
    found: list[Counted],
    reason: str,
    by: User | None,
    key: str,
    happened_at: datetime | None = None,
) -> Posting | None:
    """Count several things at one location in one posting. Things not named are left as they are."""
    refuse_other_kinds(location)
    done: Posting | None = Posting.objects.filter(key=key).first()
    if done is not None:
        return done
    _refuse_bad_counts(found)
    lines = _differences(location, found)
    if not lines:
        return None
    refuse_no_reason(reason, "Say why the count differs, e.g. yearly stocktake.")
    return ledger.post(
        key=key,
        kind=Posting.Kind.COUNT,
        lines=lines,
        by=by,
        reason=reason.strip(),
        happened_at=happened_at,
    )


def can_take_back(posting: Posting) -> bool:
    """Whether stores made this posting by hand and it still stands. Two queries at most."""
    return (
        posting.key.startswith(f"{KEY}:")
        and posting.kind != Posting.Kind.REVERSAL
        and not Posting.objects.filter(reverses=posting).exists()
    )


def take_back(*, posting: Posting, reason: str, by: User | None) -> Posting:
    """Reverse a posting that stores made by hand.

    Raises:
        ProblemError: it was made elsewhere (undo it there, so that what hangs on it is undone too), it was
            reversed already, or the goods have moved on.
    """
    if not posting.key.startswith(f"{KEY}:"):
        raise ProblemError(
            Problem(
                "This posting was not made by hand in stores",
                f"posting {posting.key}",
                "Undo it where it was made: at the station, or on the purchase order.",
            )
        )
    return ledger.reverse(posting=posting, by=by, reason=reason)


def carry(
    item: Item,
    quantity: Decimal,
    source: Location,
    target: Location,
    lot: Lot | None,
    kind: str,
    by: User | None,
    key: str,
    reason: str = "",
    code: ReasonCode | None = None,
    purpose: Purpose | None = None,
    happened_at: datetime | None = None,
) -> Posting:
    """One item from one place to another, of one lot or of none. The verbs of stores check what they may.

    Raises:
        ProblemError: the quantity is not above zero, or too little lies there.
    """
    if not quantity.is_finite() or quantity.quantize(PLACES) <= 0:
        raise ProblemError(
            Problem(f"{quantity} of {item.code} cannot be taken", "quantity", "Write a quantity above zero.")
        )
    lot_id = lot.pk if lot else None
    lines = [Line(item.pk, source.pk, -quantity, lot_id), Line(item.pk, target.pk, quantity, lot_id)]
    return ledger.post(
        key=key,
        kind=kind,
        lines=lines,
        by=by,
        reason=reason,
        reason_code=code,
        purpose=purpose,
        happened_at=happened_at,
    )


def _differences(location: Location, found: list[Counted]) -> list[Line]:
    """Locked while compared, so that what is being taken just now is not counted away."""
    rows = Balance.objects.select_for_update().filter(location=location, item__in=[row.item for row in found])
    kept = {
        (row.item_id, row.lot_id): row.quantity for row in rows.order_by("item_id", "location_id", "lot_id")
    }
    difference_place = place(COUNT)
    lines = []
    for row in found:
        lot_id = row.lot.pk if row.lot else None
        difference = row.quantity.quantize(PLACES) - kept.get((row.item.pk, lot_id), Decimal(0))
        if difference:
            lines.append(Line(row.item.pk, location.pk, difference, lot_id))
            lines.append(Line(row.item.pk, difference_place.pk, -difference, lot_id))
    return lines


def _refuse_bad_counts(found: list[Counted]) -> None:
    seen: set[tuple[int, int | None]] = set()
    problems = []
    for row in found:
        named = f"{row.item.code}, {row.lot.code}" if row.lot else row.item.code
        spot = (row.item.pk, row.lot.pk if row.lot else None)
        if not row.quantity.is_finite() or row.quantity < 0:
            problems.append(Problem(f"{row.quantity} of {named} cannot lie there", "", "Count from zero up."))
        if spot in seen:
            problems.append(Problem(f"{named} is counted twice", "", "Add the two up and keep one."))
        seen.add(spot)
    if problems:
        raise ProblemError(*problems)


def refuse_other_kinds(location: Location) -> None:
    if location.kind not in ON_HAND_KINDS:
        raise ProblemError(
            Problem(f"{location.code} is no place in the house", "place", "Choose a shelf or a rack.")
        )


def refuse_no_reason(reason: str, mend: str) -> None:
    if not reason.strip():
        raise ProblemError(Problem("A reason is missing", "reason", mend))
