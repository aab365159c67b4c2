"""The usual posting in few statements: one new event, no lots, between balances that are there and hold enough.

Called by `inventory.stock.ledger` alone. It refuses nothing: whatever is not usual leaves no trace, not even a lock,
and gives no posting; the ledger then goes its careful way, which finds out what is wrong and says so. A balance that
is there proves its item and its location, so neither is read; the key's own constraint tells a repeat. Plain SQL
because a posting stands in the way of every hand in the workshop: the same through the model layer takes four times
as long (`tests/benchmarks/bench_ledger.py`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Context, Decimal
from functools import cache
from typing import Any

from django.db import IntegrityError, OperationalError, connection, models, transaction
from django.utils import timezone

from inventory.stock import one_statement
from inventory.stock.drafts import MOST, PLACES, Draft, Line
from inventory.stock.models import Balance, Location, Movement, Posting

# What SQLite keeps of a number that is not whole.
_FIFTEEN_DIGITS = Context(prec=15)

# Item and location of a balance without a lot.
Station = tuple[int, int]


class _NotUsualError(Exception):
    """A balance is missing, or would fall below its floor."""


def write(draft: Draft) -> Posting | None:
    """The posting, written; or none where the case is not the usual one."""
    lines = draft.rounded_lines()
    if not _is_usual(draft, lines):
        return None
    posting = _posting(draft)
    if connection.vendor == "postgresql":
        return posting if _in_one(posting, lines) else None
    try:
        with transaction.atomic():
            _insert_posting(posting)
            _insert_movements(posting, lines)
            _change_balances(_changes(lines))
            return posting
    except (_NotUsualError, IntegrityError):
        return None


def _in_one(posting: Posting, lines: Sequence[Line]) -> bool:
    """Within another transaction inside a savepoint, so that what was locked in vain is let go of again."""
    try:
        if not connection.in_atomic_block:
            return one_statement.write(posting, lines)
        with transaction.atomic():
            if not one_statement.write(posting, lines):
                raise _NotUsualError
            return True
    except (_NotUsualError, IntegrityError, OperationalError):
        # The careful way claims the key first and this one the balances: two senders of one event may meet there.
        return False


def _is_usual(draft: Draft, lines: Sequence[Line]) -> bool:
    """Whether nothing is wrong that shows without the database. The careful way names each fault."""
    totals: dict[int, Decimal] = defaultdict(Decimal)
    for line in lines:
        is_number = line.quantity.is_finite() and 0 < abs(line.quantity) < MOST
        if line.lot_id is not None or not is_number:
            return False
        totals[line.item_id] += line.quantity
    return (
        bool(lines)
        and draft.reverses is None
        and not any(totals.values())
        and 0 < len(draft.key) <= 120
        and len(draft.reason) <= 200
        and draft.kind in Posting.Kind.values
        and (draft.happened_at is None or draft.happened_at.tzinfo is not None)
    )


def _posting(draft: Draft) -> Posting:
    return Posting(
        key=draft.key,
        kind=draft.kind,
        happened_at=draft.happened_at or timezone.now(),
        by=draft.by,
        reason=draft.reason,
        reason_code=draft.reason_code,
        purpose=draft.purpose,
    )


def _insert_posting(posting: Posting) -> None:
    fields, statement = _insertion(Posting)
    values = [field.get_db_prep_save(field.pre_save(posting, True), connection) for field in fields]
    with connection.cursor() as cursor:
        cursor.execute(f"{statement} ({_signs(len(fields))}) RETURNING id", values)
        posting.pk = cursor.fetchone()[0]
    posting._state.adding, posting._state.db = False, connection.alias


def _insert_movements(posting: Posting, lines: Sequence[Line]) -> None:
    fields, statement = _insertion(Movement)
    values: list[Any] = []
    for line in lines:
        kept = {
            "posting_id": posting.pk,
            "item_id": line.item_id,
            "location_id": line.location_id,
            "lot_id": line.lot_id,
            "quantity": line.quantity,
            "happened_at": posting.happened_at,
        }
        values += [field.get_db_prep_save(kept[field.attname], connection) for field in fields]
    rows = ", ".join([f"({_signs(len(fields))})"] * len(lines))
    with connection.cursor() as cursor:
        cursor.execute(f"{statement} {rows}", values)


def _changes(lines: Sequence[Line]) -> dict[Station, Decimal]:
    changes: dict[Station, Decimal] = defaultdict(Decimal)
    for line in lines:
        changes[line.item_id, line.location_id] += line.quantity
    return changes


def _change_balances(changes: dict[Station, Decimal]) -> None:
    """See that each balance holds enough, and change them; SQLite lets one writer in at a time."""
    one = "(b.item_id = %s AND b.location_id = %s)"
    quantity = Balance._meta.get_field("quantity")
    with connection.cursor() as cursor:
        cursor.execute(
            _finding() % " OR ".join([one] * len(changes)),
            [number for station in changes for number in station],
        )
        found = cursor.fetchall()
        if len(found) < len(changes):
            raise _NotUsualError
        rows = []
        for pk, item_id, location_id, before, floor in found:
            change = changes[item_id, location_id]
            after = _exact(before) + change
            if floor is not None and change < 0 and after < _exact(floor):
                raise _NotUsualError
            rows.append((quantity.get_db_prep_save(after, connection), pk))
        cursor.executemany(f"UPDATE {Balance._meta.db_table} SET quantity = %s WHERE id = %s", rows)


@cache
def _insertion(model: type[models.Model]) -> tuple[list[models.Field[Any, Any]], str]:
    """The columns that an insert fills, and its beginning; from the model, so that a new column is not forgotten."""
    fields = [field for field in model._meta.concrete_fields if not field.primary_key]
    columns = ", ".join(connection.ops.quote_name(str(field.column)) for field in fields)
    return fields, f"INSERT INTO {model._meta.db_table} ({columns}) VALUES"


@cache
def _finding() -> str:
    return (
        f"SELECT b.id, b.item_id, b.location_id, b.quantity, l.floor FROM {Balance._meta.db_table} b "
        f"JOIN {Location._meta.db_table} l ON l.id = b.location_id "
        f"WHERE b.lot_id IS NULL AND (%s) ORDER BY b.item_id, b.location_id, b.id"
    )


def _signs(count: int) -> str:
    return ", ".join(["%s"] * count)


def _exact(value: Any) -> Decimal:
    """A quantity as it was written: SQLite gives numbers that are not whole as binary fractions."""
    if isinstance(value, Decimal):
        return value
    return _FIFTEEN_DIGITS.create_decimal_from_float(value).quantize(PLACES)
