"""A part that changes after it was laid out stops its sheets until a permitted person decides."""

from datetime import date

import pytest
from django.contrib.auth.models import Permission

from bom.geometry.models import FlatContour
from bom.kernel.errors import ProblemError
from bom.people.models import User
from bom.structure.models import Revision
from production.cutting.counting import begin_sheet, finish_sheet
from production.cutting.models import LaidPart
from production.cutting.stopping import decide, note_parts, stops_of
from tests.production.floor import cut_batch, floor_shop, released
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


def redraw(shop: SmallWorkshop) -> None:
    """The plate gets a corner cut off."""
    outside = FlatContour.objects.get(part__item=shop.items["PL"], sequence=0)
    outside.vertices = "0,0,0;200,0,0;200,80,0;180,100,0;0,100,0"
    outside.save()


@pytest.fixture
def shop() -> SmallWorkshop:
    shop = floor_shop()
    shop.stock("SH", "2")
    return shop


@pytest.fixture
def manager() -> User:
    user = User.objects.create_user("manager", password="x")
    user.user_permissions.add(Permission.objects.get(codename="clear_stops"))
    return user


@pytest.fixture
def batch(shop):
    batch = cut_batch(shop, [released(shop)])
    note_parts([batch])
    return batch


def test_a_batch_whose_parts_are_as_laid_out_is_cut(shop, batch):
    assert stops_of([batch]) == {}
    assert finish_sheet(sheet=batch.sheets.get(), by=shop.user).state == "done"


def test_a_new_outline_stops_start_and_count(shop, batch):
    begun = begin_sheet(sheet=batch.sheets.get(), by=shop.user)
    redraw(shop)

    with pytest.raises(ProblemError, match="its outline is another"):
        finish_sheet(sheet=begun, by=shop.user)

    assert shop.on("SH", "A1") == 2


def test_a_new_revision_stops_it_and_says_which(shop, batch):
    Revision.objects.create(
        item=shop.items["PL"], letter="B", state="released", effective_from=date(2021, 1, 1)
    )
    [stop] = stops_of([batch])[batch.pk]
    assert stop.words == "revision A was laid out, B holds now"


def test_a_draft_stops_nothing(shop, batch):
    Revision.objects.create(item=shop.items["PL"], letter="B", state="draft", effective_from=date(2021, 1, 1))
    assert stops_of([batch]) == {}


def test_only_a_permitted_person_decides_and_says_why(shop, batch, manager):
    redraw(shop)
    laid = LaidPart.objects.get()
    with pytest.raises(ProblemError, match="may not"):
        decide(laid=laid, by=shop.user, decision="cut", note="fits")
    with pytest.raises(ProblemError, match="reason is missing"):
        decide(laid=laid, by=manager, decision="cut", note=" ")
    first = decide(laid=laid, by=manager, decision="cut", note="only a chamfer")
    assert decide(laid=laid, by=manager, decision="scrap", note="again") == first
    assert finish_sheet(sheet=batch.sheets.get(), by=shop.user).state == "done"
    assert shop.on("PL", "CUT") == 4


def test_parts_that_are_not_to_be_used_are_counted_as_scrap(shop, batch, manager):
    redraw(shop)
    decide(laid=LaidPart.objects.get(), by=manager, decision="scrap", note="old hole")

    sheet = finish_sheet(sheet=batch.sheets.get(), by=shop.user)

    assert {(one.state, one.reason) for one in sheet.placements.all()} == {
        ("scrap", "changed since: old hole")
    }
    assert shop.on("PL", "CUT") == 0
    assert finish_sheet(sheet=sheet, by=shop.user).state == "done"


def test_a_decision_holds_for_its_change_only(shop, batch, manager):
    redraw(shop)
    decide(laid=LaidPart.objects.get(), by=manager, decision="cut", note="only a chamfer")
    FlatContour.objects.filter(part__item=shop.items["PL"], sequence=1).delete()
    assert [stop.code for stop in stops_of([batch])[batch.pk]] == ["PL"]
