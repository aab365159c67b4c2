"""The zinc a load picked up, weighed against the least that a good coating weighs."""

from decimal import Decimal

import pytest

from bom.costing.coating import zinc_kg
from bom.items.models import Item
from production.coating.pick_up import PickUp, pick_up
from tests.production.floor import floor_shop, load, released


def weighed(out: str, back: str) -> PickUp:
    return PickUp(Decimal(120), Decimal(10), Decimal("5.05"), Decimal(out), Decimal(back))


def test_pick_up_is_the_difference_of_the_scales_and_its_share_of_the_black_mass():
    found = weighed("125.0", "132.5")

    assert (found.picked_kg, found.picked_share, found.mean_g_m2) == (Decimal("7.5"), Decimal("0.06"), 750)
    assert not found.is_thin


def test_less_zinc_than_the_classes_ask_for_is_said():
    assert weighed("125.0", "130.0").is_thin


def test_nothing_is_said_of_a_load_that_was_not_weighed_both_times():
    found = PickUp(Decimal(120), Decimal(10), Decimal("5.05"), Decimal(125))

    assert (found.picked_kg, found.picked_share, found.mean_g_m2, found.is_thin) == (None, None, None, False)
    assert found.black_kg == 125


@pytest.mark.django_db
def test_the_least_zinc_of_a_load_is_that_of_all_parts_of_its_assemblies():
    shop = floor_shop()
    Item.objects.filter(code="PL").update(surface_m2=Decimal("0.04"), thickness_mm=6)
    made = load(shop, [released(shop), released(shop)])

    found = pick_up(made.lines.select_related("order", "item"), None, None)

    # Two chassis of four plates each; the beams have no surface on their cards.
    assert found.surface_m2 == Decimal("0.32")
    assert found.least_kg == zinc_kg(Decimal("0.32"), Decimal(6))
    assert found.reckoned_kg == 240
