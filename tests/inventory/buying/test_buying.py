"""Purchase orders, from want to shelf."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.buying import ordering, queries, receiving
from inventory.buying.models import PurchaseOrder, Receipt, Supplier, SupplierItem
from inventory.buying.ordering import Want
from inventory.stock.models import Lot
from inventory.stock.queries import availability, open_receipts

DUE = date(2026, 12, 1)


@pytest.fixture
def rubber(room) -> Supplier:
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll", minimum_value=Decimal(100))
    SupplierItem.objects.create(
        supplier=supplier, item=room.roller, price=Decimal("3.20"), pack=10, lead_days=4
    )
    return supplier


@pytest.fixture
def axles(room) -> Supplier:
    supplier = Supplier.objects.create(code="AXLES", name="Axle Works")
    SupplierItem.objects.create(supplier=supplier, item=room.axle, price=Decimal(210), lead_days=40)
    return supplier


def _want(item, quantity, due_on=DUE, supplier=None) -> Want:
    return Want(item.pk, supplier.pk if supplier else None, Decimal(str(quantity)), due_on)


def _raise(room, *wants) -> list[PurchaseOrder]:
    return ordering.raise_orders(wants=wants, by=room.keeper)


@pytest.fixture
def order(room, rubber) -> PurchaseOrder:
    """Twenty rollers, released."""
    return ordering.release_order(order=_raise(room, _want(room.roller, 20))[0], by=room.keeper)


def _receive(room, order, quantity, key="goods-in:1", lot_code="", place="A1"):
    return receiving.receive_line(
        line=order.lines.get(),
        quantity=Decimal(str(quantity)),
        location=room.places[place],
        by=room.keeper,
        lot_code=lot_code,
        key=key,
    )


def test_wants_are_gathered_by_supplier(room, rubber, axles):
    orders = _raise(room, _want(room.roller, 3), _want(room.axle, 2), _want(room.roller, 4))

    assert [order.supplier for order in orders] == [axles, rubber]
    assert [line.quantity for order in orders for line in order.lines.all()] == [2, 10]


def test_each_due_day_has_a_line_of_its_own(room, rubber):
    order = _raise(room, _want(room.roller, 3), _want(room.roller, 3, DUE + timedelta(days=7)))[0]

    assert [(line.position, line.quantity) for line in order.lines.all()] == [(1, 10), (2, 10)]


def test_the_preferred_supplier_is_taken_and_another_may_be_named(room, rubber):
    other = Supplier.objects.create(code="CHEAP", name="Cheap Rollers")
    SupplierItem.objects.create(supplier=other, item=room.roller, price=1, lead_days=9, is_preferred=False)

    assert _raise(room, _want(room.roller, 3))[0].supplier == rubber
    assert _raise(room, _want(room.roller, 3, supplier=other))[0].supplier == other


def test_what_nobody_sells_is_named_and_nothing_is_drafted(room, rubber):
    with pytest.raises(ProblemError, match="No supplier sells AXL-750"):
        _raise(room, _want(room.roller, 3), _want(room.axle, 1))

    assert not PurchaseOrder.objects.exists()


def test_a_supplier_who_does_not_sell_it_is_refused_with_one_who_does(room, rubber, axles):
    with pytest.raises(ProblemError, match=r"does not sell RLR-120-BLU\. Buy it from Rubber and Roll"):
        _raise(room, _want(room.roller, 3, supplier=axles))


def test_numbers_are_never_given_twice(room, rubber):
    numbers = {_raise(room, _want(room.roller, 1))[0].number for _ in range(3)}

    assert len(numbers) == 3
    assert all(number.startswith("PO-") for number in numbers)


def test_the_order_says_what_is_missing_to_the_minimum_value(room, rubber):
    order = _raise(room, _want(room.roller, 20))[0]

    assert queries.order_value(order) == queries.OrderValue(Decimal("64.00"), Decimal("36.00"))


def test_only_a_released_order_counts_as_on_order(room, rubber):
    order = _raise(room, _want(room.roller, 20))[0]
    assert availability([room.roller.pk])[room.roller.pk].on_order == 0

    ordering.release_order(order=order, by=room.keeper)
    assert availability([room.roller.pk])[room.roller.pk].on_order == 20
    assert [(receipt.order_number, receipt.quantity) for receipt in open_receipts()] == [(order.number, 20)]


def test_an_order_is_released_once(room, order):
    with pytest.raises(ProblemError, match="It is released and cannot be released"):
        ordering.release_order(order=order, by=room.keeper)

    assert order.ordered_on == timezone.localdate()


def test_an_empty_order_is_not_released(room, rubber):
    empty = ordering.new_order(supplier=rubber, by=room.keeper)

    with pytest.raises(ProblemError, match="has no lines"):
        ordering.release_order(order=empty, by=room.keeper)


def test_a_draft_can_be_changed_and_a_released_order_cannot(room, rubber):
    draft = _raise(room, _want(room.roller, 20))[0]
    line = ordering.change_line(line=draft.lines.get(), quantity=Decimal(30), due_on=DUE, by=room.keeper)
    assert line.quantity == 30

    ordering.release_order(order=draft, by=room.keeper)
    for change in (
        lambda: ordering.change_line(line=line, quantity=Decimal(40), due_on=DUE, by=room.keeper),
        lambda: ordering.remove_line(line=line, by=room.keeper),
        lambda: ordering.add_line(
            order=draft, item=room.roller, quantity=Decimal(1), due_on=DUE, by=room.keeper
        ),
    ):
        with pytest.raises(ProblemError, match="It is released"):
            change()


def test_a_line_is_added_in_whole_packs(room, rubber):
    draft = ordering.new_order(supplier=rubber, by=room.keeper)
    line = ordering.add_line(order=draft, item=room.roller, quantity=Decimal(11), due_on=DUE, by=room.keeper)

    assert (line.quantity, line.price) == (20, Decimal("3.20"))


def test_part_deliveries_leave_the_rest_to_come(room, order):
    _receive(room, order, 5, "goods-in:1")
    assert availability([room.roller.pk])[room.roller.pk].on_order == 15

    _receive(room, order, 15, "goods-in:2", place="A2")
    order.refresh_from_db()
    assert order.state == "done"
    assert (room.at(room.roller, "A1"), room.at(room.roller, "A2")) == (5, 15)


def test_a_form_sent_twice_books_once(room, order):
    first = _receive(room, order, 5, "goods-in:1")
    again = _receive(room, order, 5, "goods-in:1")

    assert again.pk == first.pk
    assert order.lines.get().received == 5
    assert Receipt.objects.count() == 1


def test_a_form_sent_again_with_another_quantity_is_refused(room, order):
    _receive(room, order, 5, "goods-in:1")

    with pytest.raises(ProblemError, match="already booked another delivery"):
        _receive(room, order, 6, "goods-in:1")


def test_more_than_ordered_is_taken_and_said(room, order):
    posting = _receive(room, order, 22)

    assert posting.reason.endswith("2 more than ordered")
    assert availability([room.roller.pk])[room.roller.pk].on_order == 0


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN"])
def test_nothing_cannot_come_in(room, order, quantity):
    with pytest.raises(ProblemError, match="cannot come in"):
        _receive(room, order, quantity)


def test_goods_go_on_a_shelf(room, order):
    with pytest.raises(ProblemError, match="CONV is not a shelf"):
        _receive(room, order, 5, place="CONV")


def test_nothing_comes_in_on_a_draft_or_a_closed_line(room, rubber, order):
    draft = _raise(room, _want(room.roller, 20))[0]
    with pytest.raises(ProblemError, match="The purchase order is draft"):
        _receive(room, draft, 5)

    _receive(room, order, 5)
    order.lines.update(is_closed=True)
    with pytest.raises(ProblemError, match="The line is closed"):
        _receive(room, order, 5, "goods-in:2")


def test_closing_the_last_line_closes_the_order(room, order):
    _receive(room, order, 5)
    ordering.close_line(line=order.lines.get(), by=room.keeper)
    order.refresh_from_db()

    assert order.state == "done"
    assert availability([room.roller.pk])[room.roller.pk].on_order == 0


def test_an_order_is_cancelled_only_while_nothing_came(room, order):
    _receive(room, order, 5)
    with pytest.raises(ProblemError, match="already come"):
        ordering.cancel_order(order=order, by=room.keeper)


def test_a_cancelled_order_is_not_on_order(room, order):
    with pytest.raises(ProblemError, match="Say why it is cancelled"):
        ordering.cancel_order(order=order, by=room.keeper)
    cancelled = ordering.cancel_order(order=order, by=room.keeper, reason="ordered twice")

    assert (cancelled.state, cancelled.cancel_reason) == ("cancelled", "ordered twice")
    assert availability([room.roller.pk])[room.roller.pk].on_order == 0


def test_a_delivery_taken_back_is_to_come_again(room, order):
    posting = _receive(room, order, 20)
    receiving.take_back(receipt=posting.receipt, by=room.keeper, reason="wrong box")
    order.refresh_from_db()

    assert order.state == "released"
    assert room.at(room.roller, "A1") == 0
    assert availability([room.roller.pk])[room.roller.pk].on_order == 20
    with pytest.raises(ProblemError, match="already been reversed"):
        receiving.take_back(receipt=posting.receipt, by=room.keeper, reason="wrong box")


@pytest.fixture
def axle_order(room, axles) -> PurchaseOrder:
    return ordering.release_order(order=_raise(room, _want(room.axle, 3))[0], by=room.keeper)


def test_each_serial_number_is_one_piece(room, axle_order):
    _receive(room, axle_order, 2, lot_code="S1, S2")

    lots = Lot.objects.filter(item=room.axle)
    assert [(lot.code, lot.kind, room.at(room.axle, "A1", lot)) for lot in lots] == [
        ("S1", "serial", 1),
        ("S2", "serial", 1),
    ]


@pytest.mark.parametrize(
    ("quantity", "codes", "said"),
    [
        pytest.param(2, "S1", "2 of AXL-750 came and 1 serial numbers were given", id="one missing"),
        pytest.param(1, "", "1 of AXL-750 came and 0 serial numbers", id="none"),
        pytest.param(2, "S1 S1", "S1 is given twice", id="twice"),
        pytest.param("1.5", "S1", "1.5 of AXL-750", id="half an axle"),
    ],
)
def test_serial_numbers_must_fit_the_quantity(room, axle_order, quantity, codes, said):
    with pytest.raises(ProblemError, match=said):
        _receive(room, axle_order, quantity, lot_code=codes)


def test_a_serial_number_that_is_here_does_not_come_again(room, axle_order):
    _receive(room, axle_order, 1, lot_code="S1")

    with pytest.raises(ProblemError, match="S1 of AXL-750 is already here"):
        _receive(room, axle_order, 1, "goods-in:2", lot_code="S1")


def test_steel_comes_with_its_cast(room, rubber, order):
    room.roller.tracking, room.roller.kind = "lot", "section"
    room.roller.save()
    with pytest.raises(ProblemError, match="kept by lot or cast and none was given"):
        _receive(room, order, 5)
    _receive(room, order, 5, lot_code="C-4711")

    assert Lot.objects.get().cast == "C-4711"


def test_what_is_counted_only_has_no_lot(room, order):
    with pytest.raises(ProblemError, match="counted only"):
        _receive(room, order, 5, lot_code="L1")


def test_expected_lines_are_the_open_ones_soonest_first(room, rubber, order):
    later = _raise(room, _want(room.roller, 10, DUE + timedelta(days=9)))[0]
    ordering.release_order(order=later, by=room.keeper)
    _receive(room, order, 5)

    assert [line.to_come for line in queries.expected_lines()] == [15, 10]
    assert [line.to_come for line in queries.expected_lines(until=DUE)] == [15]
