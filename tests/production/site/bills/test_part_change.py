"""Another drawing of a part: what it touches and costs is shown before it is accepted."""

from decimal import Decimal

import pytest

from bom.items.models import Item
from bom.structure.models import BillLine, Revision
from production.site.bills.part_change import change_of_part
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def plate(shop: SmallWorkshop) -> Item:
    """The plate of 1 kg takes a hundredth of a sheet of 100 kg at 200."""
    sheet = Item.objects.create(
        code="SH",
        name="Sheet 8 mm",
        kind=Item.Kind.SHEET,
        grade="S355",
        thickness_mm=8,
        mass_kg=100,
        standard_cost=200,
    )
    revision = Revision.objects.get(item__code="PL")
    BillLine.objects.create(revision=revision, position=10, component=sheet, quantity="0.01")
    return shop.items["PL"]


def test_orders_are_told_by_how_far_they_are_and_one_is_reckoned(shop, plate):
    waiting, cut = (confirm_order(order=shop.draft(), by=shop.user) for _ in range(2))
    WorksOperation.objects.filter(works_order__order=cut, process__code="laser").update(state="done")

    change = change_of_part(plate)

    assert (change.touched.not_begun, change.touched.made) == ((waiting.number,), (cut.number,))
    assert (change.wanted, change.made, change.laid, change.still_to_cut) == (8, 4, 0, 4)
    assert change.spent == Decimal("8.00")
    assert (change.cost.before, change.cost.after) == (2, 2)
    assert [piece.subject for piece in change.cost.pieces_before] == ["SH"]


def test_the_number_of_queries_does_not_grow_with_the_orders(shop, plate, django_assert_max_num_queries):
    for _ in range(5):
        confirm_order(order=shop.draft(), by=shop.user)

    with django_assert_max_num_queries(14):
        change_of_part(plate, Decimal(2))


def test_the_page_is_for_all_and_its_money_for_those_who_may_see_it(shop, plate, office, viewer):
    confirm_order(order=shop.draft(), by=shop.user)

    seen, hidden = (client.get("/bills/PL/part-change/").content.decode() for client in (office, viewer))

    assert "want" in seen
    assert "£2.00" in seen
    assert "£2.00" not in hidden
