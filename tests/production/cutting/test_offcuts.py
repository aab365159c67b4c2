"""Offcuts with holes: entered by hand or from a drawing, laid out around the holes, kept when they come back."""

import io
from decimal import Decimal

import ezdxf
import pytest
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from shapely.geometry import Polygon

from bom.geometry.outlines import FlatOutline, from_text
from bom.kernel.errors import ProblemError
from inventory.stock.models import Balance, Location, Lot, Posting
from inventory.stores.labels.contents import labels
from production.cutting.batching import Gathered, Owed, lay_out, read_flats
from production.cutting.entering import OffcutForm, enter_offcut, measured
from production.cutting.layout_files import layout_dxf
from production.cutting.models import CutSheet
from production.cutting.offcuts import rests_on
from production.cutting.raws import read_raw
from tests.production.floor import cut_batch, floor_shop, released

pytestmark = pytest.mark.django_db

METAL = ("S355", Decimal(6))
OUTER = "0,0,0;1000,0,0;1000,800,0;0,800,0"
ROUND = "400,400,1;600,400,1"


@pytest.fixture
def shop():
    return floor_shop()


def piece(outer=OUTER, *holes):
    return FlatOutline(from_text(outer), tuple(map(from_text, holes)))


def enter(shop, what, key="offcut:1", **more):
    return enter_offcut(
        item=shop.items["SH"],
        piece=what,
        place=Location.objects.get(code="A1"),
        by=shop.user,
        key=key,
        **more,
    )


def described(**fields):
    return measured({"outline": "", "holes": "", "length_mm": None, "width_mm": None, **fields})


def test_an_offcut_is_that_share_of_a_sheet_which_its_metal_is(shop):
    lot = enter(shop, piece(OUTER, ROUND))

    share = (1000 * 800 - 3.14159265 * 100**2) / (2000 * 1000)
    assert float(Balance.objects.get(lot=lot, location__code="A1").quantity) == pytest.approx(share, abs=1e-4)
    assert (lot.code, lot.length_mm, lot.width_mm) == ("OC-1", 1000, 800)
    assert lot.holes == ROUND


def test_it_is_moved_to_its_corner_and_entered_once(shop):
    moved = piece("100,50,0;1100,50,0;1100,850,0;100,850,0", "500,450,1;700,450,1")

    first, again = enter(shop, moved), enter(shop, moved)

    assert first == again
    assert (first.outline, first.holes) == (OUTER, ROUND)
    assert Posting.objects.filter(movements__lot=first).distinct().count() == 1


