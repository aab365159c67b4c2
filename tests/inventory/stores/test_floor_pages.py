"""Hold, put away, bins, give out, send back: from their pages, once, and back again."""

import re
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.items.models import Item
from inventory.buying import ordering
from inventory.buying.models import Supplier, SupplierItem
from inventory.stock.models import Posting
from inventory.stores.reasons import reason_codes
from inventory.stores.rules import Handling, set_handling

ITEM = "/stores/items/RLR-120-BLU/"


def _text(response) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def _key(response) -> str:
    found = re.search(r'name="key" value="([^"]+)"', response.content.decode())
    assert found, "the form carries no one-time key"
    return found.group(1)


def _heap(room, place="A1"):
    return room.roller.balances.get(location=room.places[place]).pk


def _act(keeper, address, **sent):
    sent["key"] = _key(keeper.get(address))
    answers = [keeper.post(address, sent, follow=True) for _ in range(2)]
    return answers[-1]


@pytest.fixture
def line(room):
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll", over_percent=Decimal(5))
    SupplierItem.objects.create(supplier=supplier, item=room.roller, price=3, lead_days=4)
    want = ordering.Want(room.roller.pk, None, Decimal(20), timezone.localdate())
    order = ordering.raise_orders(wants=[want], by=room.keeper)[0]
    return ordering.release_order(order=order, by=room.keeper).lines.get()


def test_goods_are_set_apart_and_released_each_once(keeper, room):
    room.bring(room.roller, 5)
    code = reason_codes("hold").get(code="size").pk
    _act(keeper, f"{ITEM}hold/", source=_heap(room), quantity="2", code=code, remark="oval")
    page = _text(keeper.get("/stores/holds/"))
    assert "RLR-120-BLU" in page
    assert "wrong size or shape: oval" in page
    assert "On hold 2" in _text(keeper.get(ITEM))

    _act(
        keeper,
        f"{ITEM}release/",
        source=_heap(room, "HOLD"),
        quantity="2",
        target=room.places["A2"].pk,
        remark="measured",
    )
    assert (room.at(room.roller, "HOLD"), room.at(room.roller, "A2")) == (0, 2)


def test_what_was_just_done_is_undone_from_what_is_said_of_it(keeper, room):
    room.bring(room.roller, 5)
    answer = _act(
        keeper, f"{ITEM}move/", source=_heap(room), quantity="2", target=room.places["A2"].pk
    ).content.decode()
    address = re.search(r'href="(/stores/postings/\d+/)\?undo=yes#undo">Undo', answer)
    assert address
    assert "entered by mistake" in keeper.get(f"{address[1]}?undo=yes").content.decode()

    keeper.post(f"{address[1]}reverse/", {"reason": "entered by mistake"})
    assert room.at(room.roller, "A1") == 5


def test_goods_are_given_out_for_an_order_and_come_back(keeper, room):
    room.bring(room.roller, 5)
    order = room.purpose("1001")
    _act(keeper, f"{ITEM}issue/", source=_heap(room), quantity="2", purpose=order.pk, reason="split")
    assert room.at(room.roller, "A1") == 3

    _act(keeper, f"{ITEM}from-order/", purpose=order.pk, quantity="1", target=room.places["A2"].pk)
    assert room.at(room.roller, "A2") == 1


def test_a_bin_is_told_empty_and_answered_from_its_page(keeper, room):
    bolt = Item.objects.create(code="BLT", name="Bolt", kind="bought")
    set_handling(item=bolt, handling=Handling(bin_quantity=Decimal(50)), by=room.keeper)
    room.bring(bolt, 120)
    keeper.post("/stores/bins/BLT/empty/")
    page = keeper.get("/stores/bins/")
    assert "empty since" in _text(page)

    for _ in range(2):
        keeper.post("/stores/bins/BLT/full/", {"key": _key(page)})
    assert room.at(bolt, "FLOOR") == 50
    assert "empty since" not in _text(keeper.get("/stores/bins/"))


def test_goods_wait_at_the_door_and_are_put_away_where_proposed(keeper, room):
    room.bring(room.roller, 1, "A2")
    room.bring(room.roller, 5, "DOOR")
    page = keeper.get("/stores/put-away/")
    assert "A2: most of it lies here" in _text(page)

    sent = {
        "key": _key(page),
        "balance": _heap(room, "DOOR"),
        "quantity": "5",
        "target": room.places["A2"].pk,
    }
    for _ in range(2):
        keeper.post("/stores/put-away/one/", sent)
    assert (room.at(room.roller, "DOOR"), room.at(room.roller, "A2")) == (0, 6)


def test_far_more_than_ordered_is_asked_about(keeper, room, line):
    address = f"/stores/goods-in/{line.pk}/"
    page = keeper.get(address)
    assert "agreed with" not in _text(page)
    sent = {"key": _key(page), "quantity": "30", "location": room.places["DOOR"].pk}
    refused = keeper.post(address, sent)
    assert "30 of RLR-120-BLU have come, 20 were ordered" in _text(refused)
    assert "Keep more than ordered: agreed with" in _text(refused)

    answer = keeper.post(address, sent | {"over_agreed": "the manager"}, follow=True)
    assert "That is 10 more than ordered." in _text(answer)


def test_the_place_proposed_at_goods_in_is_the_door_or_hold(keeper, room, line):
    door = f'<option value="{room.places["DOOR"].pk}" selected>'
    hold = f'<option value="{room.places["HOLD"].pk}" selected>'
    assert door in keeper.get(f"/stores/goods-in/{line.pk}/").content.decode()

    set_handling(item=room.roller, handling=Handling(is_inspected=True), by=room.keeper)
    assert hold in keeper.get(f"/stores/goods-in/{line.pk}/").content.decode()


