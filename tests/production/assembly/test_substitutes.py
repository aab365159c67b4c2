"""A substitute is offered where a kit is short and taken only by a person's yes."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import reserving
from inventory.stores.rules import Handling, add_substitute, set_handling
from production.assembly import swapping
from production.assembly.bays import begin_assembly, finish_assembly
from production.assembly.kits import pick_all_available
from production.works.models import Swap
from tests.production.floor import finish, floor_shop, kit_of, released, welded

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shop = floor_shop()
    shop.user.is_superuser = True
    shop.user.save()
    return shop


def _framed(shop):
    """An order whose frame is back from the galvaniser."""
    order = welded(shop)
    finish(shop, order, "galvanise")
    return order


def _line(kit, code):
    return kit.lines.filter(item__code=code).first()


def _allow(shop, both_ways=False):
    add_substitute(
        item=shop.items["RO-RED"],
        instead=shop.items["RO-GREEN"],
        note="colour agreed with the customer",
        both_ways=both_ways,
        by=shop.user,
    )


def _take(shop, kit, quantity, of="RO-RED", instead="RO-GREEN"):
    return swapping.take_instead(
        line=_line(kit, of), instead=shop.items[instead], by=shop.user, quantity=Decimal(quantity)
    )


def test_a_trailer_is_built_with_the_substitute(shop):
    order = _framed(shop)
    kit = kit_of(order)
    shop.stock("RO-GREEN", "4")
    _allow(shop)
    _take(shop, kit, 2)
    assert (_line(kit, "RO-RED").wanted, _line(kit, "RO-GREEN").wanted) == (0, 4)

    assert pick_all_available(kit=kit, by=shop.user) == []
    kit = begin_assembly(kit=kit, bay=1, by=shop.user)
    finish_assembly(kit=kit, by=shop.user)
    assert (shop.on("RO-GREEN", "KIT"), shop.on("RO-GREEN", "A1")) == (0, 0)


def test_nobody_said_it_may_be_taken(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "4")
    with pytest.raises(ProblemError, match="Nobody said that RO-GREEN may be taken instead of RO-RED"):
        _take(shop, kit, 2)


def test_a_substitute_holds_one_way_unless_said_otherwise(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-RED", "4")
    _allow(shop)
    with pytest.raises(ProblemError, match="Nobody said"):
        _take(shop, kit, 2, of="RO-GREEN", instead="RO-RED")
    _allow(shop, both_ways=True)
    _take(shop, kit, 2, of="RO-GREEN", instead="RO-RED")

    assert _line(kit, "RO-RED").wanted == 4


def test_no_more_is_taken_than_the_shelves_can_give_beside_the_kits_own(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "3")
    _allow(shop)
    with pytest.raises(ProblemError, match="the kit wants 2, the shelves can give 1"):
        _take(shop, kit, 2)


def test_a_second_click_changes_nothing(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "9")
    _allow(shop)
    for _ in range(2):
        swapping.take_instead(
            line=_line(kit, "RO-RED"), instead=shop.items["RO-GREEN"], by=shop.user, seen=Decimal(2)
        )

    assert (Swap.objects.get().quantity, _line(kit, "RO-GREEN").wanted) == (2, 4)


def test_a_substitute_is_given_up_before_it_is_picked(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "9")
    _allow(shop)
    _take(shop, kit, 1)
    swapping.undo_swap(swap=Swap.objects.get(), by=shop.user)
    assert (_line(kit, "RO-RED").wanted, _line(kit, "RO-GREEN").wanted) == (2, 2)

    _take(shop, kit, 1)
    pick_all_available(kit=kit, by=shop.user)
    with pytest.raises(ProblemError, match="RO-GREEN is picked already"):
        swapping.undo_swap(swap=Swap.objects.get(), by=shop.user)


def test_what_stands_in_bins_at_work_is_not_picked_and_used_as_far_as_it_is_known(shop):
    set_handling(item=shop.items["RO-RED"], handling=Handling(bin_quantity=Decimal(50)), by=shop.user)
    order = _framed(shop)
    kit = kit_of(order)
    assert _line(kit, "RO-RED") is None

    shop.stock("RO-GREEN", "2")
    shop.stock("RO-RED", "1", "FLOOR")
    pick_all_available(kit=kit, by=shop.user)
    finish_assembly(kit=begin_assembly(kit=kit, bay=1, by=shop.user), by=shop.user)
    assert shop.on("RO-RED", "FLOOR") == 0


def test_shortages_stand_above_the_list_with_who_holds_them_and_what_may_be_taken_instead(shop, client):
    holder, order = released(shop), released(shop)
    shop.stock("RO-RED", "1")
    reserving.reserve(item=shop.items["RO-RED"], purpose=holder.purpose, quantity=Decimal(1), by=shop.user)
    shop.stock("RO-GREEN", "9")
    _allow(shop)
    kit = kit_of(order)
    client.force_login(shop.user)
    page = client.get(f"/assembly/{order.number}/").content.decode()
    assert "Short, before picking begins" in page
    assert f"give from {holder.number} to this order" in page
    assert "colour agreed with the customer; 7 to be had" in page

    address = f"/assembly/{order.number}/instead/{_line(kit, 'RO-RED').pk}/"
    for _ in range(2):
        client.post(address, {"instead": "RO-GREEN", "quantity": "2", "seen": "2.0000"})
    page = client.get(f"/assembly/{order.number}/").content.decode()
    assert "Taken instead" in page
    assert _line(kit, "RO-GREEN").wanted == 4

    client.post(f"/assembly/{order.number}/undo-swap/{Swap.objects.get().pk}/")
    assert _line(kit, "RO-GREEN").wanted == 2


def test_the_shelves_are_shared_out_from_a_page(shop, client):
    order = released(shop)
    shop.stock("RO-RED", "3")
    client.force_login(shop.user)
    answer = client.post("/assembly/share-out/", {"item": "RO-RED"}, follow=True)

    assert "1 item changed hands" in answer.content.decode()
    assert order.purpose.reservations.get().quantity == 2
