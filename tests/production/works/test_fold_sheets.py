"""What the press brake is shown: bends, flat length, both hands; a constant number of queries."""

from decimal import Decimal

import pytest
from django.urls import reverse

from bom.geometry.folding import BendDraft, put_in_usual_values, set_bends
from bom.geometry.models import FlatPart
from bom.items.models import Item
from bom.structure.models import Operation, Process, Revision
from production.works.fold_sheets import fold_sheets
from tests.production.floor import floor_shop, released

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    made = floor_shop()
    Operation.objects.create(
        revision=Revision.objects.get(item=made.items["PL"]),
        sequence=20,
        process=Process.objects.get(code="fold"),
        setup_minutes=4,
        run_minutes=1,
    )
    return made


def bend_the_plate(shop) -> None:
    put_in_usual_values()
    middle = BendDraft(Decimal(60), Decimal(0), Decimal(60), Decimal(100), Decimal(90), Decimal(6), "up")
    set_bends(part=FlatPart.objects.get(item=shop.items["PL"]), bends=[middle])


def test_a_part_is_shown_with_its_flat_length_and_every_angle(client, shop):
    bend_the_plate(shop)
    order = released(shop)

    [sheet] = fold_sheets(order)

    assert (sheet.item.code, sheet.count, sheet.folding.flat_mm) == ("PL", 4, 200)
    assert [row.row.angle_deg for row in sheet.folding.rows] == [90]
    client.force_login(shop.user)
    page = client.get(reverse("works:job", args=["fold", order.number])).content.decode()
    assert "90°" in page
    assert "Folded, from its edge" in page


def test_a_part_without_recorded_bends_says_so(client, shop):
    order = released(shop)
    client.force_login(shop.user)
    page = client.get(reverse("works:job", args=["fold", order.number])).content.decode()
    assert "No bend is recorded" in page


def test_more_parts_ask_no_more_queries(shop, django_assert_max_num_queries):
    bend_the_plate(shop)
    order = released(shop)
    with django_assert_max_num_queries(9):
        assert len(fold_sheets(order)) == 1
    assert Item.objects.filter(code="PL").exists()
