"""Deliveries: more than ordered, the rest that will not come, hold, and goods sent back."""

from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.buying import ordering, receiving, returning
from inventory.buying.models import PurchaseOrderLine, Supplier, SupplierItem, SupplierReturn
from inventory.stores import undoing
from inventory.stores.reasons import reason_codes


@pytest.fixture
def line(room) -> PurchaseOrderLine:
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll", over_percent=Decimal(5))
    SupplierItem.objects.create(supplier=supplier, item=room.roller, price=3, lead_days=4)
    want = ordering.Want(room.roller.pk, None, Decimal(100), timezone.localdate())
    order = ordering.raise_orders(wants=[want], by=room.keeper)[0]
    return ordering.release_order(order=order, by=room.keeper).lines.get()


def _receive(room, line, quantity, place="A1", key="goods-in:1", **more):
    return receiving.receive_line(
        line=line, quantity=Decimal(quantity), location=room.places[place], by=room.keeper, key=key, **more
    )


def _send_back(room, came_on, quantity, place="A1", **more):
    code = reason_codes("sent_back").get(code="faulty")
    return returning.send_back(
        parcel=returning.Parcel(room.roller, Decimal(quantity), room.places[place]),
        supplier=came_on.order.supplier,
        by=room.keeper,
        **({"code": code, "line": came_on, "key": "sent-back:1"} | more),
    )


def test_a_little_more_than_ordered_is_taken_and_said(room, line):
    assert _receive(room, line, 105).reason.endswith("5 more than ordered")


def test_far_more_than_ordered_is_refused_until_somebody_agreed(room, line):
    _receive(room, line, 60)
    with pytest.raises(
        ProblemError, match=r"106 of RLR-120-BLU have come, 100 were ordered.*5 % more \(105\)"
    ):
        _receive(room, line, 46, key="goods-in:2")
    posting = _receive(room, line, 46, key="goods-in:2", over_agreed="Rubber and Roll, by telephone")

    assert posting.reason.endswith("6 more than ordered, agreed with Rubber and Roll, by telephone")
    assert room.at(room.roller, "A1") == 106


def test_the_rest_that_will_not_come_closes_the_line(room, line):
    _receive(room, line, 60, is_last=True)
    line.order.refresh_from_db()

    assert line.order.state == "done"
    with pytest.raises(ProblemError, match="The purchase order is done"):
        _receive(room, line, 40, key="goods-in:2")


def test_a_delivery_goes_on_hold(room, line):
    _receive(room, line, 60, place="HOLD")

    assert room.at(room.roller, "HOLD") == 60


def test_faulty_goods_go_back_and_others_are_to_come(room, line):
    _receive(room, line, 100)
    posting = _send_back(room, line, 10, is_replaced=True)
    line.refresh_from_db()
    line.order.refresh_from_db()

    assert (posting.reason, posting.kind) == ("faulty", "sent_back")
    assert (line.received, line.order.state, room.at(room.roller, "A1")) == (90, "released", 90)
    assert _receive(room, line, 10, key="goods-in:2").reason.endswith("line 1")


def test_goods_sent_back_for_good_leave_the_line_alone(room, line):
    _receive(room, line, 100)
    assert _send_back(room, line, 10) == _send_back(room, line, 10)
    line.order.refresh_from_db()

    assert (line.order.state, SupplierReturn.objects.count()) == ("done", 1)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        pytest.param({"code": None}, "A reason is missing", id="no reason"),
        pytest.param({"quantity": 61}, "60 came on this line and 61 are to go back", id="more than came"),
        pytest.param({"line": None, "is_replaced": True}, "Nothing says on which order", id="no line"),
        pytest.param({"place": "KIT"}, "KIT holds 0", id="none there"),
    ],
)
def test_a_return_is_refused_with_its_cause(room, line, changes, said):
    _receive(room, line, 60)
    with pytest.raises(ProblemError, match=said):
        _send_back(room, line, **({"quantity": 10} | changes))


def test_a_return_undone_is_received_again(room, line):
    _receive(room, line, 100)
    posting = _send_back(room, line, 10, is_replaced=True)
    undoing.take_back(posting=posting, by=room.keeper, reason="they stay here")
    line.refresh_from_db()
    line.order.refresh_from_db()

    assert (line.received, line.order.state, room.at(room.roller, "A1")) == (100, "done", 100)


def test_a_delivery_undone_from_its_posting_is_to_come_again(room, line):
    posting = _receive(room, line, 100)
    assert undoing.can_take_back(posting)
    undoing.take_back(posting=posting, by=room.keeper, reason="not ours")
    line.refresh_from_db()
    line.order.refresh_from_db()

    assert (line.received, line.order.state, room.at(room.roller, "A1")) == (0, "released", 0)
