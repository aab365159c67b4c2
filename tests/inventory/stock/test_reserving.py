"""Reservations: never more than is free, and gone when used."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import reserving
from inventory.stock.models import Reservation
from inventory.stock.queries import availability
from inventory.stock.reserving import Want


def _kept(room, purpose) -> Decimal:
    found = Reservation.objects.filter(item=room.roller, purpose=purpose).first()
    return found.quantity if found else Decimal(0)


def test_reserving_twice_adds_up_in_one_row(room):
    room.bring(room.roller, 5)
    order = room.purpose()
    for quantity in (2, 1):
        reserving.reserve(item=room.roller, purpose=order, quantity=Decimal(quantity), by=room.keeper)

    assert [row.quantity for row in Reservation.objects.all()] == [3]
    assert availability([room.roller.pk])[room.roller.pk].available == 2


def test_more_than_is_free_cannot_be_kept(room):
    room.bring(room.roller, 5)
    reserving.reserve(item=room.roller, purpose=room.purpose("1001"), quantity=Decimal(4), by=room.keeper)
    with pytest.raises(ProblemError, match="1 of RLR-120-BLU are free and 2 were asked for"):
        reserving.reserve(item=room.roller, purpose=room.purpose("1002"), quantity=Decimal(2), by=room.keeper)

    assert _kept(room, room.purpose("1002")) == 0


def test_work_in_progress_counts_and_the_customer_does_not(room):
    room.bring(room.roller, 5)
    room.move(room.roller, 2, "A1", "KIT")
    room.move(room.roller, 1, "A1", "CUSTOMER")

    assert availability([room.roller.pk])[room.roller.pk].on_hand == 4


def test_many_are_kept_together_or_not_at_all(room):
    room.bring(room.roller, 5)
    order = room.purpose()
    wants = [Want(room.roller.pk, order.pk, Decimal(5)), Want(room.axle.pk, order.pk, Decimal(1))]
    with pytest.raises(ProblemError, match="0 of AXL-750 are free"):
        reserving.reserve_many(wants=wants, by=room.keeper)

    assert not Reservation.objects.exists()


def test_two_wants_for_one_item_are_judged_by_their_sum(room):
    room.bring(room.roller, 5)
    wants = [Want(room.roller.pk, room.purpose(code).pk, Decimal(3)) for code in ("1001", "1002")]

    with pytest.raises(ProblemError, match="6 were asked for"):
        reserving.reserve_many(wants=wants, by=room.keeper)


@pytest.mark.parametrize("quantity", ["0", "-1", "0.00001"])
def test_nothing_cannot_be_kept(room, quantity):
    with pytest.raises(ProblemError, match="above zero"):
        reserving.reserve(
            item=room.roller, purpose=room.purpose(), quantity=Decimal(quantity), by=room.keeper
        )


def test_letting_go_of_some_leaves_the_rest(room):
    room.bring(room.roller, 5)
    order = room.purpose()
    reserving.reserve(item=room.roller, purpose=order, quantity=Decimal(4), by=room.keeper)

    assert reserving.release(item=room.roller, purpose=order, quantity=Decimal(1)) == 1
    assert _kept(room, order) == 3
    assert reserving.release(item=room.roller, purpose=order) == 3
    assert not Reservation.objects.exists()


def test_letting_go_of_more_than_is_kept_is_refused(room):
    room.bring(room.roller, 5)
    order = room.purpose()
    reserving.reserve(item=room.roller, purpose=order, quantity=Decimal(1), by=room.keeper)
    with pytest.raises(ProblemError, match="1 of RLR-120-BLU are kept for 1001; 2 cannot be let go"):
        reserving.release(item=room.roller, purpose=order, quantity=Decimal(2))

    assert _kept(room, order) == 1


def test_letting_go_of_all_clears_one_order_only(room):
    room.bring(room.roller, 5)
    for code in ("1001", "1002"):
        reserving.reserve(item=room.roller, purpose=room.purpose(code), quantity=Decimal(2), by=room.keeper)

    assert reserving.release_all(purpose=room.purpose("1001")) == 1
    assert _kept(room, room.purpose("1002")) == 2


def test_using_lowers_what_is_kept_down_to_nothing_and_never_fails(room):
    room.bring(room.roller, 5)
    order = room.purpose()
    reserving.reserve(item=room.roller, purpose=order, quantity=Decimal(3), by=room.keeper)
    reserving.use(item_id=room.roller.pk, purpose=order, quantity=Decimal(1))
    assert _kept(room, order) == 2

    reserving.use(item_id=room.roller.pk, purpose=order, quantity=Decimal(9))
    reserving.use(item_id=room.axle.pk, purpose=order, quantity=Decimal(9))
    assert not Reservation.objects.exists()


def test_availability_asks_three_questions_whatever_the_number(room, django_assert_num_queries):
    room.bring(room.roller, 5)

    with django_assert_num_queries(3):
        assert availability([room.roller.pk, room.axle.pk])[room.axle.pk].on_hand == 0
    with django_assert_num_queries(3):
        assert set(availability()) == {room.roller.pk}
