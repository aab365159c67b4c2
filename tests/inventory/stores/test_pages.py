"""The stores pages: what they say, what they post, and what they refuse."""

import io
import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from openpyxl import load_workbook

from bom.items.models import Item
from inventory.buying import ordering
from inventory.buying.models import PurchaseOrder, Supplier, SupplierItem
from inventory.levels import verbs
from inventory.stock import reserving
from inventory.stock.models import Lot, Posting

MOST_QUERIES = 20


def _text(response) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def _key(response) -> str:
    found = re.search(r'name="key" value="([^"]+)"', response.content.decode())
    assert found, "the form carries no one-time key"
    return found.group(1)


@pytest.fixture
def order(room) -> PurchaseOrder:
    """Twenty rollers on order, due today."""
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll", minimum_value=Decimal(100))
    SupplierItem.objects.create(
        supplier=supplier, item=room.roller, price=Decimal("3.20"), pack=10, lead_days=4
    )
    want = ordering.Want(room.roller.pk, None, Decimal(20), timezone.localdate())
    return ordering.release_order(
        order=ordering.raise_orders(wants=[want], by=room.keeper)[0], by=room.keeper
    )


def _condition(browser, item) -> str:
    page = browser.get("/stores/", {"text": item.code}).content.decode()
    row = page[page.index("<tbody>") : page.index("</tbody>")]
    return re.sub(r"<[^>]+>", "", re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)[-1]).strip()


def test_the_state_of_an_item_is_said_in_words(keeper, room):
    assert _condition(keeper, room.roller) == "none"

    room.bring(room.roller, 5)
    assert _condition(keeper, room.roller) == "on the shelf"

    verbs.set_level(item=room.roller, reorder_point=Decimal(6))
    assert _condition(keeper, room.roller) == "under level"

    reserving.reserve(item=room.roller, purpose=room.purpose(), quantity=Decimal(5), by=room.keeper)
    room.move(room.roller, 4, "A1", "CUSTOMER")
    assert _condition(keeper, room.roller) == "4 short"


def test_what_is_not_here_but_ordered_is_coming(keeper, room, order):
    assert _condition(keeper, room.roller).startswith("coming ")


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        pytest.param({"text": "keel blue"}, {"RLR-120-BLU"}, id="words of the name"),
        pytest.param({"text": "axl"}, {"AXL-750"}, id="part of the code"),
        pytest.param({"group": "rollers"}, {"RLR-120-BLU"}, id="group"),
        pytest.param({"kind": "sheet"}, set(), id="kind"),
        pytest.param({"place": "A2"}, {"AXL-750"}, id="place"),
        pytest.param({"only": "short"}, set(), id="short"),
        pytest.param({"only": "to buy"}, {"RLR-120-BLU"}, id="to buy"),
        pytest.param({"only": "on the shelf"}, {"AXL-750"}, id="on the shelf"),
        pytest.param({"sort": "-available"}, {"RLR-120-BLU", "AXL-750"}, id="sorted"),
    ],
)
def test_the_stock_list_is_filtered_by_its_address(keeper, room, filters, found):
    room.bring(room.roller, 5)
    room.bring(room.axle, 1, "A2")
    verbs.set_level(item=room.roller, reorder_point=Decimal(6))
    page = keeper.get("/stores/", filters).content.decode()

    assert {code for code in ("RLR-120-BLU", "AXL-750") if f">{code}</a>" in page} == found


def test_the_stock_list_is_taken_to_a_workbook_as_filtered(keeper, room):
    room.bring(room.roller, 5)
    answer = keeper.get("/stores/", {"text": "keel", "as": "xlsx"})
    rows = list(load_workbook(io.BytesIO(answer.content)).active.iter_rows(values_only=True))

    assert rows[0][0] == "Item"
    assert [(row[0], row[3], row[-1]) for row in rows[1:]] == [("RLR-120-BLU", 5, "on the shelf")]


@pytest.mark.parametrize("count", [3, 30])
def test_pages_ask_few_questions_whatever_the_rows(keeper, room, order, django_assert_max_num_queries, count):
    for number in range(count):
        item = Item.objects.create(code=f"X{number}", name="x", kind="bought")
        room.bring(item, 5)
        room.bring(room.roller, 1)
        verbs.set_level(item=item, reorder_point=Decimal(9))
        SupplierItem.objects.create(supplier=order.supplier, item=item, price=1, lead_days=1)
    wants = [
        ordering.Want(item.pk, None, Decimal(1), timezone.localdate())
        for item in Item.objects.filter(name="x")
    ]
    big = ordering.raise_orders(wants=wants, by=room.keeper)[0]
    pages = ["", "items/RLR-120-BLU/", "goods-in/", "ledger/", "items/RLR-120-BLU/count/"]
    addresses = [f"/stores/{page}" for page in pages]
    addresses += ["/buying/", "/buying/levels/", "/levels/items/X1/", f"/buying/{big.number}/"]
    for address in addresses:
        keeper.get(address)
        with django_assert_max_num_queries(MOST_QUERIES):
            assert keeper.get(address).status_code == 200, address


