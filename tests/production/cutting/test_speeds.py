"""The laser's speeds: which row holds, who may set one, and the working a sheet's minutes open into."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse
from django.utils import timezone

from production.cutting.batching import Gathered, Owed, lay_out, read_flats
from production.cutting.models import CutBatch, CutSheet
from production.cutting.nesting.times import feed_for
from production.cutting.raws import read_raw
from production.cutting.speed_models import CutSpeed, SheetHandling, SheetReckoning
from production.cutting.speeds import speeds_in_force
from production.cutting.storing import store_sheets
from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db

METAL = ("S355", Decimal(6))


@pytest.fixture
def shop():
    return floor_shop()


def row(feed, *, days=0, grade="", thickness=6, pierce="1", source="trial cut"):
    return CutSpeed.objects.create(
        grade=grade,
        thickness_mm=thickness,
        feed_mm_per_min=feed,
        pierce_seconds=Decimal(pierce),
        holds_from=timezone.localdate() + timedelta(days=days),
        source=source,
    )


def test_without_rows_the_shipped_figures_hold_and_say_where_they_come_from():
    speed = speeds_in_force().speed("S355", 6.0)

    assert speed.feed_mm_per_min == feed_for(6.0).feed_mm_per_min
    assert "published chart" in speed.source


@pytest.mark.parametrize(
    ("rows", "feed"),
    [
        pytest.param([{"feed": 1000, "days": -9}, {"feed": 1100, "days": -1}], 1100, id="the newest"),
        pytest.param([{"feed": 1000, "days": -9}, {"feed": 1100, "days": 1}], 1000, id="none before its day"),
        pytest.param([{"feed": 1000, "grade": "S355"}, {"feed": 1100}], 1000, id="the grade's own first"),
        pytest.param([{"feed": 1000, "grade": "S275"}, {"feed": 1100}], 1100, id="not another grade's"),
    ],
)
def test_the_row_that_holds(rows, feed):
    for one in rows:
        row(**one)

    assert speeds_in_force().speed("S355", 6.0).feed_mm_per_min == feed


def test_between_two_rows_figures_go_by_proportion_and_both_sources_are_named():
    row(1000, thickness=6)

    speed = speeds_in_force().speed("S355", 7.0)

    assert speed.feed_mm_per_min == pytest.approx((1000 + feed_for(8.0).feed_mm_per_min) / 2)
    assert speed.source.startswith("by proportion from 6 mm and 8 mm (trial cut; common practice")


def test_a_sheet_laid_out_keeps_the_working_of_its_minutes(shop, client):
    row(500, source="trial of the day")
    SheetHandling.objects.create(
        travel_mm_per_min=10_000, sheet_minutes=7, holds_from=timezone.localdate(), source="stop watch"
    )
    item = shop.items["PL"]
    owed = (Owed(None, item.pk, 2, timezone.localdate(), timezone.localdate()),)
    laid = lay_out(Gathered(METAL, owed, 1.0), read_flats([item.pk]), read_raw()[METAL], 0.2, lambda _: True)
    batch = cut_batch(shop, [released(shop)])
    batch.sheets.all().delete()

    store_sheets([CutBatch.objects.get()], [laid])

    how = SheetReckoning.objects.get()
    sheet = how.sheet
    assert (how.feed_mm_per_min, how.pierces, how.sheet_minutes) == (500, 4, 7)
    whole = how.cut_minutes + how.pierce_minutes + how.travel_minutes + how.sheet_minutes
    assert float(sheet.minutes) == pytest.approx(float(whole), abs=0.06)
    client.force_login(shop.user)
    for address in (reverse("laser:sheet", args=["CB-1", 1]), reverse("laser:batch", args=["CB-1"])):
        page = client.get(address).content.decode()
        assert "at 500 mm/min" in page
        assert "trial of the day" in page


def test_a_sheet_without_a_working_shows_its_minutes_alone(shop, client):
    batch = cut_batch(shop, [released(shop)])
    client.force_login(shop.user)

    page = client.get(reverse("laser:batch", args=[batch.number])).content.decode()

    assert "10 min" in page
    assert not SheetReckoning.objects.filter(sheet=CutSheet.objects.get()).exists()


def test_only_who_may_sets_speeds_and_nonsense_is_said_at_its_field(shop, client):
    client.force_login(shop.user)
    today = timezone.localdate().isoformat()
    fields = {
        "grade": "S355",
        "thickness_mm": "6",
        "feed_mm_per_min": "2500",
        "pierce_seconds": "0.8",
        "holds_from": today,
        "source": "trial cut of the day",
    }
    assert client.post(reverse("laser:add_speed"), fields).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="set_speeds"))

    wrong = client.post(reverse("laser:add_speed"), fields | {"feed_mm_per_min": "0"})
    right = client.post(reverse("laser:add_speed"), fields, follow=True).content.decode()
    twice = client.post(reverse("laser:add_speed"), fields)

    assert (wrong.status_code, twice.status_code) == (422, 422)
    assert "Must be above 0." in wrong.content.decode()
    assert "There is a row of this grade and thickness from this day" in twice.content.decode()
    assert "Kept: S355 6 mm" in right
    assert "trial cut of the day" in right
    client.post(reverse("laser:take_off_speed"), {"speed": CutSpeed.objects.get().pk})
    assert not CutSpeed.objects.exists()


def test_travel_and_loading_are_set_from_a_day_on_and_taken_off(shop, client):
    client.force_login(shop.user)
    shop.user.user_permissions.add(Permission.objects.get(codename="set_speeds"))
    fields = {
        "travel_mm_per_min": "40000",
        "sheet_minutes": "5",
        "holds_from": timezone.localdate().isoformat(),
        "source": "stop watch",
    }

    page = client.post(reverse("laser:add_handling"), fields, follow=True).content.decode()

    assert "5 min to load and unload" in page
    assert speeds_in_force().sheet_minutes == 5
    client.post(reverse("laser:take_off_speed"), {"handling": SheetHandling.objects.get().pk})
    assert speeds_in_force().sheet_minutes == 4
