"""Kits hold what assembly uses; picking takes from the shelf what nobody else keeps."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier
from inventory.stock import ledger, reserving
from inventory.stock.models import Posting, Purpose, Reservation
from inventory.stock.queries import availability
from production.assembly.bays import begin_assembly, finish_assembly
from production.assembly.kits import ensure_kits, pick_all_available, pick_line, unpick
from production.assembly.models import Kit, KitLine
from production.orders.models import Order
from production.works.cancelling import cancel_order
from tests.production.floor import finish, floor_shop, kit_of, operation, released, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


def line_of(kit: Kit, code: str) -> KitLine:
    return kit.lines.get(item__code=code)


def kept(order: Order, code: str) -> Decimal:
    row = Reservation.objects.filter(purpose=order.purpose, item__code=code).first()
    return row.quantity if row else Decimal(0)


def rollers(shop: SmallWorkshop, red: str = "2", green: str = "2") -> None:
    shop.stock("RO-RED", red)
    shop.stock("RO-GREEN", green)


def test_a_kit_holds_the_bought_parts_that_assembly_uses_and_no_others(shop):
    order = released(shop, choices={"winch": "electric"})

    kit = kit_of(order)

    assert {line.item.code: line.wanted for line in kit.lines.all()} == {"RO-RED": 2, "RO-GREEN": 2, "BOX": 1}


def test_kits_are_made_once_and_the_questions_do_not_grow_with_the_orders(
    shop, django_assert_max_num_queries
):
    orders = [released(shop) for _ in range(12)]
    with django_assert_max_num_queries(14):
        assert len(ensure_kits(orders)) == 12
    assert ensure_kits(orders) == []
    assert KitLine.objects.count() == 24


def test_picking_a_line_moves_it_into_the_kit_and_keeps_it_for_the_order(shop):
    order = released(shop)
    rollers(shop, red="5")

    pick_line(line=line_of(kit_of(order), "RO-RED"), by=shop.user)

    assert (shop.on("RO-RED", "A1"), shop.on("RO-RED", "KIT")) == (3, 2)
    assert availability([shop.items["RO-RED"].pk])[shop.items["RO-RED"].pk].available == 3


def test_a_second_click_picks_nothing_more(shop):
    rollers(shop, red="5")
    line = line_of(kit_of(released(shop)), "RO-RED")

    for _ in range(2):
        pick_line(line=line, by=shop.user)

    assert shop.on("RO-RED", "KIT") == 2


def test_a_pick_walks_from_shelf_to_shelf_until_it_has_enough(shop):
    shop.stock("RO-RED", "1", "A1")
    shop.stock("RO-RED", "4", "A2")

    pick_line(line=line_of(kit_of(released(shop)), "RO-RED"), by=shop.user)

    assert (shop.on("RO-RED", "A1"), shop.on("RO-RED", "A2")) == (0, 3)


def test_what_another_order_keeps_is_not_picked_and_the_holder_is_named(shop):
    order, other = released(shop), released(shop)
    shop.stock("RO-RED", "3")
    reserving.reserve(item=shop.items["RO-RED"], purpose=other.purpose, quantity=Decimal(2), by=shop.user)

    with pytest.raises(ProblemError) as refusal:
        pick_line(line=line_of(kit_of(order), "RO-RED"), by=shop.user)

    assert "Only 1 of RO-RED" in str(refusal.value)
    assert f"{other.purpose.code} (2)" in str(refusal.value)
    assert shop.on("RO-RED", "A1") == 3


def test_a_pick_of_a_line_that_changed_since_it_was_seen_is_left_alone(shop):
    shop.stock("RO-RED", "2")
    line = line_of(kit_of(released(shop)), "RO-RED")

    for _ in range(2):
        pick_line(line=line, by=shop.user, quantity=Decimal(1), seen=Decimal(0))

    assert shop.on("RO-RED", "KIT") == 1


def test_what_lies_in_another_kit_does_not_count_against_the_shelf(shop):
    order, other = released(shop), released(shop)
    shop.stock("RO-RED", "4")
    pick_line(line=line_of(kit_of(other), "RO-RED"), by=shop.user)

    pick_line(line=line_of(kit_of(order), "RO-RED"), by=shop.user)

    assert (shop.on("RO-RED", "A1"), shop.on("RO-RED", "KIT")) == (0, 4)


def test_a_short_line_says_when_more_comes(shop):
    supplier = Supplier.objects.create(code="S1", name="Roller Works")
    bought = PurchaseOrder.objects.create(number="PO-1", supplier=supplier, state="released")
    due = timezone.localdate() + timedelta(days=9)
    PurchaseOrderLine.objects.create(
        order=bought, position=1, item=shop.items["RO-RED"], quantity=10, price=5, due_on=due
    )

    with pytest.raises(ProblemError, match=f"coming {due:%a} {due.day} {due:%b}"):
        pick_line(line=line_of(kit_of(released(shop)), "RO-RED"), by=shop.user)


def test_picking_all_takes_what_is_there_in_one_posting_and_names_the_rest(shop):
    kit = kit_of(released(shop))
    rollers(shop, red="2", green="1")
    before = Posting.objects.count()

    short = pick_all_available(kit=kit, by=shop.user)

    kit.refresh_from_db()
    assert [line.item.code for line in short] == ["RO-GREEN"]
    assert line_of(kit, "RO-GREEN").picked == 1
    assert Posting.objects.count() == before + 1
    assert kit.state == "begun"


def test_a_kit_with_all_lines_picked_is_complete(shop):
    kit = kit_of(released(shop))
    rollers(shop)

    assert pick_all_available(kit=kit, by=shop.user) == []
    assert pick_all_available(kit=kit, by=shop.user) == []

    kit.refresh_from_db()
    assert kit.state == "done"
    assert kit.completed_at is not None


def test_a_line_put_back_goes_to_its_shelf_and_can_be_picked_again(shop):
    order = released(shop)
    shop.stock("RO-RED", "2", "A2")
    line = line_of(kit_of(order), "RO-RED")
    pick_line(line=line, by=shop.user)

    for _ in range(2):
        unpick(line=line, by=shop.user)

    assert (shop.on("RO-RED", "A2"), shop.on("RO-RED", "KIT")) == (2, 0)
    assert kept(order, "RO-RED") == 2
    pick_line(line=line, by=shop.user)
    assert shop.on("RO-RED", "KIT") == 2
    assert ledger.audit() == []


def test_the_kit_of_a_cancelled_order_can_only_be_put_back(shop):
    order = released(shop)
    rollers(shop)
    kit = kit_of(order)
    pick_line(line=line_of(kit, "RO-RED"), by=shop.user)
    cancel_order(order=order, by=shop.user, reason="boat sold")

    with pytest.raises(ProblemError, match="cancelled"):
        pick_line(line=line_of(kit, "RO-GREEN"), by=shop.user)
    unpick(line=line_of(kit, "RO-RED"), by=shop.user)

    assert shop.on("RO-RED", "A1") == 2


def framed(shop: SmallWorkshop) -> Kit:
    """A complete kit whose frame is there."""
    order = welded(shop)
    finish(shop, order, "galvanise")
    rollers(shop)
    kit = kit_of(order)
    pick_all_available(kit=kit, by=shop.user)
    kit.refresh_from_db()
    return kit


def test_a_kit_taken_by_one_bay_is_refused_to_another_with_its_name(shop):
    kit = framed(shop)
    begin_assembly(kit=kit, bay=1, by=shop.user)

    with pytest.raises(ProblemError, match="already in bay 1, taken by office"):
        begin_assembly(kit=kit, bay=2, by=shop.user)

    assert begin_assembly(kit=kit, bay=1, by=shop.user).bay == 1


def test_a_short_kit_is_not_taken_into_a_bay(shop):
    order = welded(shop)
    finish(shop, order, "galvanise")

    with pytest.raises(ProblemError, match="2 × RO-RED Roller red short"):
        begin_assembly(kit=kit_of(order), bay=1, by=shop.user)


def test_a_kit_whose_frame_is_away_is_not_taken_into_a_bay(shop):
    order = welded(shop)
    rollers(shop)
    kit = kit_of(order)
    pick_all_available(kit=kit, by=shop.user)

    with pytest.raises(ProblemError, match="galvanise is not done"):
        begin_assembly(kit=kit, bay=1, by=shop.user)


def test_an_assembled_trailer_uses_up_its_kit_once_and_keeps_nothing_back(shop):
    kit = framed(shop)
    begin_assembly(kit=kit, bay=1, by=shop.user)

    for _ in range(2):
        finish_assembly(kit=kit, by=shop.user)

    assert (shop.on("RO-RED", "KIT"), shop.on("CH", "WELD"), shop.on("HT", "READY")) == (0, 0, 1)
    assert kept(kit.order, "RO-RED") == 0
    assert operation(kit.order, "assemble").state == "done"
    assert ledger.audit() == []


def test_a_trailer_that_no_bay_has_begun_cannot_be_finished(shop):
    with pytest.raises(ProblemError, match="No bay has begun"):
        finish_assembly(kit=framed(shop), by=shop.user)


def test_nothing_is_picked_into_a_kit_that_stands_in_a_bay(shop):
    kit = framed(shop)
    begin_assembly(kit=kit, bay=1, by=shop.user)

    with pytest.raises(ProblemError, match="already in assembly"):
        unpick(line=line_of(kit, "RO-RED"), by=shop.user)


def test_a_draft_has_no_kit(shop):
    assert ensure_kits([shop.draft()]) == []
    assert Purpose.objects.count() == 0
