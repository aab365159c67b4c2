"""The pages of value: what they say, who may say what a thing cost, and what is refused."""

import io
import re
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from inventory.stock import stating, valuing
from inventory.stock.cost_models import Charge, CostMethod, StatedCost

MOST_QUERIES = 20


def _text(response) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


@pytest.fixture
def delivery(room):
    """Ten rollers at 4.00 on the shelf A1, three of them in the kit rack."""
    posting = room.bring(room.roller, 10)
    stating.state_cost(posting=posting, item=room.roller, unit_cost=Decimal(4), reason="bill", by=None)
    room.move(room.roller, 3, "A1", "KIT")
    return posting


def test_the_list_adds_up_by_place(keeper, delivery):
    said = _text(keeper.get("/stores/value/"))

    assert "Value £40.00" in said
    assert "On shelves £28.00" in said
    assert "In work £12.00" in said


def test_a_day_before_anything_came_is_empty(keeper, delivery):
    said = _text(keeper.get("/stores/value/?on=2020-01-01"))

    assert "Value £0.00" in said
    assert "Nothing was there on that day" in said


@pytest.mark.parametrize("query", ["on=rubbish", "on=9999-12-31", "kind=moon", "group=none"])
def test_a_filter_that_means_nothing_is_no_error(keeper, delivery, query):
    assert keeper.get(f"/stores/value/?{query}").status_code == 200


def test_the_workbook_holds_the_rows_of_the_page(keeper, delivery):
    sheet = load_workbook(io.BytesIO(keeper.get("/stores/value/?as=xlsx").content)).active
    header, row = list(sheet.iter_rows(values_only=True))
    found = dict(zip(header, row, strict=True))

    assert (found["Item"], float(found["Value"])) == ("RLR-120-BLU", 40.0)


def test_the_working_shows_every_delivery_and_what_is_left(keeper, room, delivery):
    room.move(room.roller, 2, "A1", "CONV", kind="issue")
    said = _text(keeper.get("/stores/items/RLR-120-BLU/value/"))

    assert "+10 pc £4.00 £40.00 cost stated 10 £40.00" in said
    assert "−2 pc £4.00 −£8.00 used for work, moving average 8 £32.00" in said
    assert "£32.00 ÷ 8 = £4.00 each" in said


def test_a_cost_is_stated_on_the_posting_and_a_second_click_adds_nothing(keeper, room, delivery):
    for _ in range(2):
        answer = keeper.post(
            f"/stores/postings/{delivery.pk}/cost/state/",
            {"item": room.roller.pk, "unit_cost": "5.25", "reason": "corrected bill"},
        )
        assert answer.status_code == 302

    assert StatedCost.objects.count() == 2
    assert "£52.50" in _text(keeper.get(f"/stores/postings/{delivery.pk}/cost/"))


def test_a_charge_is_added_once_by_its_form(keeper, room, delivery):
    page = keeper.get(f"/stores/postings/{delivery.pk}/cost/").content.decode()
    key = re.search(r'name="key" value="([^"]+)"', page).group(1)
    data = {"kind": "freight", "amount": "7.50", "shared_by": "value", "paper": "F-1", "key": key}
    for _ in range(2):
        assert keeper.post(f"/stores/postings/{delivery.pk}/cost/charge/", data).status_code == 302

    assert Charge.objects.count() == 1
    assert valuing.stock_worth([room.roller.pk])[room.roller.pk].value == Decimal("47.50")


def test_a_charge_that_cannot_be_shared_is_refused_with_the_reason(keeper, delivery):
    data = {"kind": "freight", "amount": "7.50", "shared_by": "mass", "paper": "F-1", "key": "charge:1"}
    answer = keeper.post(f"/stores/postings/{delivery.pk}/cost/charge/", data)

    assert answer.status_code == 409
    assert "nothing to share" in _text(answer)


def test_the_method_is_chosen_for_an_item_and_given_up_again(keeper, room, delivery):
    keeper.post("/stores/items/RLR-120-BLU/value/method/", {"method": "fifo"})
    assert CostMethod.objects.get(item=room.roller).method == "fifo"

    keeper.post("/stores/items/RLR-120-BLU/value/method/", {"method": ""})
    assert not CostMethod.objects.exists()

    keeper.post("/stores/value/method/", {"method": "fifo"})
    assert CostMethod.objects.get().item is None


def test_who_may_only_look_is_refused_to_say_what_stock_cost(visitor, room, delivery):
    assert visitor.get(f"/stores/postings/{delivery.pk}/cost/").status_code == 200
    for address in (
        "/stores/value/method/",
        "/stores/items/RLR-120-BLU/value/method/",
        f"/stores/postings/{delivery.pk}/cost/state/",
        f"/stores/postings/{delivery.pk}/cost/charge/",
    ):
        assert visitor.post(address, {"method": "fifo"}).status_code == 403


@pytest.mark.parametrize("count", [3, 30])
def test_the_pages_ask_a_constant_number_of_questions(
    keeper, room, delivery, count, django_assert_max_num_queries
):
    for _ in range(count):
        room.bring(room.roller, 1)
    for address in (
        "/stores/value/",
        "/stores/items/RLR-120-BLU/value/",
        f"/stores/postings/{delivery.pk}/cost/",
    ):
        with django_assert_max_num_queries(MOST_QUERIES):
            assert keeper.get(address).status_code == 200
