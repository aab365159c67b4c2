"""A weld that is not good holds the next step until a permitted person clears it; jig sheets in numbered issues."""

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from bom.kernel.errors import ProblemError
from bom.kernel.pages import new_key
from bom.structure.models import Process
from production.coating.loads import send_load
from production.works.card_making import make_cards
from production.works.card_models import JobCard
from production.works.cards import start
from production.works.jig_sheets import sheets_in_force, store_sheet
from production.works.tracking import begin_operation, finish_operation
from production.works.weld_inspecting import clear_weld, inspect_weld
from production.works.weld_models import JigSheet, WeldInspection
from tests.production.floor import finish, floor_shop, load, operation, released, signed
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def order(shop):
    """Its chassis lies welded; its card of the weld is done."""
    order = released(shop)
    make_cards(works_orders=[order.works_order.pk])
    shop.stock("SEC", "6")
    shop.stock("PL", "4", "CUT")
    finish(shop, order, "laser", "saw", "weld")
    return order


@pytest.fixture
def card(order) -> JobCard:
    return JobCard.objects.get(process__code="weld")


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def inspect(shop, card, good: bool, words: str = "", key: str = "card:1") -> WeldInspection:
    return inspect_weld(card=card, is_good=good, words=words, by=shop.user, key=key)


def sheet(shop, **changes) -> JigSheet:
    values = {"jig": "long bed", "quality": "ISO 5817, level C", "is_inspected": False, "notes": ["tack"]}
    return store_sheet(
        item=shop.items["CH"], process=Process.objects.get(code="weld"), by=shop.user, **values | changes
    )


def may(shop, *names: str) -> None:
    shop.user.user_permissions.add(*Permission.objects.filter(codename__in=names))


def test_a_weld_that_is_not_good_keeps_its_frame_from_the_lorry_until_it_is_cleared(shop, order, card):
    found = inspect(shop, card, False, "crack at the left hanger")
    made = signed(shop, load(shop, [order]))

    with pytest.raises(ProblemError, match="crack at the left hanger"):
        send_load(load=made, by=shop.user)
    assert shop.on("CH", "WELD") == 1
    made.refresh_from_db()
    assert made.state == "released"
    inspect(shop, card, True, key="card:2")
    with pytest.raises(ProblemError, match="crack at the left hanger"):
        send_load(load=made, by=shop.user)
    clear_weld(inspection=found, reason="ground out, welded anew, dye test", by=shop.user)

    assert send_load(load=made, by=shop.user).state == "away"


def test_later_work_is_neither_begun_nor_finished_while_a_weld_holds_it(shop, order, card):
    inspect(shop, card, False, "undercut")

    for verb in (begin_operation, finish_operation):
        with pytest.raises(ProblemError, match="undercut"):
            verb(operation=operation(order, "galvanise"), by=shop.user)


def test_a_good_weld_holds_nothing(shop, order, card):
    inspect(shop, card, True)

    finish(shop, order, "galvanise")

    assert operation(order, "galvanise").state == "done"


def test_where_the_sheet_asks_for_an_inspection_the_next_step_waits_for_one(shop, order, card):
    sheet(shop, is_inspected=True)
    with pytest.raises(ProblemError, match="Nobody has inspected the weld of CH"):
        finish(shop, order, "galvanise")

    inspect(shop, card, True)
    finish(shop, order, "galvanise")

    assert operation(order, "galvanise").state == "done"


def test_a_newer_sheet_that_asks_for_none_lets_it_go_on(shop, order, card):
    sheet(shop, is_inspected=True)
    sheet(shop, is_inspected=False)

    finish(shop, order, "galvanise")

    assert operation(order, "galvanise").state == "done"


def test_the_same_form_twice_is_one_inspection_and_clearing_twice_keeps_the_first_reason(shop, card):
    first = inspect(shop, card, False, "pores")
    assert inspect(shop, card, True) == first
    clear_weld(inspection=first, reason="ground out", by=shop.user)

    assert clear_weld(inspection=first, reason="other", by=shop.user).clearance == "ground out"
    assert WeldInspection.objects.count() == 1


