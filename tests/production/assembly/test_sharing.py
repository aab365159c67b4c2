"""The shelves shared out among the open orders: first needed, first served."""

from datetime import timedelta

import pytest
from django.utils import timezone

from inventory.stock.models import Reservation
from production.assembly import sharing
from production.assembly.kits import pick_line
from tests.production.floor import floor_shop, kit_of, released

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return floor_shop()


def _kept(order, code="RO-RED"):
    row = Reservation.objects.filter(purpose=order.purpose, item__code=code).first()
    return row.quantity if row else 0


def _due(order, days):
    order.promised_for = None
    order.asked_for = timezone.localdate() + timedelta(days=days)
    order.save()


def test_the_order_that_goes_first_keeps_its_rollers(shop):
    later, sooner = released(shop), released(shop)
    _due(later, 40)
    _due(sooner, 20)
    shop.stock("RO-RED", "3")
    sharing.share_out(by=shop.user)

    assert (_kept(sooner), _kept(later)) == (2, 1)


def test_one_item_is_shared_out_and_others_are_left(shop):
    order = released(shop)
    shop.stock("RO-RED", "3")
    shop.stock("RO-GREEN", "3")
    sharing.share_out(by=shop.user, item=shop.items["RO-RED"])

    assert (_kept(order), _kept(order, "RO-GREEN")) == (2, 0)


def test_an_order_with_a_kit_wants_what_its_kit_wants_and_keeps_what_is_picked(shop):
    later, sooner = released(shop), released(shop)
    _due(later, 40)
    _due(sooner, 20)
    shop.stock("RO-RED", "2")
    pick_line(line=kit_of(later).lines.get(item__code="RO-RED"), by=shop.user)
    sharing.share_out(by=shop.user)

    assert (_kept(sooner), _kept(later)) == (0, 2)


def test_the_questions_do_not_grow_with_the_orders(shop, django_assert_max_num_queries):
    for _ in range(8):
        released(shop)
    with django_assert_max_num_queries(16):
        assert len(sharing.needs()) == 16