def test_a_move_is_posted_once_however_often_it_is_sent(keeper, room):
    room.bring(room.roller, 5)
    page = keeper.get("/stores/items/RLR-120-BLU/move/")
    stack = room.roller.balances.get(location=room.places["A1"])
    sent = {"key": _key(page), "source": stack.pk, "quantity": "5", "target": room.places["A2"].pk}
    answers = [keeper.post("/stores/items/RLR-120-BLU/move/", sent, follow=True) for _ in range(2)]

    assert all("moved, 5 to A2" in _text(answer) for answer in answers)
    assert room.at(room.roller, "A2") == 5
    assert Posting.objects.filter(kind="move").count() == 1


def test_what_is_refused_is_said_above_the_form_and_the_entries_stay(keeper, room):
    room.bring(room.roller, 5)
    page = keeper.get("/stores/items/RLR-120-BLU/move/")
    stack = room.roller.balances.get(location=room.places["A1"])
    sent = {"key": _key(page), "source": stack.pk, "quantity": "9", "target": room.places["A2"].pk}
    answer = keeper.post("/stores/items/RLR-120-BLU/move/", sent)

    assert answer.status_code == 409
    assert "A1 holds 5 of RLR-120-BLU and 9 were asked for" in _text(answer)
    assert 'value="9"' in answer.content.decode()


def test_a_key_of_another_kind_is_refused(keeper, room):
    room.bring(room.roller, 5)
    stack = room.roller.balances.get(location=room.places["A1"])
    sent = {"key": "weld:W-1001", "source": stack.pk, "quantity": "1", "target": room.places["A2"].pk}
    keeper.post("/stores/items/RLR-120-BLU/move/", sent)

    assert room.at(room.roller, "A2") == 0


def test_a_count_is_posted_with_its_reason(keeper, room):
    room.bring(room.roller, 5)
    page = keeper.get("/stores/items/RLR-120-BLU/count/")
    sent = {"key": _key(page), "location": room.places["A1"].pk, "counted": "3", "reason": "two were lent"}
    answer = keeper.post("/stores/items/RLR-120-BLU/count/", sent, follow=True)

    assert "two were lent" in _text(answer)
    assert room.at(room.roller, "A1") == 3


def test_scrap_asks_what_is_wrong(keeper, room):
    room.bring(room.roller, 5)
    page = keeper.get("/stores/items/RLR-120-BLU/scrap/")
    stack = room.roller.balances.get(location=room.places["A1"])
    sent = {"key": _key(page), "source": stack.pk, "quantity": "1", "reason": ""}
    assert "This field is required where no cause is chosen" in _text(
        keeper.post("/stores/items/RLR-120-BLU/scrap/", sent)
    )

    keeper.post("/stores/items/RLR-120-BLU/scrap/", sent | {"reason": "split"})
    assert room.at(room.roller, "SCRAP") == 1


def test_a_posting_made_by_hand_is_reversed_on_its_page(keeper, room):
    room.bring(room.roller, 5)
    posting = room.move(room.roller, 2, "A1", "A2", key="stores:" + "a" * 32)
    assert "Reverse this posting" in _text(keeper.get(f"/stores/postings/{posting.pk}/"))
    keeper.post(f"/stores/postings/{posting.pk}/reverse/", {"reason": "wrong shelf"})

    assert room.at(room.roller, "A1") == 5
    assert "reversed" in _text(keeper.get(f"/stores/postings/{posting.pk}/"))
    again = keeper.post(f"/stores/postings/{posting.pk}/reverse/", {"reason": "wrong shelf"})
    assert "already been reversed" in _text(again)


def test_a_posting_made_elsewhere_says_where_to_undo_it(keeper, room):
    posting = room.bring(room.roller, 5)

    assert "Undo it where it was made" in _text(keeper.get(f"/stores/postings/{posting.pk}/"))


def test_goods_in_shows_what_is_due_and_books_it_once(keeper, room, order):
    assert "RLR-120-BLU" in _text(keeper.get("/stores/goods-in/"))
    line = order.lines.get()
    page = keeper.get(f"/stores/goods-in/{line.pk}/")
    sent = {"key": _key(page), "quantity": "12", "location": room.places["A1"].pk}
    answers = [keeper.post(f"/stores/goods-in/{line.pk}/", sent, follow=True) for _ in range(2)]

    assert all("12 of RLR-120-BLU booked in. 8 still to come." in _text(answer) for answer in answers)
    assert room.at(room.roller, "A1") == 12


