"""Giving goods out for an order, and what comes back."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import reserving
from inventory.stock.models import Reservation
from inventory.stores import issuing, undoing


def _issue(room, quantity, order="1001", key="stores:i"):
    return issuing.issue_to_order(
        item=room.roller,
        quantity=Decimal(quantity),
        source=room.places["A1"],
        purpose=room.purpose(order),
        reason="in place of a split one",
        by=room.keeper,
        key=key,
    )


def _back(room, quantity, key="stores:b"):
    return issuing.return_from_order(
        item=room.roller,
        quantity=Decimal(quantity),
        purpose=room.purpose("1001"),
        target=room.places["A2"],
        by=room.keeper,
        key=key,
    )


def _keep(room, quantity, order):
    reserving.reserve(
        item=room.roller, purpose=room.purpose(order), quantity=Decimal(quantity), by=room.keeper
    )


def test_what_is_given_out_is_kept_no_longer(room):
    room.bring(room.roller, 5)
    _keep(room, 3, "1001")
    posting = _issue(room, 2)

    assert (posting.purpose.code, room.at(room.roller, "A1")) == ("1001", 3)
    assert Reservation.objects.get().quantity == 1


def test_what_others_keep_is_not_given_out(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1002")
    with pytest.raises(ProblemError, match=r"1 of RLR-120-BLU are free for order 1001.*1002 \(4\)"):
        _issue(room, 2)


def test_sent_twice_it_is_given_out_once(room):
    room.bring(room.roller, 5)

    assert _issue(room, 5) == _issue(room, 5)
    assert room.at(room.roller, "A1") == 0


def test_a_closed_order_gets_nothing(room):
    room.bring(room.roller, 5)
    purpose = room.purpose("1001")
    purpose.is_open = False
    purpose.save()
    with pytest.raises(ProblemError, match="Order 1001 is closed"):
        _issue(room, 1)


def test_no_more_comes_back_than_was_given_out(room):
    room.bring(room.roller, 5)
    _issue(room, 3)
    _back(room, 2)
    assert room.at(room.roller, "A2") == 2
    with pytest.raises(ProblemError, match="1 of RLR-120-BLU were given out by hand for order 1001"):
        _back(room, 2, key="stores:b2")


def test_an_issue_undone_is_kept_for_the_order_again(room):
    room.bring(room.roller, 5)
    _keep(room, 3, "1001")
    posting = _issue(room, 3)
    undoing.take_back(posting=posting, by=room.keeper, reason="wrong order")

    assert room.at(room.roller, "A1") == 5
    assert Reservation.objects.get().quantity == 3
    with pytest.raises(ProblemError, match="0 of RLR-120-BLU were given out"):
        _back(room, 1)


@pytest.mark.parametrize(("source", "said"), [("A1", "no place from which"), ("KIT", "kit's page")])
def test_only_what_lies_at_work_simply_comes_back(room, source, said):
    room.bring(room.roller, 5, source)
    with pytest.raises(ProblemError, match=said):
        _return(room, source)


def test_what_lies_at_work_comes_back_to_the_shelf(room):
    room.bring(room.roller, 5, "FLOOR")
    posting = _return(room, "FLOOR")

    assert (posting.kind, room.at(room.roller, "A2")) == ("return", 2)


def _return(room, source):
    return issuing.return_to_shelf(
        item=room.roller,
        quantity=Decimal(2),
        source=room.places[source],
        target=room.places["A2"],
        by=room.keeper,
        key="stores:r",
    )
