"""PostgreSQL itself refuses to change what the ledger has written, whoever asks."""

import pytest
from django.db import ProgrammingError, connection, transaction

from tests.inventory.stock_room import StockRoom, furnish

pytestmark = [
    pytest.mark.postgres,
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "postgresql", reason="the trigger is PostgreSQL's"),
]


@pytest.fixture
def room(db) -> StockRoom:
    room = furnish()
    room.bring(room.roller, 1)
    return room


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE inventory_movement SET quantity = 7",
        "DELETE FROM inventory_movement",
        "UPDATE inventory_posting SET reason = 'changed'",
        "DELETE FROM inventory_posting",
    ],
)
def test_the_database_refuses(room, statement):
    with pytest.raises(ProgrammingError, match="The ledger is never changed"), transaction.atomic():
        connection.cursor().execute(statement)

    assert room.at(room.roller, "A1") == 1


def test_adding_is_allowed(room):
    room.bring(room.roller, 1)

    assert room.at(room.roller, "A1") == 2
