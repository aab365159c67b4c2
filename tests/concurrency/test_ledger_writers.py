"""Two people at one shelf: the last box goes to one of them, because row locks keep writers apart.

The same claims for a file of SQLite stand in test_ledger_sqlite.py; the tests' own SQLite lies in memory, where
a second connection is refused instead of waiting.
"""

import threading
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection, connections, transaction

from bom.kernel.errors import ProblemError
from inventory.buying import ordering, receiving
from inventory.buying.models import Receipt, Supplier, SupplierItem
from inventory.stock import ledger, reserving
from inventory.stock.models import Balance, Posting, Reservation
from inventory.stores import handling
from tests.inventory.stock_room import StockRoom, furnish

WRITERS = 4
WAIT_SECONDS = 60

pytestmark = [
    pytest.mark.postgres,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor != "postgresql", reason="DATABASE_URL names no PostgreSQL server to lock rows in"
    ),
]


@pytest.fixture
def room(db) -> StockRoom:
    room = furnish()
    room.bring(room.roller, 1)
    return room


def _together(*works: Callable[[], object]) -> list[object]:
    """Do all of this at the same moment, each on a connection of its own; results or refusals, in order."""
    start = threading.Barrier(len(works))
    ends: list[object] = [None] * len(works)

    def run(number: int, work: Callable[[], object]) -> None:
        try:
            start.wait(WAIT_SECONDS)
            ends[number] = work()
        except Exception as error:
            ends[number] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=entry) for entry in enumerate(works)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(WAIT_SECONDS)
    assert not any(thread.is_alive() for thread in threads), "writers wait for each other"
    return ends


def _refusals(ends: list[object]) -> list[str]:
    unexpected = [end for end in ends if isinstance(end, Exception) and not isinstance(end, ProblemError)]
    assert unexpected == []
    return [str(end) for end in ends if isinstance(end, ProblemError)]


def test_control_without_a_lock_both_take_the_last_box(room):
    """Proof that the race exists: reading, judging and writing without the ledger's lock loses a box."""
    both_have_read = threading.Barrier(2)

    def take() -> bool:
        with transaction.atomic():
            shelf = Balance.objects.get(item=room.roller, location=room.places["A1"])
            both_have_read.wait(WAIT_SECONDS)
            if shelf.quantity < 1:
                return False
            Balance.objects.filter(pk=shelf.pk).update(quantity=shelf.quantity - 1)
            return True

    assert _together(take, take) == [True, True]
    assert room.at(room.roller, "A1") == 0


def test_the_last_box_is_taken_once(room):
    ends = _together(
        *(
            lambda number=number: room.move(room.roller, 1, "A1", "KIT", key=f"take:{number}")
            for number in range(WRITERS)
        )
    )

    assert len(_refusals(ends)) == WRITERS - 1
    assert all("A1 holds 0 of RLR-120-BLU" in said for said in _refusals(ends))
    assert (room.at(room.roller, "A1"), room.at(room.roller, "KIT")) == (0, 1)
    assert ledger.audit() == []


def test_the_last_box_is_kept_for_one_order(room):
    orders = [room.purpose(str(1001 + number)) for number in range(WRITERS)]
    ends = _together(
        *(
            lambda order=order: reserving.reserve(
                item=room.roller, purpose=order, quantity=Decimal(1), by=room.keeper
            )
            for order in orders
        )
    )

    assert len(_refusals(ends)) == WRITERS - 1
    assert Reservation.objects.count() == 1


def test_a_box_is_not_kept_while_it_is_being_taken(room):
    ends = _together(
        lambda: reserving.reserve(
            item=room.roller, purpose=room.purpose(), quantity=Decimal(1), by=room.keeper
        ),
        lambda: room.move(room.roller, 1, "A1", "CUSTOMER"),
    )

    # Taking is always allowed; keeping only if it came first, and then the list says one is short.
    assert all("0 of RLR-120-BLU are free" in said for said in _refusals(ends))
    assert room.at(room.roller, "CUSTOMER") == 1


def test_the_same_event_sent_at_the_same_moment_is_one_posting(room):
    ends = _together(
        *(lambda: room.move(room.roller, 5, "SUPPLIER", "A2", key="goods-in:1") for _ in range(WRITERS))
    )

    assert _refusals(ends) == []
    assert len({posting.pk for posting in ends}) == 1
    assert room.at(room.roller, "A2") == 5


def test_two_writers_who_both_make_a_new_balance_both_count(room):
    ends = _together(
        *(
            lambda number=number: room.move(room.axle, 1, "SUPPLIER", "A2", key=f"new:{number}")
            for number in range(WRITERS)
        )
    )

    assert _refusals(ends) == []
    assert room.at(room.axle, "A2") == WRITERS
    assert Balance.objects.filter(item=room.axle).count() == 2


def test_writers_who_touch_the_same_places_in_opposite_order_do_not_block_each_other(room):
    for item in (room.roller, room.axle):
        room.bring(item, 50, "A1")
        room.bring(item, 50, "A2")

    def swap(number: int) -> Posting:
        there = room.both(room.roller, 1, "A1", "A2") + room.both(room.axle, 1, "A2", "A1")
        lines = there if number % 2 else list(reversed(there))
        return ledger.post(key=f"swap:{number}", kind="move", lines=lines, by=room.keeper)

    def swaps(first: int) -> None:
        for number in range(first, first + 10):
            swap(number)

    ends = _together(*(lambda first=first: swaps(first) for first in range(0, 10 * WRITERS, 10)))

    assert _refusals(ends) == []
    assert Posting.objects.filter(key__startswith="swap:").count() == 10 * WRITERS
    assert ledger.audit() == []


def test_a_posting_is_taken_back_once_by_two(room):
    posting = room.move(room.roller, 1, "A1", "A2")
    ends = _together(
        *(lambda: ledger.reverse(posting=posting, by=room.keeper, reason="wrong shelf") for _ in range(2))
    )

    assert len(_refusals(ends)) == 1
    assert room.at(room.roller, "A1") == 1


def test_a_count_does_not_count_away_what_is_being_taken(room):
    room.bring(room.roller, 9)
    count = {
        "item": room.roller,
        "location": room.places["A1"],
        "counted": Decimal(10),
        "reason": "stocktake",
        "by": room.keeper,
        "key": "stores:1",
    }
    _refusals(
        _together(
            lambda: handling.count_stock(**count), lambda: room.move(room.roller, 4, "A1", "KIT", key="take")
        )
    )

    # Ten were counted and four taken, in whichever order; counted first gives 6, taken first gives 10.
    assert room.at(room.roller, "A1") in (6, 10)
    assert ledger.audit() == []


def test_two_deliveries_on_one_line_are_both_booked(room):
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll")
    SupplierItem.objects.create(supplier=supplier, item=room.roller, price=3, lead_days=4)
    want = ordering.Want(room.roller.pk, None, Decimal(20), Posting.objects.get().happened_at.date())
    order = ordering.raise_orders(wants=[want], by=room.keeper)[0]
    line = ordering.release_order(order=order, by=room.keeper).lines.get()
    ends = _together(
        *(
            lambda number=number: receiving.receive_line(
                line=line,
                quantity=Decimal(5),
                location=room.places["A2"],
                by=room.keeper,
                key=f"goods-in:{number // 2}",
            )
            for number in range(4)
        )
    )
    line.refresh_from_db()

    assert _refusals(ends) == []
    assert (line.received, room.at(room.roller, "A2")) == (10, 10)
    assert Receipt.objects.count() == 2
