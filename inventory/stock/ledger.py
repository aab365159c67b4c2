"""The only writer of stock: postings, their movements, and the balances that follow from them.

Movements of a posting sum to zero for every item; they need not for every lot, because a lot may begin at
goods-in and end in conversion. A location with a floor never holds less than its floor of anything, and such a
location holds a serial number once or not at all. Rows are never changed: a mistake is mended by the mirror
posting, once.

What the guard misses: a reservation does not stop a posting. Whoever takes what is kept for another order leaves
that order short, and the stock list says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence, Set
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, connection, transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import at_once
from inventory.stock.auditing import audit, movement_sums
from inventory.stock.drafts import Draft, Known, Line, Spot, by_spot, shape_problems
from inventory.stock.models import Balance, Lot, Movement, Posting, Purpose, ReasonCode

__all__ = ["Draft", "Line", "audit", "post", "post_many", "rebuild_balances", "reverse"]

_TRIES = 3
_ROWS_AT_ONCE = 1000


def post(
    *,
    key: str,
    kind: str,
    lines: Sequence[Line],
    by: User | None,
    happened_at: datetime | None = None,
    reason: str = "",
    purpose: Purpose | None = None,
    reason_code: ReasonCode | None = None,
) -> Posting:
    """Write one event. A repeat of its key returns the first posting and changes nothing.

    Quantities are in stock units, rounded half to even to four places before anything is checked.

    Raises:
        ProblemError: the lines name something unknown, are zero, do not balance, take a place below its floor,
            put a serial number in two places, or repeat a key with other lines.
    """
    draft = Draft(key, kind, lines, by, happened_at, reason, purpose, reason_code=reason_code)
    return post_many([draft])[0]


def post_many(postings: Sequence[Draft]) -> list[Posting]:
    """Write many events in the order given, in one transaction: all of them, or none with the problems said.

    Returns the postings in the order of the drafts. Checks are those of `post`, floors after each posting.
    """
    if not postings:
        return []
    if len(postings) == 1 and (done := at_once.write(postings[0])) is not None:
        return [done]
    lines = [line for draft in postings for line in draft.lines]
    known = Known.to(lines)
    problems = [problem for draft in postings for problem in shape_problems(draft, known)]
    if problems:
        raise ProblemError(*problems)
    for _ in range(_TRIES):
        try:
            with transaction.atomic():
                return _write(postings, known)
        except IntegrityError:
            # Another writer took one of the keys since we looked; look again.
            if not Posting.objects.filter(key__in=[draft.key for draft in postings]).exists():
                raise
    raise ProblemError(
        Problem("Others are writing the same events just now", postings[0].key, "Try again in a moment.")
    )


def reverse(*, posting: Posting, by: User | None, reason: str) -> Posting:
    """Take a posting back by its mirror, once; say why.

    Raises:
        ProblemError: no reason given, already reversed, itself a reversal, or the goods have moved on.
    """
    if not reason.strip():
        raise ProblemError(
            Problem("A reversal needs a reason", f"posting {posting.key}", "Say what was wrong.")
        )
    with transaction.atomic():
        first = Posting.objects.select_for_update().get(pk=posting.pk)
        if first.kind == Posting.Kind.REVERSAL:
            raise ProblemError(
                Problem("A reversal cannot be reversed", f"posting {first.key}", "Post the goods anew.")
            )
        if Posting.objects.filter(reverses=first).exists():
            raise ProblemError(
                Problem(
                    "This posting has already been reversed", f"posting {first.key}", "Nothing is left to do."
                )
            )
        mirror = [
            Line(movement.item_id, movement.location_id, -movement.quantity, movement.lot_id)
            for movement in first.movements.all()
        ]
        draft = Draft(
            key=f"reversal:{first.pk}",
            kind=Posting.Kind.REVERSAL,
            lines=mirror,
            by=by,
            reason=reason.strip(),
            purpose=first.purpose,
            reverses=first,
        )
        return post_many([draft])[0]


def rebuild_balances() -> int:
    """Work all balances out anew from the movements. Returns how many were wrong and are now right."""
    with transaction.atomic():
        wanted = movement_sums()
        balances = _locked({*wanted, *_spots(Balance.objects.all())})
        wanted = movement_sums()
        wrong = [
            balance for spot, balance in balances.items() if balance.quantity != wanted.get(spot, Decimal(0))
        ]
        for balance in wrong:
            balance.quantity = wanted.get(_spot(balance), Decimal(0))
        Balance.objects.bulk_update(wrong, ["quantity"], batch_size=_ROWS_AT_ONCE)
        return len(wrong)


def _write(drafts: Sequence[Draft], known: Known) -> list[Posting]:
    """Claim the keys first, so that a second sender of the same event waits here; then lock and move."""
    found = {
        posting.key: posting for posting in Posting.objects.filter(key__in={draft.key for draft in drafts})
    }
    _refuse_other_lines([draft for draft in drafts if draft.key in found])
    fresh: dict[str, Draft] = {}
    for draft in drafts:
        if draft.key in fresh and by_spot(draft.rounded_lines()) != by_spot(fresh[draft.key].rounded_lines()):
            raise ProblemError(_other_lines(draft.key))
        if draft.key not in found:
            fresh.setdefault(draft.key, draft)
    if fresh:
        found |= {posting.key: posting for posting in _insert(list(fresh.values()))}
        _move(list(fresh.values()), known)
    return [found[draft.key] for draft in drafts]


def _insert(drafts: Sequence[Draft]) -> list[Posting]:
    now = timezone.now()
    postings = Posting.objects.bulk_create(
        [
            Posting(
                key=draft.key,
                kind=draft.kind,
                happened_at=draft.happened_at or now,
                by=draft.by,
                reason=draft.reason,
                reason_code=draft.reason_code,
                purpose=draft.purpose,
                reverses=draft.reverses,
            )
            for draft in drafts
        ],
        batch_size=_ROWS_AT_ONCE,
    )
    Movement.objects.bulk_create(
        [
            Movement(
                posting=posting,
                item_id=line.item_id,
                location_id=line.location_id,
                lot_id=line.lot_id,
                quantity=line.quantity,
                happened_at=posting.happened_at,
            )
            for posting, draft in zip(postings, drafts, strict=True)
            for line in draft.rounded_lines()
        ],
        batch_size=_ROWS_AT_ONCE,
    )
    return postings


def _move(drafts: Sequence[Draft], known: Known) -> None:
    """Change the balances posting by posting, refusing the first state that no shelf can be in."""
    changes = [by_spot(draft.rounded_lines()) for draft in drafts]
    balances = _locked({spot for change in changes for spot in change})
    problems: list[Problem] = []
    for draft, change in zip(drafts, changes, strict=True):
        for spot, quantity in change.items():
            problem = _refusal(spot, balances[spot].quantity, quantity, known)
            if problem is not None:
                problems.append(problem.within(f"posting {draft.key}") if len(drafts) > 1 else problem)
                continue
            balances[spot].quantity += quantity
    if problems:
        raise ProblemError(*problems)
    _store(balances.values())


def _store(balances: Iterable[Balance]) -> None:
    """The quantities of balances that are locked. One statement sent for each, without an answer between them."""
    table = connection.ops.quote_name(Balance._meta.db_table)
    field = Balance._meta.get_field("quantity")
    rows = [(field.get_db_prep_save(row.quantity, connection), row.pk) for row in balances]
    with connection.cursor() as cursor:
        cursor.executemany(f"UPDATE {table} SET quantity = %s WHERE id = %s", rows)


def _refusal(spot: Spot, before: Decimal, change: Decimal, known: Known) -> Problem | None:
    item_id, location_id, lot_id = spot
    floor = known.locations[location_id].floor
    lot = known.lots.get(lot_id) if lot_id is not None else None
    if floor is None:
        return None
    after = before + change
    code, place = known.item(item_id), known.place(location_id)
    named = f"{code}, {lot.code}," if lot else code
    if change < 0 and after < floor:
        return Problem(
            f"{place} holds {before.normalize():f} of {named} and {-change.normalize():f} were asked for",
            "",
            "Count the place, or take the goods from another.",
        )
    if lot and lot.kind == Lot.Kind.SERIAL and after not in (0, 1):
        return Problem(
            f"Serial number {lot.code} of {code} cannot lie at {place} {after.normalize():f} times",
            "",
            "A serial number stands for one piece; check the number.",
        )
    return None


def _locked(spots: Set[Spot]) -> dict[Spot, Balance]:
    """The balances of these spots, made where missing, locked in one order by every writer.

    Made before any is locked: who waits for another's new row must not hold what the other wants.
    """
    wanted = set(spots)
    near = _near(wanted)
    missing = wanted - _spots(near)
    # Two writers may both find a row missing: the second insert waits for the first and then does nothing.
    Balance.objects.bulk_create(
        [
            Balance(item_id=item_id, location_id=location_id, lot_id=lot_id)
            for item_id, location_id, lot_id in sorted(missing, key=_in_order)
        ],
        ignore_conflicts=True,
        batch_size=_ROWS_AT_ONCE,
    )
    numbers = [
        pk
        for pk, *spot in near.values_list("pk", "item_id", "location_id", "lot_id")
        if tuple(spot) in wanted
    ]
    rows = Balance.objects.select_for_update().filter(pk__in=numbers)
    return {_spot(row): row for row in rows.order_by("item_id", "location_id", "lot_id")}


def _near(spots: Set[Spot]) -> QuerySet[Balance]:
    """The balances of these spots and of few others; not those of every lot that ever lay there."""
    lots = {lot_id for _, _, lot_id in spots}
    of_lots = Q(lot_id__in=lots - {None})
    return Balance.objects.filter(
        of_lots | Q(lot=None) if None in lots else of_lots,
        item_id__in={item_id for item_id, _, _ in spots},
        location_id__in={location_id for _, location_id, _ in spots},
    )


def _in_order(spot: Spot) -> tuple[int, int, int]:
    return (spot[0], spot[1], spot[2] or 0)


def _spot(row: Balance) -> Spot:
    return (row.item_id, row.location_id, row.lot_id)


def _spots(rows: QuerySet[Balance]) -> set[Spot]:
    return set(rows.values_list("item_id", "location_id", "lot_id"))


def _refuse_other_lines(repeats: Sequence[Draft]) -> None:
    """A repeated key must mean the same event; otherwise somebody used a key twice."""
    if not repeats:
        return
    stored: dict[str, list[Line]] = defaultdict(list)
    rows = Movement.objects.filter(posting__key__in={draft.key for draft in repeats})
    for key, item_id, location_id, quantity, lot_id in rows.values_list(
        "posting__key", "item_id", "location_id", "quantity", "lot_id"
    ):
        stored[key].append(Line(item_id, location_id, quantity, lot_id))
    problems = [
        _other_lines(draft.key)
        for draft in repeats
        if by_spot(draft.rounded_lines()) != by_spot(stored[draft.key])
    ]
    if problems:
        raise ProblemError(*problems)


def _other_lines(key: str) -> Problem:
    return Problem(
        "This event is already in the ledger with other quantities or places",
        f"posting {key}",
        "Look at the posting; reverse it if it is wrong, and send the new one under its own key.",
    )
