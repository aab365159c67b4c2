"""The usual posting in one statement, where PostgreSQL is underneath: one way there and back instead of six.

Called by `inventory.stock.at_once` alone, for what it holds to be usual. The statement locks the balances in the order
of every writer, goes on only if all are there and hold enough, and writes posting, movements and balances, or nothing.
It is prepared once a connection, so that the database plans it once. A key that is there already writes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any
from weakref import WeakSet

from django.db import connection, models

from inventory.stock.drafts import Line
from inventory.stock.models import Balance, Location, Movement, Posting

_NAME = "inventory_post"

# By column of a movement, where the statement takes it from.
_OF_MOVEMENT = {
    "posting_id": "posting.id",
    "item_id": "line.item_id",
    "location_id": "line.location_id",
    "lot_id": "NULL",
    "quantity": "line.quantity",
    "happened_at": "posting.happened_at",
}
_PREPARED: WeakSet[Any] = WeakSet()


def write(posting: Posting, lines: Sequence[Line]) -> bool:
    """Write the posting with its movements and give it its number; False, and nothing written, where a balance is
    missing or holds too little, or the key is taken."""
    values: list[Any] = [
        field.get_db_prep_save(field.pre_save(posting, True), connection) for field in _columns(Posting)
    ]
    values.append([line.item_id for line in lines])
    values.append([line.location_id for line in lines])
    values.append([line.quantity for line in lines])
    with connection.cursor() as cursor:
        if connection.connection not in _PREPARED:
            cursor.execute(_statement())
            _PREPARED.add(connection.connection)
        cursor.execute(f"EXECUTE {_NAME} ({', '.join(['%s'] * len(values))})", values)
        row = cursor.fetchone()
    if row is None:
        return False
    posting.pk = row[0]
    posting._state.adding, posting._state.db = False, connection.alias
    return True


@cache
def _columns(model: type[models.Model]) -> list[models.Field[Any, Any]]:
    """The columns that an insert fills, from the model, so that a new column is not forgotten."""
    return [field for field in model._meta.concrete_fields if not field.primary_key]


@cache
def _statement() -> str:
    posting, movement = _columns(Posting), _columns(Movement)
    count = len(posting)
    types = [str(field.db_type(connection)) for field in posting]
    balance, location = Balance._meta.db_table, Location._meta.db_table
    return f"""
        PREPARE {_NAME} ({", ".join(types)}, bigint[], bigint[], numeric[]) AS
        WITH line AS (
            SELECT * FROM unnest(${count + 1}, ${count + 2}, ${count + 3}) WITH ORDINALITY
            AS each (item_id, location_id, quantity, number)
        ), change AS (
            SELECT item_id, location_id, sum(quantity) AS quantity FROM line GROUP BY item_id, location_id
        ), locked AS MATERIALIZED (
            SELECT b.id, change.quantity AS change, b.quantity + change.quantity AS after, l.floor
            FROM change
            JOIN {balance} b ON b.item_id = change.item_id AND b.location_id = change.location_id
            JOIN {location} l ON l.id = b.location_id
            WHERE b.lot_id IS NULL ORDER BY b.item_id, b.location_id, b.id FOR UPDATE OF b
        ), fit AS (
            SELECT 1 FROM locked HAVING count(*) = (SELECT count(*) FROM change)
            AND bool_and(floor IS NULL OR change >= 0 OR after >= floor)
        ), posting AS (
            INSERT INTO {Posting._meta.db_table} ({_named(posting)})
            SELECT {", ".join(f"${at}" for at in range(1, count + 1))} FROM fit
            ON CONFLICT (key) DO NOTHING RETURNING id, happened_at
        ), moved AS (
            INSERT INTO {Movement._meta.db_table} ({_named(movement)})
            SELECT {", ".join(_OF_MOVEMENT[field.attname] for field in movement)}
            FROM posting, line ORDER BY line.number
        ), changed AS (
            UPDATE {balance} b SET quantity = b.quantity + locked.change
            FROM locked, posting WHERE b.id = locked.id
        )
        SELECT id FROM posting"""


def _named(fields: Sequence[models.Field[Any, Any]]) -> str:
    return ", ".join(connection.ops.quote_name(str(field.column)) for field in fields)
