"""What the nesting is offered: sheets that lie here first, offcuts by their true outline, clear of the clamps."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse
from django.utils import timezone

from bom.structure.models import Process
from inventory.stock import ledger
from inventory.stock.models import Location, Lot, Posting
from production.cutting.batching import Gathered, Owed, lay_out, read_flats
from production.cutting.models import ClampZone, CutSheet
from production.cutting.offcuts import rests_on
from production.cutting.raws import raws_left, read_raw
from production.shop.models import Calendar, WorkCentre
from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db

METAL = ("S355", Decimal(6))
STEPPED = "1200,0,0;1200,1000,0;500,1000,0;500,400,0;0,400,0;0,0,0"


@pytest.fixture
def shop():
    return floor_shop()


def keep_offcut(shop, outline=STEPPED, code="OFF-1"):
    """An offcut of the sheet on a shelf, entered with its outline; its box is larger than what fits in one piece."""
    lot = Lot.objects.create(
        item=shop.items["SH"],
        code=code,
        kind=Lot.Kind.OFFCUT,
        length_mm=700,
        width_mm=1000,
        outline=outline,
    )
    item = shop.items["SH"]
    lines = [
        ledger.Line(item.pk, Location.objects.get(code=code).pk, Decimal(sign), lot.pk)
        for code, sign in (("SUPPLIER", "-0.45"), ("A1", "0.45"))
    ]
    ledger.post(key=f"opening:{lot.code}", kind=Posting.Kind.OPENING, lines=lines, by=shop.user)
    return lot


def laser():
    return WorkCentre.objects.create(
        code="laser",
        name="Laser",
        process=Process.objects.get(code="laser"),
        calendar=Calendar.objects.create(code="days", name="days"),
    )


def clamp(**sides):
    return ClampZone.objects.create(work_centre=laser(), **sides)


def test_sheets_on_the_shelf_are_offered_at_their_price_and_more_at_a_higher_weight(shop):
    shop.stock("SH", "2")

    here, bought = read_raw()[METAL]

    assert (here.is_here, here.stock.count) == (True, 2)
    assert (bought.is_here, bought.stock.count) == (False, None)
    assert bought.stock.price > here.stock.price
    assert here.price == bought.price == pytest.approx(here.stock.price)


def test_sheets_that_a_begun_batch_still_cuts_are_not_offered(shop):
    shop.stock("SH", "2")
    batch = cut_batch(shop, [released(shop)])
    batch.state = "begun"
    batch.save()

    assert read_raw()[METAL][0].stock.count == 1


def test_an_offcut_is_offered_by_its_true_outline(shop):
    lot = keep_offcut(shop)

    [offcut] = [raw for raw in read_raw()[METAL] if raw.lot_id is not None]

    assert offcut.lot_id == lot.pk
    assert (offcut.stock.length_mm, offcut.stock.width_mm, offcut.stock.count) == (1200, 1000, 1)
    assert len(offcut.stock.outline) == 6
    assert offcut.area_mm2 == 1200 * 1000 - 500 * 600


def test_an_offcut_whose_outline_cannot_be_read_is_offered_as_its_rectangle(shop):
    keep_offcut(shop, outline="x,y")

    [offcut] = [raw for raw in read_raw()[METAL] if raw.lot_id is not None]

    assert (offcut.stock.length_mm, offcut.stock.width_mm, offcut.stock.outline) == (700, 1000, ())


def test_a_batch_is_laid_on_the_offcut_first_and_every_part_on_its_metal(shop):
    keep_offcut(shop)
    item = shop.items["PL"]
    owed = (Owed(None, item.pk, 6, timezone.localdate(), timezone.localdate()),)

    laid = lay_out(Gathered(METAL, owed, 1.0), read_flats([item.pk]), read_raw()[METAL], 0.2, lambda _: True)

    assert laid.left == ()
    assert laid.sheets[0].raw.lot_id is not None
    assert laid.area_mm2 < 2000 * 1000


def test_taken_sheets_are_not_offered_to_the_next_batch(shop):
    shop.stock("SH", "1")
    keep_offcut(shop)
    raws = read_raw()[METAL]
    here = next(raw for raw in raws if raw.is_here and raw.lot_id is None)
    offcut = next(raw for raw in raws if raw.lot_id is not None)

    left = raws_left(raws, [here, offcut])

    assert [raw.stock.count for raw in left] == [None]


def test_what_is_left_of_an_offcut_lies_on_its_metal(shop):
    lot = keep_offcut(shop)
    batch = cut_batch(shop, [released(shop)])
    CutSheet.objects.filter(batch=batch).update(lot=lot, length_mm=1200, width_mm=1000)
    sheet = CutSheet.objects.select_related("lot", "batch").get(batch=batch)
    sheet.placements.update(x_mm=600, y_mm=420)

    rest = rests_on(sheet, ["stepped"])["stepped"]

    assert rest.left_mm + min(x for x, y in rest.outline if y > 400) >= 500
    assert rest.area_mm2 < 1200 * 1000 - 500 * 600


def test_the_sheet_page_draws_the_offcut_and_the_clamps(client, shop):
    lot = keep_offcut(shop)
    clamp(x_mm=0, y_mm=0, length_mm=60, width_mm=120)
    batch = cut_batch(shop, [released(shop)])
    CutSheet.objects.filter(batch=batch).update(lot=lot, length_mm=1200, width_mm=1000)
    client.force_login(shop.user)

    page = client.get(reverse("laser:sheet", args=[batch.number, 1])).content.decode()

    assert "M1200.0 0.0L1200.0 1000.0L500.0 1000.0" in page
    assert 'class="clamp"' in page


def test_clamps_are_offered_with_every_sheet_of_the_laser(shop):
    clamp(x_mm=0, y_mm=0, length_mm=60, width_mm=120)

    assert all([one.length_mm for one in raw.stock.clamps] == [60.0] for raw in read_raw()[METAL])


def test_only_who_may_sets_clamps_and_nonsense_is_said_at_its_field(client, shop):
    client.force_login(shop.user)
    fields = {"work_centre": laser().pk, "x_mm": "0", "y_mm": "0", "length_mm": "60", "width_mm": "120"}
    assert client.post(reverse("laser:add_clamp"), fields).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="set_clamps"))

    wrong = client.post(reverse("laser:add_clamp"), fields | {"width_mm": "0"})
    right = client.post(reverse("laser:add_clamp"), fields, follow=True)

    assert wrong.status_code == 422
    assert "must be above 0 mm" in wrong.content.decode()
    assert "60 × 120 mm at 0, 0 is kept clear" in right.content.decode()
    client.post(reverse("laser:take_off_clamp"), {"clamp": ClampZone.objects.get().pk})
    assert not ClampZone.objects.exists()