@pytest.mark.parametrize(
    ("what", "words"),
    [
        pytest.param(piece(OUTER, "900,400,1;1100,400,1"), "The hole touches the outside", id="leaves"),
        pytest.param(piece("0,400,1;800,400,1", "300,100.08,1;500,100.08,1"), "comes too near", id="near"),
        pytest.param(piece("0,0;1000,800;1000,0;0,700"), "crosses or touches itself", id="crossing"),
        pytest.param(piece("0,0;3000,0;3000,1000;0,1000"), "1.50 of a whole SH", id="too large"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_is_entered(shop, what, words):
    with pytest.raises(ProblemError, match=words):
        enter(shop, what)
    assert not Lot.objects.filter(kind=Lot.Kind.OFFCUT).exists()


def test_holes_are_written_in_three_ways():
    found = described(length_mm=1000.0, width_mm=800.0, holes="500 400 200\n50, 60, 100, 80\n" + ROUND)

    assert [round(hole.area_mm2) for hole in found.inners] == [31416, 8000, 31416]
    assert found.outer.area_mm2 == 800_000


def test_a_hole_that_cannot_be_read_is_named_by_its_line():
    with pytest.raises(ProblemError) as refusal:
        described(length_mm=1000.0, width_mm=800.0, holes="500 400 200\n500 400\nnan 1 2\n1 2 3 4 5")

    assert [one.where for one in refusal.value.problems] == [f"holes, line {line}" for line in (2, 3, 4)]


def test_parts_are_laid_around_the_holes(shop):
    enter(shop, piece(OUTER, "200,100,0;900,100,0;900,700,0;200,700,0"))
    item = shop.items["PL"]
    owed = (Owed(None, item.pk, 4, timezone.localdate(), timezone.localdate()),)
    [raw] = [one for one in read_raw()[METAL] if one.lot_id is not None]
    assert raw.area_mm2 == 1000 * 800 - 700 * 600

    laid = lay_out(Gathered(METAL, owed, 1.0), read_flats([item.pk]), read_raw()[METAL], 0.2, lambda _: True)

    # The layout has passed the checker, which knows the hole.
    assert laid.sheets[0].raw.stock.holes == raw.stock.holes != ()
    assert laid.sheets[0].spots


def test_what_comes_back_keeps_the_holes_and_the_drawings_show_them(shop, client):
    lot = enter(shop, piece("0,0;1800,0;1800,900;0,900", "1400,400,1;1600,400,1"))
    batch = cut_batch(shop, [released(shop)])
    CutSheet.objects.filter(batch=batch).update(lot=lot, length_mm=1800, width_mm=900)
    sheet = CutSheet.objects.select_related("batch", "item", "lot").get(batch=batch)

    rest = rests_on(sheet)["stepped"]

    [hole] = rest.holes
    assert Polygon(hole).covers(Polygon([(1500 - rest.left_mm + dx, 400) for dx in (-99, 0, 99)]).centroid)
    assert rest.area_mm2 < Polygon(rest.outline).area
    layout = ezdxf.read(io.StringIO(layout_dxf(sheet).decode()))
    assert len(layout.modelspace().query('*[layer=="SHEET"]')) == 2
    client.force_login(shop.user)
    client.post(reverse("laser:begin", args=[batch.number, 1]), {"key": "laser:" + "1" * 32})
    client.post(
        reverse("laser:finish", args=[batch.number, 1]),
        {"key": "laser:" + "2" * 32, "keep": "stepped", "place": "A1"},
    )
    sheet.refresh_from_db()
    assert sheet.offcut is not None
    assert len(sheet.offcut.holes.splitlines()) == 1
    assert labels("lots", sheet.offcut.code)[0].drawing.count("<polygon") == 2


@pytest.fixture
def screen(client, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="count_stock"))
    client.force_login(shop.user)
    return client


def fields(**changes):
    form = OffcutForm()
    return {
        "item": "SH",
        "length_mm": "900",
        "width_mm": "500",
        "outline": "",
        "holes": "",
        "place": "A1",
        "key": form.initial["key"],
        **changes,
    }


def test_the_page_looks_first_and_enters_when_told(screen):
    sent = fields(holes="400 200 100")

    looked = screen.post(reverse("laser:enter_offcut"), sent)
    assert "900 × 500 mm, 1 hole. Nothing is kept yet." in looked.content.decode()
    assert not Lot.objects.filter(kind=Lot.Kind.OFFCUT).exists()
    entered = screen.post(
        reverse("laser:enter_offcut"), sent | {"enter": "yes"}, follow=True
    ).content.decode()

    assert "Offcut OC-1 lies at A1" in entered
    assert "Outline of OC-1" in entered


def test_a_drawing_is_read_and_shown_before_anything_is_entered(screen, tmp_path):
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(50, 50), (950, 50), (950, 450), (500, 750), (50, 750)], close=True)
    space.add_circle((300, 300), 60)
    path = tmp_path / "piece.dxf"
    document.saveas(path)

    file = SimpleUploadedFile("piece.dxf", path.read_bytes())
    looked = screen.post(reverse("laser:enter_offcut"), fields(file=file, enter="yes")).content.decode()

    assert "900 × 700 mm, 1 hole. Nothing is kept yet." in looked
    assert "0,0,0;900,0,0;900,400,0;450,700,0;0,700,0" in looked
    assert not Lot.objects.filter(kind=Lot.Kind.OFFCUT).exists()


def test_a_broken_drawing_and_nonsense_end_in_words(screen):
    file = SimpleUploadedFile("piece.dxf", b"nothing of a drawing")
    broken = screen.post(reverse("laser:enter_offcut"), fields(file=file))
    nonsense = screen.post(reverse("laser:enter_offcut"), fields(holes="a b c", enter="yes"))
    nothing = screen.post(reverse("laser:enter_offcut"), fields(length_mm="", enter="yes"))

    assert [one.status_code for one in (broken, nonsense, nothing)] == [422, 422, 422]
    assert "holes, line 1" in nonsense.content.decode()
    assert "The offcut has no outline" in nothing.content.decode()


def test_only_who_counts_stock_enters_an_offcut(screen, shop):
    shop.user.user_permissions.clear()

    assert screen.post(reverse("laser:enter_offcut"), fields()).status_code == 403
    assert "Enter one that lies here" not in screen.get(reverse("laser:offcuts")).content.decode()