def test_goods_in_asks_for_serial_numbers(keeper, room, order):
    room.roller.tracking = "serial"
    room.roller.save()
    line = order.lines.get()
    page = keeper.get(f"/stores/goods-in/{line.pk}/")
    sent = {"key": _key(page), "quantity": "2", "location": room.places["A1"].pk, "lot_code": "S1"}
    refused = keeper.post(f"/stores/goods-in/{line.pk}/", sent)
    assert "2 of RLR-120-BLU came and 1 serial numbers were given" in _text(refused)

    keeper.post(f"/stores/goods-in/{line.pk}/", sent | {"lot_code": "S1\nS2"})
    assert Lot.objects.filter(item=room.roller).count() == 2


def test_goods_in_shows_the_coming_week_and_finds_the_rest(keeper, room, order):
    order.lines.update(due_on=timezone.localdate() + timedelta(days=30))

    assert "RLR-120-BLU" not in _text(keeper.get("/stores/goods-in/"))
    assert "RLR-120-BLU" in _text(keeper.get("/stores/goods-in/", {"q": "keel"}))
    assert "RLR-120-BLU" in _text(keeper.get("/stores/goods-in/", {"all": "yes"}))


def test_a_purchase_order_goes_from_draft_to_shelf_and_back(keeper, room, order):
    keeper.post("/buying/new/", {"supplier": order.supplier_id})
    draft = PurchaseOrder.objects.order_by("pk").last()
    due_on = timezone.localdate().isoformat()
    address = f"/buying/{draft.number}/"
    keeper.post(f"{address}add/", {"item": room.roller.pk, "quantity": "3", "due_on": due_on})
    assert "£68.00 short of the supplier" in _text(keeper.get(address))

    keeper.post(f"{address}lines/1/change/", {"quantity": "40", "due_on": due_on})
    keeper.post(f"{address}release/")
    line = draft.lines.get()
    key = _key(keeper.get(f"/stores/goods-in/{line.pk}/"))
    sent = {"key": key, "quantity": "40", "location": room.places["A1"].pk}
    keeper.post(f"/stores/goods-in/{line.pk}/", sent)
    draft.refresh_from_db()
    assert draft.state == "done"

    keeper.post(f"/buying/deliveries/{line.receipts.get().pk}/take-back/", {"reason": "not ours"})
    draft.refresh_from_db()
    assert (draft.state, room.at(room.roller, "A1")) == ("released", 0)


def test_what_a_purchase_order_refuses_is_said_on_its_page(keeper, room, order):
    answer = keeper.post(f"/buying/{order.number}/release/")

    assert answer.status_code == 409
    assert "It is released and cannot be released" in _text(answer)


def test_a_line_is_closed_or_taken_off(keeper, room, order):
    keeper.post(f"/buying/{order.number}/lines/1/close/")
    order.refresh_from_db()
    assert order.state == "done"

    want = ordering.Want(room.roller.pk, None, Decimal(1), timezone.localdate())
    draft = ordering.raise_orders(wants=[want], by=room.keeper)[0]
    keeper.post(f"/buying/{draft.number}/lines/1/remove/")
    assert not draft.lines.exists()
    keeper.post(f"/buying/{draft.number}/cancel/")
    draft.refresh_from_db()
    assert draft.state == "cancelled"


def test_a_purchase_order_is_taken_to_a_workbook(keeper, room, order):
    answer = keeper.get(f"/buying/{order.number}/", {"as": "xlsx"})
    rows = list(load_workbook(io.BytesIO(answer.content)).active.iter_rows(values_only=True))

    assert rows[1][1] == "RLR-120-BLU"
    assert [float(value) for value in rows[1][6:8]] == [3.2, 64]


def test_ticked_alerts_become_drafts(keeper, room, order):
    verbs.set_level(item=room.roller, reorder_point=Decimal(23))
    assert "RLR-120-BLU" in _text(keeper.get("/buying/levels/"))
    keeper.post("/buying/levels/", {"item": [room.roller.pk]})

    draft = PurchaseOrder.objects.get(state="draft")
    assert [line.quantity for line in draft.lines.all()] == [10]


@pytest.mark.parametrize(
    "address",
    [
        "/stores/items/RLR-120-BLU/move/",
        "/stores/items/RLR-120-BLU/count/",
        "/stores/items/RLR-120-BLU/scrap/",
        "/stores/stocktake/",
        "/stores/postings/1/reverse/",
        "/stores/goods-in/1/",
        "/buying/new/",
        "/buying/PO-00001/release/",
        "/buying/PO-00001/lines/1/close/",
        "/buying/levels/",
        "/levels/items/RLR-120-BLU/",
        "/levels/proposals/",
        "/levels/rules/",
        "/levels/runs/start/",
        "/buying/deliveries/1/take-back/",
    ],
)
def test_a_visitor_may_look_and_not_act(visitor, address):
    assert visitor.post(address).status_code == 403