def test_the_rest_that_will_not_come_is_said(keeper, room, line):
    address = f"/stores/goods-in/{line.pk}/"
    sent = {"quantity": "12", "location": room.places["A1"].pk, "is_last": "on"}
    assert "The other 8 will not come." in _text(_act(keeper, address, **sent))


def test_a_delivery_is_sent_back_and_others_are_to_come(keeper, room, line):
    _act(keeper, f"/stores/goods-in/{line.pk}/", quantity="20", location=room.places["A1"].pk)
    code = reason_codes("sent_back").get(code="faulty").pk
    _act(
        keeper,
        "/stores/goods-in/send-back/RLR-120-BLU/",
        source=_heap(room),
        quantity="4",
        code=code,
        line=line.pk,
        is_replaced="on",
    )
    line.refresh_from_db()
    assert (line.received, room.at(room.roller, "A1")) == (16, 16)

    posting = Posting.objects.get(kind="sent_back")
    keeper.post(f"/stores/postings/{posting.pk}/reverse/", {"reason": "they stay"})
    line.refresh_from_db()
    assert line.received == 20


def test_scrap_takes_a_coded_cause(keeper, room):
    room.bring(room.roller, 5)
    code = reason_codes("scrap").get(code="old").pk
    _act(keeper, f"{ITEM}scrap/", source=_heap(room), quantity="1", code=code, reason="")

    posting = Posting.objects.get(kind="scrap")
    assert posting.reason_code.code == "old"
    assert "too old or corroded" in _text(keeper.get(f"/stores/postings/{posting.pk}/"))


def test_handling_and_substitutes_are_set_on_their_page(keeper, room):
    nail = Item.objects.create(code="RLR-120-RED", name="Red", kind="bought")
    keeper.post(f"{ITEM}handling/", {"home": room.places["A2"].pk, "bin_quantity": "0", "is_inspected": "on"})
    assert (room.roller.handling.home.code, room.roller.handling.is_inspected) == ("A2", True)

    keeper.post(f"{ITEM}substitute/", {"instead": "RLR-120-RED", "note": "ask the customer"})
    assert "ask the customer" in _text(keeper.get(f"{ITEM}handling/"))
    refused = keeper.post(f"{ITEM}substitute/", {"instead": "RLR-120-BLU", "note": "x"})
    assert "is no substitute for itself" in _text(refused)
    keeper.post(f"{ITEM}substitute/{room.roller.substitutes.get().pk}/")
    assert not nail.substitute_for.exists()


def test_a_reason_is_added_and_offered_no_longer(keeper, room):
    keeper.get("/stores/reasons/")
    keeper.post("/stores/reasons/", {"use": "scrap", "code": "frost", "name": "burst by frost"})
    row = reason_codes("scrap").get(code="frost")
    keeper.post("/stores/reasons/", {"row": row.pk})

    assert not reason_codes("scrap").filter(code="frost").exists()


def test_what_is_kept_is_given_to_another_order_with_its_history(keeper, room):
    room.bring(room.roller, 5)
    first, second = room.purpose("1001"), room.purpose("1002")
    keeper.post(f"{ITEM}keep/", {"purpose": first.pk, "quantity": "4"})
    sent = {"source": first.pk, "target": second.pk, "quantity": "3", "reason": "goes on Friday"}
    keeper.post(f"{ITEM}give/", sent)
    assert "3 from 1001 to 1002, goes on Friday" in _text(keeper.get(f"{ITEM}kept/"))
    assert "1001" in _text(keeper.get("/stores/kept/", {"order": "1001"}))
    assert "goes on Friday" in _text(keeper.get("/stores/kept/history/"))

    refused = keeper.post(f"{ITEM}give/", sent)
    assert "1 of RLR-120-BLU are kept for 1001" in _text(refused)
    keeper.post(f"{ITEM}give/", {"source": first.pk, "quantity": "1", "reason": "waits"})
    assert "let go by 1001" in _text(keeper.get(f"{ITEM}kept/"))


@pytest.mark.parametrize("count", [3, 30])
def test_pages_ask_few_questions_whatever_the_rows(keeper, room, django_assert_max_num_queries, count):
    for number in range(count):
        item = Item.objects.create(code=f"X{number:02d}", name="x", kind="bought")
        set_handling(item=item, handling=Handling(bin_quantity=Decimal(2)), by=room.keeper)
        for place in ("DOOR", "HOLD", "A1"):
            room.bring(item, 5, place)
    for address in (
        "holds/",
        "put-away/",
        "bins/",
        "kept/",
        "kept/history/",
        "items/X01/kept/",
        "stocktake/",
    ):
        keeper.get(f"/stores/{address}")
        with django_assert_max_num_queries(20):
            assert keeper.get(f"/stores/{address}").status_code == 200, address


@pytest.mark.parametrize(
    "address",
    [
        f"{ITEM}hold/",
        f"{ITEM}release/",
        f"{ITEM}issue/",
        f"{ITEM}back/",
        f"{ITEM}keep/",
        f"{ITEM}give/",
        f"{ITEM}handling/",
        "/stores/put-away/one/",
        "/stores/bins/BLT/full/",
        "/stores/goods-in/send-back/RLR-120-BLU/",
        "/stores/stocktake/",
        "/stores/stocktake/ST-0001/record/",
        "/stores/stocktake/ST-0001/hand-in/",
        "/stores/stocktake/ST-0001/review/",
        "/stores/stocktake/classes/",
        "/stores/reasons/",
    ],
)
def test_a_visitor_may_look_and_not_act(visitor, address):
    assert visitor.post(address).status_code == 403
