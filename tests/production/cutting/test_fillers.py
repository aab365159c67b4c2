"""Fillers: cut parts for the shelf in the gaps of sheets, never more than wanted, never at the cost of steel."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.levels.models import ItemLevel
from production.cutting.batching import Gathered, Owed, lay_out, read_flats
from production.cutting.counting import finish_sheet
from production.cutting.fillers import COVER_DAYS, filled_with, shelf_wants, wants_left
from production.cutting.models import BatchRenest, CutPlacement
from production.cutting.raws import read_raw
from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db

METAL = ("S355", Decimal(6))


@pytest.fixture
def shop():
    return floor_shop()


def level(shop, reorder_point, daily_mean="0"):
    return ItemLevel.objects.create(
        item=shop.items["PL"], reorder_point=Decimal(reorder_point), daily_mean=Decimal(daily_mean)
    )


def flats(shop):
    return read_flats([shop.items["PL"].pk])


def owed(shop, count, order_id=None):
    today = timezone.localdate()
    return Owed(order_id, shop.items["PL"].pk, count, today, today)


def test_the_shelf_takes_its_level_and_some_days_use_less_what_it_has_and_is_owed(shop):
    level(shop, "6", "0.5")
    shop.stock("PL", "3")

    wants = shelf_wants(flats(shop), [owed(shop, 2), owed(shop, 50, order_id=1)])

    assert wants == {shop.items["PL"].pk: 6 + COVER_DAYS // 2 - 3 - 2}


def test_a_part_without_a_level_and_a_full_shelf_want_nothing(shop):
    assert shelf_wants(flats(shop)) == {}
    level(shop, "6")
    shop.stock("PL", "6")
    assert shelf_wants(flats(shop)) == {}


def test_fillers_lie_in_the_gaps_for_nobody_and_no_more_than_wanted(shop):
    item = shop.items["PL"].pk
    known = flats(shop)
    raws = [raw for raw in read_raw()[METAL] if not raw.is_here]
    want = {item: 7}
    gathered = Gathered(METAL, (owed(shop, 30, order_id=5),), 1.0)

    laid = lay_out(gathered, known, raws, 0.2, lambda _: True, fillers=want)

    spots = [spot for sheet in laid.sheets for spot in sheet.spots]
    assert len(laid.sheets) == 1
    assert sum(spot.order_id == 5 for spot in spots) == 30
    assert all(spot.order_id is None for spot in spots if spot.is_filler)
    assert 0 < filled_with(laid)[known[item].pk] <= 7
    assert wants_left(want, [laid], known)[item] == 7 - filled_with(laid)[known[item].pk]
    assert laid.left == ()


def filler(shop, sheet):
    one = sheet.placements.first()
    return CutPlacement.objects.create(
        sheet=sheet, part=one.part, x_mm=1000, y_mm=500, rotation_deg=0, is_filler=True
    )


def test_the_batch_and_its_sheet_name_the_fillers(client, shop):
    batch = cut_batch(shop, [released(shop)])
    filler(shop, batch.sheets.get())
    client.force_login(shop.user)

    page = client.get(reverse("laser:batch", args=[batch.number])).content.decode()

    assert "Fillers for the shelf" in page
    assert "1 × PL" in page
    assert (
        "filler for the shelf" in client.get(reverse("laser:sheet", args=[batch.number, 1])).content.decode()
    )


def test_a_good_filler_is_booked_to_the_rack_for_nobody_and_a_bad_one_is_not_cut_again(shop):
    shop.stock("SH", "1")
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    good, bad = filler(shop, sheet), filler(shop, sheet)

    finish_sheet(sheet=sheet, by=shop.user, scrapped={bad.pk: "burnt"})

    good.refresh_from_db()
    assert good.state == "good"
    assert shop.on("PL", "CUT") == 5
    assert not BatchRenest.objects.exists()
