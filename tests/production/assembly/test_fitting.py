"""Numbers read off parts in the bay: which part bears one, twice, elsewhere, not what was picked, undone."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.structure.models import Process
from inventory.stock import ledger
from inventory.stock.models import Location, Lot, Posting
from production.assembly.bays import begin_assembly
from production.assembly.fitting import fit, missing_numbers, take_back, wanted_numbers
from production.assembly.kits import pick_all_available
from production.assembly.models import FittedNumber, NumberRule
from production.shop.models import Calendar, WorkCentre
from tests.production.floor import finish, floor_shop, kit_of, released, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db
TYRE = "1XY7RW4T01424"


@pytest.fixture
def shop() -> SmallWorkshop:
    """Green rollers are kept by serial number here, red ones bear what tyres bear: two of each go into a trailer."""
    shop = floor_shop()
    Item.objects.filter(code="RO-GREEN").update(tracking=Item.Tracking.SERIAL)
    shop.items["RO-GREEN"].refresh_from_db()
    NumberRule.objects.create(item=shop.items["RO-RED"], form=NumberRule.Form.TYRE)
    return shop


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def order_with_kit(shop):
    order = released(shop)
    kit_of(order)
    return order


def serial_on_shelf(shop, code: str) -> Lot:
    lot = Lot.objects.create(item=shop.items["RO-GREEN"], code=code, kind=Lot.Kind.SERIAL)
    supplier, shelf = (Location.objects.get(code=name).pk for name in ("SUPPLIER", "A1"))
    ledger.post(
        key=f"in:{code}",
        kind=Posting.Kind.RECEIPT,
        lines=[
            ledger.Line(lot.item_id, supplier, Decimal(-1)),
            ledger.Line(lot.item_id, shelf, Decimal(1), lot.pk),
        ],
        by=shop.user,
    )
    return lot


def test_what_is_wanted_is_known_by_part_and_pieces(shop):
    found = {
        one.item.code: (one.pieces, one.missing, one.is_shared)
        for one in wanted_numbers(order_with_kit(shop))
    }
    assert found == {"RO-GREEN": (2, 2, False), "RO-RED": (2, 2, True)}


def test_a_number_finds_its_part_where_it_can_be_only_one(shop):
    order = order_with_kit(shop)
    assert fit(order=order, text=f"DOT {TYRE}", item=shop.items["RO-RED"], by=shop.user).code == TYRE
    assert fit(order=order, text="ser/9-i", by=shop.user).item == shop.items["RO-GREEN"]
    assert fit(order=order, text="LOT:RO-GREEN:G-2", by=shop.user).code == "G-2"
    with pytest.raises(ProblemError, match="All 2 numbers of RO-GREEN"):
        fit(order=order, text="LOT:RO-GREEN:G-3", by=shop.user)


def test_a_number_that_two_parts_could_bear_asks_which(shop):
    with pytest.raises(ProblemError, match="could be a number of RO-GREEN, RO-RED"):
        fit(order=order_with_kit(shop), text=TYRE, by=shop.user)


def test_a_serial_number_read_twice_is_one_and_on_another_trailer_is_refused(shop):
    first, second = order_with_kit(shop), order_with_kit(shop)
    for _ in range(2):
        fit(order=first, item=shop.items["RO-GREEN"], text="g-1", by=shop.user)
    with pytest.raises(ProblemError, match=f"on the trailer of order {first.number}"):
        fit(order=second, item=shop.items["RO-GREEN"], text="G-1", by=shop.user)
    assert FittedNumber.objects.count() == 1


def test_the_same_number_stands_on_both_tyres_and_no_third_is_taken(shop):
    first, second = order_with_kit(shop), order_with_kit(shop)
    for order in (first, second):
        for _ in range(2):
            fit(order=order, item=shop.items["RO-RED"], text=TYRE, by=shop.user)
    with pytest.raises(ProblemError, match="read already"):
        fit(order=first, item=shop.items["RO-RED"], text=TYRE, by=shop.user)


def test_a_number_taken_back_is_free_for_the_right_trailer(shop):
    wrong, right = order_with_kit(shop), order_with_kit(shop)
    read = fit(order=wrong, item=shop.items["RO-GREEN"], text="G-1", by=shop.user)
    for _ in range(2):
        take_back(number=read, by=shop.user)
    fit(order=right, item=shop.items["RO-GREEN"], text="G-1", by=shop.user)
    assert [one.missing for one in wanted_numbers(wrong)] == [2, 2]
    assert FittedNumber.objects.filter(taken_back_by=shop.user).count() == 1


def test_what_the_stores_did_not_pick_is_refused_and_says_where_it_lies(shop):
    order = order_with_kit(shop)
    for code in ("G-1", "G-2", "G-3"):
        serial_on_shelf(shop, code)
    pick_all_available(kit=order.kit, by=shop.user)
    assert fit(order=order, text="g-2", by=shop.user).item == shop.items["RO-GREEN"]
    with pytest.raises(
        ProblemError, match=r"picked G-1, G-2 for this trailer, not G-3; by the books G-3 lies on A1"
    ):
        fit(order=order, item=shop.items["RO-GREEN"], text="G-3", by=shop.user)


def test_the_page_takes_a_scan_takes_it_back_and_lets_the_manager_excuse_the_rest(screen, shop):
    order = order_with_kit(shop)
    page = reverse("assembly:numbers", args=[order.number])
    key = f"number:{'0' * 31}"
    assert screen.post(page, {"key": f"{key}1", "code": "G-1", "item": "RO-GREEN"}).status_code == 302
    refused = screen.post(page, {"key": f"{key}2", "code": "xx", "item": "RO-RED"})
    assert refused.status_code == 409
    assert "no tyre identification number" in refused.content.decode()
    assert "3 still to read" in screen.get(page).content.decode()
    excuse = reverse("assembly:excuse", args=[order.number])
    assert screen.post(excuse, {"item": "RO-RED", "reason": "worn"}).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="clear_check"))
    assert screen.post(excuse, {"item": "RO-RED", "reason": " "}).status_code == 409
    screen.post(excuse, {"item": "RO-RED", "reason": "side walls painted over"})
    assert [problem.what for problem in missing_numbers(order)] == [
        "1 of 2 numbers of RO-GREEN Roller green not read off"
    ]
    row = FittedNumber.objects.get()
    screen.post(reverse("assembly:take_back", args=[order.number, row.pk]))
    assert wanted_numbers(order)[0].missing == 2


def test_the_board_shows_the_bay_its_missing_numbers_and_what_comes_next(
    screen, shop, django_assert_max_num_queries
):
    WorkCentre.objects.create(
        code="assembly",
        name="Assembly",
        process=Process.objects.get(code="assemble"),
        units=2,
        calendar=Calendar.objects.create(code="day", name="Day"),
    )
    order, waiting = welded(shop), order_with_kit(shop)
    finish(shop, order, "galvanise")
    shop.stock("RO-RED", "2")
    for code in ("G-1", "G-2"):
        serial_on_shelf(shop, code)
    pick_all_available(kit=kit_of(order), by=shop.user)
    begin_assembly(kit=order.kit, bay=2, by=shop.user)
    with django_assert_max_num_queries(20):
        page = screen.get(reverse("assembly:bays")).content.decode()
    assert "free" in page.split("Bay 2")[0]
    assert "4 numbers to read off" in page
    assert f">{waiting.number}</a>" in page.split("<h2>Next</h2>")[1]
    assert "frame not through weld" in page


def test_a_fastener_a_plug_and_a_pattern_are_written_down_and_taken_out(screen, shop):
    page = reverse("assembly:marks")
    assert screen.post(page, {"what": "plug", "code": "BOX", "poles": "7"}).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="set_checks"))
    assert screen.post(page, {"what": "fastener", "code": "no such", "diameter_mm": "12"}).status_code == 409
    wrong = {"what": "fastener", "code": "BOX", "diameter_mm": "12", "low_nm": "90", "high_nm": "80"}
    assert "lower one first" in screen.post(page, wrong).content.decode()
    for high in ("100", "110"):
        screen.post(page, {**wrong, "high_nm": high})
    screen.post(page, {"what": "plug", "code": "box", "poles": "13"})
    assert screen.post(page, {"what": "rule", "code": "BOX", "form": "mask", "mask": ""}).status_code == 409
    screen.post(page, {"what": "rule", "code": "BOX", "form": "mask", "mask": "B-##"})
    shown = screen.get(page).content.decode()
    assert "90 to 110" in shown
    assert "13, ISO 11446" in shown
    assert "B-##" in shown
    screen.post(page, {"what": "plug", "out": "BOX"})
    assert "13, ISO 11446</li>" not in screen.get(page).content.decode()
