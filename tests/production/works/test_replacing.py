"""A welded part that was lost or spoilt is made again: cut, sawn, welded, and only that."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from bom.kernel.errors import ProblemError
from bom.kernel.pages import new_key
from inventory.stock import ledger
from inventory.stock.models import Reservation
from production.cutting.completing import finish_cut_orders, owed_parts
from production.cutting.saw.owed import sawn_parts
from production.works import cards
from production.works.card_models import JobCard
from production.works.making import change_of
from production.works.replacement_models import Replacement
from production.works.replacing import call_off, replace
from production.works.station_queries import weld_lists
from production.works.tracking import finish_operation, undo_finish
from tests.production.floor import finish, floor_shop, operation, released, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db
ONE = Decimal(1)


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


def again(shop, order, **changes) -> list[Replacement]:
    asked = {"pieces": {shop.items["CH"]: ONE}, "reason": "fell off the trestle", "key": "k", "is_here": True}
    return replace(order=order, by=shop.user, **{**asked, **changes})


def states(order) -> dict[str, str]:
    codes = ("laser", "saw", "weld", "galvanise")
    return {code: operation(order, code).state for code in codes}


def test_a_spoilt_part_goes_to_scrap_and_its_stations_have_work_again(shop):
    order = welded(shop)

    for _ in range(2):
        [made] = again(shop, order)

    assert (shop.on("CH", "WELD"), shop.on("CH", "SCRAP")) == (0, 1)
    assert states(order) == dict.fromkeys(("laser", "saw", "weld", "galvanise"), "waiting")
    assert operation(order, "weld").problem == "Made again: fell off the trestle"
    kinds = JobCard.objects.filter(reason__startswith="Made again").order_by("process__sequence")
    assert [(card.process.code, card.lines.get().pieces) for card in kinds] == [("saw", 2), ("weld", 1)]
    assert owed_parts([order]) == {order.pk: {shop.items["PL"].pk: 4}}
    assert [quantity for _, quantity in sawn_parts([order])[order.pk]] == [2]
    assert [one.code for one in weld_lists(order)] == ["CH"]
    assert made.works_order == order.works_order
    # The minutes of these pieces: ten to set up and fifty for the weld.
    assert operation(order, "weld").minutes == 60


def test_it_is_cut_sawn_and_welded_again_and_the_order_goes_on(shop):
    order = welded(shop)
    again(shop, order)
    shop.stock("PL", "4", "CUT")
    shop.stock("SEC", "6")

    assert finish_cut_orders(order_ids=[order.pk], by=shop.user) == [order]
    for process in ("saw", "weld"):
        [card] = JobCard.objects.filter(reason__startswith="Made again", process__code=process)
        cards.finish(card=card, counts={}, by=shop.user)

    assert shop.on("CH", "WELD") == 1
    assert Reservation.objects.get(purpose=order.purpose, item=shop.items["CH"]).quantity == 1
    assert Replacement.objects.get().made_at is not None
    assert states(order) == {"laser": "done", "saw": "done", "weld": "done", "galvanise": "waiting"}
    assert ledger.audit() == []


def test_a_weld_made_again_is_undone_like_any_other(shop):
    order = welded(shop)
    again(shop, order)
    shop.stock("PL", "4", "CUT")
    finish(shop, order, "laser", "saw")
    weld = finish_operation(operation=operation(order, "weld"), by=shop.user)

    undo_finish(operation=weld, by=shop.user)

    assert Replacement.objects.get().made_at is None
    assert (shop.on("CH", "WELD"), shop.on("PL", "CUT")) == (0, 4)
    assert change_of(order, "weld").made == {shop.items["CH"].pk: 1}


def test_a_lost_part_that_turns_up_calls_the_work_off(shop):
    order = welded(shop)
    again(shop, order, is_here=False)

    for _ in range(2):
        call_off(order=order, by=shop.user)

    assert states(order) == {"laser": "done", "saw": "done", "weld": "done", "galvanise": "waiting"}
    assert set(JobCard.objects.filter(reason__startswith="Made again").values_list("state", flat=True)) == {
        "cancelled"
    }
    assert Replacement.objects.get().called_off_at is not None
    assert owed_parts([order]) == {}


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        pytest.param({"reason": " "}, "not said", id="no reason"),
        pytest.param({"code": "PL"}, "is not welded", id="a cut part"),
        pytest.param({"count": "2"}, "cannot be made again", id="more than the trailer has"),
    ],
)
def test_what_cannot_be_made_again_is_refused(shop, changes, sentence):
    order = welded(shop)
    pieces = {shop.items[changes.pop("code", "CH")]: Decimal(changes.pop("count", "1"))}
    with pytest.raises(ProblemError, match=sentence):
        again(shop, order, pieces=pieces, **changes)


def test_nothing_is_made_again_before_the_weld_twice_at_once_or_after_assembly(shop):
    with pytest.raises(ProblemError, match="weld of this order is not done"):
        again(shop, released(shop))
    order = welded(shop)
    again(shop, order, key="first")
    with pytest.raises(ProblemError, match="made again already"):
        again(shop, order, key="second")


def test_the_page_takes_counts_and_says_what_was_made_again(client, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="replace_part"))
    client.force_login(shop.user)
    order, part = welded(shop), shop.items["CH"]
    page = reverse("cards:made_again", args=[order.number])
    typed = {f"pieces-{part.pk}": "1", "reason": "bent at the powder", "is_here": "yes"}
    assert client.post(page, {**typed, f"pieces-{part.pk}": "x", "key": new_key("again")}).status_code == 409

    said = client.post(page, {**typed, "key": new_key("again")}, follow=True).content.decode()

    assert "1 × CH is made again" in said
    assert "bent at the powder" in said
    assert shop.on("CH", "SCRAP") == 1
