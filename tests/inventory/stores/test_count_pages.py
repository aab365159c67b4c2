"""The stocktake from its pages: begun, counted blind, pasted, approved."""

import re
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bom.items.models import Item
from bom.people.models import User
from inventory.stock.models import Posting
from inventory.stores.models import CountSheet


def _text(response) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def _key(response) -> str:
    found = re.search(r'name="key" value="([^"]+)"', response.content.decode())
    assert found, "the form carries no one-time key"
    return found.group(1)


def _begin(keeper, room, place="A1") -> CountSheet:
    key = _key(keeper.get("/stores/stocktake/"))
    for _ in range(2):
        keeper.post("/stores/stocktake/", {"key": key, "location": room.places[place].pk})
    return CountSheet.objects.get()


def _enter(keeper, sheet, **counts):
    address = f"/stores/stocktake/{sheet.number}/"
    lines = {line.item.code: line.pk for line in sheet.lines.select_related("item")}
    sent = {f"line-{lines[code]}": str(quantity) for code, quantity in counts.items()}
    return keeper.post(f"{address}record/", {"key": _key(keeper.get(address)), **sent}, follow=True)


@pytest.fixture
def roller(room) -> Item:
    """Named so that a keyword can name it."""
    room.roller.code = "ROLLER"
    room.roller.save()
    room.bring(room.roller, 7319)
    return room.roller


def test_the_counter_is_never_shown_what_is_expected(keeper, room, roller):
    sheet = _begin(keeper, room)
    address = f"/stores/stocktake/{sheet.number}/"
    said = [keeper.get(address), _enter(keeper, sheet, ROLLER=5000), keeper.get(address)]
    said += [keeper.post(f"{address}hand-in/"), keeper.get("/stores/items/ROLLER/count/")]

    assert not [page for page in said if re.search(r"7.?319|2.?319", page.content.decode())]
    assert "count again, best by another person: ROLLER" in _text(said[1])
    assert "1 lines are to be counted again" in _text(said[3])


def test_a_sheet_goes_from_place_to_posting(keeper, room, roller):
    sheet = _begin(keeper, room)
    _enter(keeper, sheet, ROLLER=7318)
    keeper.post(f"/stores/stocktake/{sheet.number}/hand-in/")
    review = f"/stores/stocktake/{sheet.number}/review/"
    assert "ledger then" in _text(keeper.get(review)).lower()

    refused = keeper.post(review, {"reason": ""})
    assert "A reason is missing" in _text(refused)
    for _ in range(2):
        keeper.post(review, {"reason": "yearly stocktake"})
    assert room.at(roller, "A1") == 7318
    assert Posting.objects.filter(kind="count").count() == 1
    assert "Agreed" in _text(keeper.get("/stores/stocktake/"))


def test_who_counts_may_not_approve(client, room, roller, keeper):
    sheet = _begin(keeper, room)
    counter = User.objects.create_user("counter", password="one two three")
    counter.user_permissions.set(Permission.objects.filter(codename="count_stock"))
    client.force_login(counter)

    assert client.get(f"/stores/stocktake/{sheet.number}/").status_code == 200
    assert client.post(f"/stores/stocktake/{sheet.number}/review/").status_code == 403


def test_counts_are_pasted_with_what_is_not_on_the_sheet(keeper, room, roller):
    Item.objects.create(code="PLATE", name="Plate", kind="made")
    sheet = _begin(keeper, room)
    address = f"/stores/stocktake/{sheet.number}/"
    sent = {"key": _key(keeper.get(address)), "location": room.places["A1"].pk}
    refused = keeper.post(f"{address}paste/", sent | {"counts": "ROLLER 7319\nNONE 2\nROLLER 3"})
    assert "line 2: There is no item NONE" in _text(refused)
    assert "ROLLER is counted twice" in _text(refused)

    answer = keeper.post(f"{address}paste/", sent | {"counts": "ROLLER\t7319\nPLATE\t4"}, follow=True)
    assert "2 counted." in _text(answer)
    assert sheet.lines.count() == 2


def test_something_found_is_added_with_its_count(keeper, room, roller):
    Item.objects.create(code="PLATE", name="Plate", kind="made")
    sheet = _begin(keeper, room)
    address = f"/stores/stocktake/{sheet.number}/"
    sent = {"location": room.places["A1"].pk, "code": "plate", "quantity": "4"}
    keeper.post(f"{address}add/", sent | {"key": _key(keeper.get(address))})

    assert sheet.lines.get(item__code="PLATE").entries.get().quantity == 4


def test_what_is_due_is_ticked_and_counted(keeper, room, roller):
    page = keeper.get("/stores/stocktake/")
    assert "never" in _text(page)
    keeper.post("/stores/stocktake/", {"key": _key(page), "item": [roller.pk]})

    assert [line.item for line in CountSheet.objects.get().lines.all()] == [roller]
    assert 'name="item"' not in keeper.get("/stores/stocktake/").content.decode()


def test_the_approver_has_a_line_counted_again(keeper, room, roller):
    sheet = _begin(keeper, room)
    _enter(keeper, sheet, ROLLER=7318)
    keeper.post(f"/stores/stocktake/{sheet.number}/hand-in/")
    keeper.post(f"/stores/stocktake/{sheet.number}/again/{sheet.lines.get().pk}/")

    assert "count again" in _text(keeper.get(f"/stores/stocktake/{sheet.number}/"))


def test_a_sheet_is_cancelled(keeper, room, roller):
    sheet = _begin(keeper, room)
    keeper.post(f"/stores/stocktake/{sheet.number}/cancel/")
    sheet.refresh_from_db()

    assert sheet.state == "cancelled"


def test_classes_are_changed_and_must_rise_to_the_whole(keeper, room, roller):
    address = "/stores/stocktake/classes/"
    keeper.get(address)
    figures = {
        "A": ("70", "14", "1", "50"),
        "B": ("95", "60", "3", "50"),
        "C": ("100", "180", "5", "50"),
    }
    names = ("share_to", "days_between", "recount_percent", "recount_value")
    sent = {
        f"{code}-{name}": value
        for code, row in figures.items()
        for name, value in zip(names, row, strict=True)
    }
    keeper.post(address, sent)
    assert 'name="A-days_between" value="14"' in keeper.get(address).content.decode()

    refused = keeper.post(address, sent | {"B-share_to": "60"})
    assert "Let them rise" in _text(refused)


@pytest.mark.parametrize("count", [3, 30])
def test_pages_ask_few_questions_whatever_the_lines(keeper, room, django_assert_max_num_queries, count):
    for number in range(count):
        room.bring(Item.objects.create(code=f"X{number:02d}", name="x", kind="bought"), 5)
    sheet = _begin(keeper, room)
    _enter(keeper, sheet, **{f"X{number:02d}": Decimal(4) for number in range(count)})
    for address in ("", f"{sheet.number}/", f"{sheet.number}/review/", "classes/"):
        with django_assert_max_num_queries(20):
            assert keeper.get(f"/stores/stocktake/{address}").status_code == 200


def test_the_classes_page_asks_as_often_for_many_items_as_for_few(
    room, keeper, django_assert_max_num_queries
):
    url = reverse("stores:count_classes")
    room.bring(room.roller, 5)
    keeper.get(url)
    with CaptureQueriesContext(connection) as few:
        keeper.get(url)
    for number in range(20):
        room.bring(Item.objects.create(code=f"M-{number}", name="more", kind="bought"), 1 + number)
    with django_assert_max_num_queries(len(few)):
        assert keeper.get(url).status_code == 200
    assert len(few) <= 20