def test_a_fault_needs_words_and_a_clearance_a_reason(shop, card):
    with pytest.raises(ProblemError, match="not said what is wrong"):
        inspect(shop, card, False)
    found = inspect(shop, card, False, "pores")
    with pytest.raises(ProblemError, match="No reason"):
        clear_weld(inspection=found, reason=" ", by=shop.user)


def test_only_a_weld_that_is_begun_is_inspected(shop, order):
    with pytest.raises(ProblemError, match="is no weld"):
        inspect(shop, JobCard.objects.get(process__code="galvanise"), True)
    fresh = released(shop)
    make_cards(works_orders=[fresh.works_order.pk])
    waiting = JobCard.objects.get(process__code="weld", state="waiting")
    with pytest.raises(ProblemError, match="nothing is welded yet"):
        inspect(shop, waiting, True)

    assert inspect(shop, start(card=waiting, by=shop.user), True).is_good


def test_a_sheet_that_differs_is_the_next_issue_and_the_same_again_is_not(shop):
    assert sheet(shop) == sheet(shop)
    newer = sheet(shop, notes=["tack", "turn", "", "dress"])

    assert newer.number == 2
    in_force = sheets_in_force([shop.items["CH"].pk], "weld")[shop.items["CH"].pk]
    assert [note.words for note in in_force.notes.all()] == ["tack", "turn", "dress"]


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        pytest.param({"notes": ["x"] * 21}, "21 notes", id="too many"),
        pytest.param({"notes": ["x" * 301]}, "301 characters", id="too long"),
    ],
)
def test_a_sheet_nobody_would_read_is_refused(shop, changes, sentence):
    with pytest.raises(ProblemError, match=sentence):
        sheet(shop, **changes)


def test_an_item_that_is_not_welded_has_no_sheet_at_the_weld(shop, screen):
    with pytest.raises(ProblemError, match="does not pass"):
        store_sheet(
            item=shop.items["PL"],
            process=Process.objects.get(code="weld"),
            jig="",
            quality="",
            is_inspected=False,
            notes=[],
            by=shop.user,
        )
    assert screen.get(reverse("cards:jig_sheet", args=["weld", "PL"])).status_code == 404


def test_a_weld_is_inspected_and_cleared_on_its_card_by_who_may(screen, shop, card):
    def post(name: str, *args, **fields):
        return screen.post(reverse(f"cards:{name}", args=args), {"key": new_key("card"), **fields})

    assert post("inspect", card.number, result="good").status_code == 403
    may(shop, "inspect_weld")
    assert post("inspect", card.number, result="bad").status_code == 409
    post("inspect", card.number, result="bad", words="crack")
    found = WeldInspection.objects.get()
    assert post("clear_weld", found.pk, reason="mended").status_code == 403
    page = screen.get(reverse("cards:card", args=[card.number])).content.decode()
    assert "holds the next step" in page
    listed = screen.get(reverse("cards:inspections"), {"state": "held"}).content.decode()
    assert "not good: crack" in listed
    may(shop, "clear_weld")
    post("clear_weld", found.pk, reason="mended")

    found.refresh_from_db()
    assert found.cleared_by == shop.user


def test_sheets_are_written_by_who_may_and_stand_on_the_station_and_the_card(screen, shop, card):
    address = reverse("cards:jig_sheet", args=["weld", "CH"])
    form = {"jig": "long bed, stops at 4", "quality": "", "notes": "tack the corners\nturn it once"}
    assert screen.post(address, form).status_code == 403
    may(shop, "write_notes")
    screen.post(address, form)

    order = released(shop)
    station = screen.get(reverse("works:job", args=["weld", order.number])).content.decode()
    for page in (station, screen.get(reverse("cards:card", args=[card.number])).content.decode()):
        assert "long bed, stops at 4" in page
        assert "turn it once" in page
    assert "long bed" in screen.get(reverse("cards:jig_sheets")).content.decode()
    assert "Sheet 1" in screen.get(address).content.decode()


def test_parts_that_are_coated_already_bring_their_own_caution(screen, shop, order, card):
    assert "These parts are coated already" not in _card(screen, card)
    finish(shop, order, "galvanise")

    assert "These parts are coated already" in _card(screen, card)


def _card(screen, card) -> str:
    return screen.get(reverse("cards:card", args=[card.number])).content.decode()
