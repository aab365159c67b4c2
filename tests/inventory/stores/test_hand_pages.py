"""Entries from the phone: taken once, refused with a sentence, and late ones held against what happened meanwhile."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from bom.items.identifying import add_identifier, items_called, remove_identifier
from bom.items.models import Item
from bom.kernel.entries import Entry
from bom.kernel.errors import ProblemError
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier
from inventory.stock import ledger
from inventory.stock.models import Lot, Posting, ReasonCode
from inventory.stores import bins, count_sheets, stocktaking
from inventory.stores.hand_finding import find_item, find_lot, find_place
from inventory.stores.models import BinSignal, CountEntry, CountSheet
from inventory.stores.rules import Handling, set_handling
from inventory.stores.variances import variances_of

COUNT = "/stores/hand/count/"
MOVE = "/stores/hand/move/"
GOODS_IN = "/stores/hand/goods-in/"


def _key(prefix="stores"):
    return f"{prefix}:{uuid.uuid4().hex}"


def _send(client, address, **fields):
    """As the device does: the fields, a key, and how long it waited."""
    data = {"key": _key(), "waited_s": "0", **{name: str(value) for name, value in fields.items()}}
    return client.post(address, data, headers={"accept": "application/json"})


def _count(client, **fields):
    return _send(client, COUNT, **({"place": "PLACE:A1", "item": "RLR-120-BLU"} | fields))


def test_a_count_is_written_on_a_sheet_and_nothing_is_posted_before_it_is_approved(room, keeper):
    room.bring(room.roller, 5)
    said = _count(keeper, counted=7).json()["said"]
    sheet = CountSheet.objects.get()

    assert said.startswith(f"7 RLR-120-BLU at A1 written on {sheet.number}.")
    assert room.at(room.roller, "A1") == 5
    _count(keeper, counted=7)
    _send(keeper, f"{COUNT}{sheet.number}/hand-in/", leave_rest="yes")
    stocktaking.approve(sheet=sheet, by=room.keeper, reason="found")
    assert room.at(room.roller, "A1") == 7


def test_neither_the_page_nor_the_answer_tells_what_the_ledger_expects(room, keeper):
    room.bring(room.roller, 4711)
    count_sheets.begin_place(location=room.places["A1"], by=room.keeper, key="stores:sheet")

    assert "4711" not in keeper.get(COUNT).content.decode()
    answer = _count(keeper, counted=12).json()
    assert "Please count it once more." in answer["said"]
    assert "4711" not in str(answer)


def test_a_count_goes_on_the_open_sheet_that_asks_for_it(room, keeper):
    room.bring(room.roller, 5)
    sheet = count_sheets.begin_place(location=room.places["A1"], by=None, key="stores:sheet")
    assert "RLR-120-BLU" in keeper.get(COUNT).content.decode()

    _count(keeper, counted=5)

    assert sheet.lines.get().entries.get().quantity == 5
    assert CountSheet.objects.count() == 1
    assert "No sheet asks for a count" in keeper.get(COUNT).content.decode()


def test_counts_of_one_person_gather_on_one_sheet_of_his_own(room, keeper):
    room.bring(room.roller, 5)
    room.bring(room.roller, 3, "A2")
    _count(keeper, counted=5)
    _count(keeper, counted=3, place="A2")

    assert CountSheet.objects.get().lines.count() == 2


def test_a_count_sent_twice_is_answered_with_the_first_answer(room, keeper):
    room.bring(room.roller, 5)
    key = _key()
    first = _count(keeper, counted=5, key=key)
    second = _count(keeper, counted=5, key=key, waited_s=900)

    assert (first.status_code, second.status_code) == (200, 200)
    assert first.json() == second.json()
    assert CountEntry.objects.count() == Entry.objects.count() == 1


def test_a_key_used_for_another_entry_is_refused(room, keeper):
    room.bring(room.roller, 5)
    key = _key()
    _count(keeper, counted=5, key=key)
    other = _count(keeper, counted=9, key=key)

    assert other.status_code == 409
    assert "already taken with other figures" in other.json()["problems"][0]["what"]
    assert CountEntry.objects.get().quantity == 5


def test_a_late_count_stands_against_what_lay_there_when_it_was_counted(room, keeper):
    hour_ago = timezone.now() - timedelta(hours=1)
    ledger.post(
        key="came:1",
        kind="receipt",
        lines=room.both(room.roller, 5, "SUPPLIER", "A1"),
        by=None,
        happened_at=hour_ago - timedelta(hours=1),
    )
    room.move(room.roller, 2, "A1", "A2")
    _count(keeper, counted=5, waited_s=3600)

    (variance,) = variances_of(CountSheet.objects.get())
    assert abs(variance.entries[0].counted_at - hour_ago) < timedelta(minutes=1)
    assert variance.difference == 0


def test_the_same_shelf_on_two_sheets_is_put_right_once(room, keeper):
    room.bring(room.roller, 5)
    desk = count_sheets.begin_place(location=room.places["A1"], by=room.keeper, key="stores:desk")
    finding = stocktaking.Finding(desk.lines.get(), Decimal(7))
    for turn in range(2):
        stocktaking.record(sheet=desk, findings=[finding], by=room.keeper, key=f"stores:{turn}")
    stocktaking.hand_in(sheet=desk, by=room.keeper)
    for _ in range(2):
        _count(keeper, counted=7)
    own = CountSheet.objects.exclude(pk=desk.pk).get()
    stocktaking.approve(sheet=desk, by=room.keeper, reason="found")
    stocktaking.hand_in(sheet=own, by=room.keeper)
    stocktaking.approve(sheet=own, by=room.keeper, reason="found")

    assert room.at(room.roller, "A1") == 7


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        pytest.param({"place": "Z9"}, "Nothing here has the code Z9", id="unknown place"),
        pytest.param(
            {"place": "ITEM:RLR-120-BLU"}, "is the label of an item; a place", id="item for a place"
        ),
        pytest.param({"place": "SCRAP"}, "no place in the house", id="not a shelf"),
        pytest.param({"item": "4006381333932"}, "should end in 1", id="wrong check digit"),
        pytest.param({"item": "PLACE:A1"}, "is the label of a place; an item", id="place for an item"),
        pytest.param({"item": "AXL-750"}, "kept by serial number and none was given", id="no serial"),
        pytest.param({"counted": "many"}, "Enter a number", id="no number"),
        pytest.param({"counted": "-1"}, "greater than or equal to 0", id="below zero"),
        pytest.param({"key": "x"}, "no key of its own", id="no key"),
        pytest.param({"waited_s": "9999999"}, "waited 115 days", id="too old"),
        pytest.param({"entered_by": "somebody"}, "Sign in as somebody", id="another person's"),
    ],
)
def test_a_wrong_count_says_what_to_mend(room, keeper, fields, said):
    answer = _count(keeper, **({"counted": 3} | fields))

    assert answer.status_code == 409
    assert said in answer.json()["problems"][0]["what"]
    assert not CountSheet.objects.exists()


def test_a_plain_form_works_without_script(room, keeper):
    room.bring(room.roller, 5)
    fields = {"place": "A1", "item": "RLR-120-BLU", "counted": "5", "key": _key()}
    refused = keeper.post(COUNT, fields | {"item": "nothing"})
    taken = keeper.post(COUNT, fields)

    assert refused.status_code == 409
    assert "Nothing here has the code" in refused.content.decode()
    assert taken.headers["Location"] == f"{COUNT}?place=A1"
    assert CountEntry.objects.get().quantity == 5


def test_a_refused_entry_may_be_mended_under_its_key(room, keeper):
    room.bring(room.roller, 5)
    key = _key()
    fields = {"source": "A1", "target": "A2", "item": "RLR-120-BLU", "key": key}

    assert _send(keeper, MOVE, quantity=6, **fields).status_code == 409
    assert _send(keeper, MOVE, quantity=5, **fields).status_code == 200
    assert room.at(room.roller, "A2") == 5


def _an_hour_ago(posting) -> bool:
    return timedelta(minutes=59) < timezone.now() - posting.happened_at < timedelta(minutes=61)


@pytest.fixture
def goods_in(room):
    place = room.places["A2"]
    place.is_goods_in = True
    place.save()
    room.bring(room.roller, 5, "A2")
    return place


def test_goods_are_put_away_late_with_the_time_it_happened(room, keeper, goods_in):
    shown = keeper.get("/stores/hand/put-away/").content.decode()
    fields = {"source": "A2", "item": "RLR-120-BLU", "quantity": 5, "target": "A1", "key": _key()}
    answers = [_send(keeper, "/stores/hand/put-away/", waited_s=3600, **fields).json() for _ in range(2)]

    assert "5 pc" in shown
    assert answers[0] == answers[1]
    assert answers[0]["said"] == "Put away 5 RLR-120-BLU from A2 to A1."
    assert room.at(room.roller, "A1") == 5
    assert _an_hour_ago(Posting.objects.get(reason="put away"))


def test_what_lies_on_a_shelf_is_not_put_away(room, keeper):
    room.bring(room.roller, 5)
    fields = {"source": "A1", "item": "RLR-120-BLU", "quantity": 5, "target": "A2"}

    answer = _send(keeper, "/stores/hand/put-away/", **fields)
    assert "A1 is no place of goods-in" in answer.json()["problems"][0]["what"]


def test_doubtful_goods_are_set_apart_and_released_late(room, keeper):
    room.bring(room.roller, 5)
    keeper.get("/stores/hand/hold/")
    reason = ReasonCode.objects.get(use="hold", code="size")
    held = _send(
        keeper,
        "/stores/hand/hold/",
        waited_s=3600,
        source="A1",
        item="RLR-120-BLU",
        quantity=2,
        code=reason.pk,
        remark="bore too wide",
    )

    assert held.json()["said"] == "Set apart 2 RLR-120-BLU from A1: wrong size or shape: bore too wide."
    assert room.at(room.roller, "HOLD") == 2
    assert _an_hour_ago(Posting.objects.get(kind="hold"))
    assert "bore too wide" in keeper.get("/stores/hand/release/").content.decode()

    fields = {"source": "HOLD", "item": "RLR-120-BLU", "quantity": 2, "target": "A1"}
    _send(keeper, "/stores/hand/release/", remark="measured", **fields)
    assert room.at(room.roller, "A1") == 5


@pytest.mark.parametrize(
    ("address", "fields", "said"),
    [
        ("hold", {"source": "A1", "code": ""}, "required"),
        ("release", {"source": "A1", "target": "A2", "remark": "seen"}, "no place for goods on hold"),
        ("release", {"source": "HOLD", "target": "A1", "remark": ""}, "required"),
    ],
)
def test_a_wrong_hold_says_what_to_mend(room, keeper, address, fields, said):
    room.bring(room.roller, 5)
    answer = _send(keeper, f"/stores/hand/{address}/", item="RLR-120-BLU", quantity=1, **fields)

    assert answer.status_code == 409
    assert said in str(answer.json()["problems"])


@pytest.fixture
def bolt(room) -> Item:
    bolt = Item.objects.create(code="BLT-10", name="Bolt M10", kind="bought", group="fixings")
    set_handling(item=bolt, handling=Handling(bin_quantity=Decimal(200)), by=room.keeper)
    room.bring(bolt, 450)
    return bolt


def test_a_full_bin_brought_late_is_one_issue_at_the_time_it_happened(room, keeper, bolt):
    _send(keeper, "/stores/hand/bins/BLT-10/empty/", waited_s=7200)
    signal = BinSignal.objects.get()
    key = _key()
    for _ in range(2):
        answer = _send(keeper, "/stores/hand/bins/BLT-10/full/", key=key, waited_s=3600, signal=signal.pk)
    signal.refresh_from_db()

    assert answer.json()["said"] == "A full bin of 200 BLT-10 went to work."
    assert room.at(bolt, "FLOOR") == 200
    assert _an_hour_ago(signal.answered_by)
    assert timezone.now() - signal.raised_at > timedelta(minutes=119)


def test_a_bin_that_a_colleague_brought_meanwhile_is_not_brought_again(room, keeper, bolt):
    signal = bins.raise_signal(item=bolt, by=room.keeper)
    bins.issue_bin(item=bolt, by=room.keeper, key="stores:colleague")

    answer = _send(keeper, "/stores/hand/bins/BLT-10/full/", signal=signal.pk)

    assert "was brought meanwhile" in answer.json()["problems"][0]["what"]
    assert room.at(bolt, "FLOOR") == 200


def test_a_move_takes_a_lot_from_its_label(room, keeper):
    lot = Lot.objects.create(item=room.axle, code="S-1", kind="serial")
    room.bring(room.axle, 1, lot=lot)
    answer = _send(keeper, MOVE, source="A1", target="PLACE:A2", item="LOT:AXL-750:S-1", quantity=1)

    assert answer.json()["said"] == "Moved 1 AXL-750 from A1 to A2."
    assert room.at(room.axle, "A2", lot) == 1


def test_more_than_lies_there_is_refused_and_stays_unposted(room, keeper):
    room.bring(room.roller, 2)
    answer = _send(keeper, MOVE, source="A1", target="A2", item="RLR-120-BLU", quantity=3)

    assert answer.status_code == 409
    assert "A1 holds 2" in answer.json()["problems"][0]["what"]
    assert not Entry.objects.exists()


@pytest.fixture
def line(room) -> PurchaseOrderLine:
    supplier = Supplier.objects.create(code="S1", name="Rollers")
    order = PurchaseOrder.objects.create(number="PO-1", supplier=supplier, state="released")
    return PurchaseOrderLine.objects.create(
        order=order, position=1, item=room.roller, quantity=40, price=1, due_on=timezone.localdate()
    )


def _deliver(client, **fields):
    return _send(
        client,
        GOODS_IN,
        **({"line": "PO-1/1", "place": "A1", "quantity": 10, "key": _key("goods-in")} | fields),
    )


def test_goods_in_books_once_and_says_what_is_to_come(room, keeper, line):
    key = _key("goods-in")
    answers = [_deliver(keeper, key=key, seen=0).json() for _ in range(2)]

    assert answers[0] == answers[1]
    assert answers[0]["said"] == "10 of RLR-120-BLU booked in. 30 still to come."
    assert room.at(room.roller, "A1") == 10


def test_goods_in_is_refused_where_the_desk_booked_on_the_line_meanwhile(room, keeper, line):
    _deliver(keeper, seen=0)
    answer = _deliver(keeper, seen=0, quantity=10)

    assert answer.status_code == 409
    assert "were booked on PO-1 line 1 since this was entered" in answer.json()["problems"][0]["what"]
    assert room.at(room.roller, "A1") == 10


WITH_FORMS = [COUNT, MOVE, GOODS_IN, *(f"/stores/hand/{name}/" for name in ("put-away", "hold", "release"))]


@pytest.mark.parametrize("address", WITH_FORMS)
def test_who_may_not_do_it_is_refused(visitor, address):
    assert _send(visitor, address).status_code == 403


def test_the_pages_tell_the_device_to_keep_them(room, keeper):
    pages = ["/stores/hand/", *WITH_FORMS, "/stores/hand/bins/", "/stores/hand/book/"]

    assert {keeper.get(address).headers.get("X-Keep") for address in pages} == {"yes"}
    assert "X-Keep" not in keeper.get("/stores/").headers


def test_the_book_knows_codes_numbers_and_stacks(room, keeper):
    room.bring(room.roller, 5)
    add_identifier(item=room.roller, kind="gtin", code="4006381333931", holds=Decimal(10))
    found = keeper.get("/stores/hand/book/").json()

    assert found["places"]["A1"] == "A1"
    assert found["items"]["RLR-120-BLU"] == ["Keel roller 120 blue", "pc", "none"]
    assert found["numbers"] == [["04006381333931", "RLR-120-BLU", "10"]]
    assert found["stacks"] == [["RLR-120-BLU", "A1", "", "5"]]
    assert found["ais"]["10"] == [1, 20]


def test_a_supplier_label_names_item_lot_and_stock_units(room):
    add_identifier(item=room.axle, kind="gtin", code="4006381333931", holds=Decimal(2))
    found = find_item("(01)04006381333931(21)S-7(37)3")

    assert (found.item, found.lot_code, found.quantity) == (room.axle, "S-7", 6)


def test_a_code_of_two_suppliers_asks_for_our_own(room):
    for item in (room.axle, room.roller):
        add_identifier(item=item, kind="supplier", code="100")
    with pytest.raises(ProblemError, match="is the number of AXL-750, RLR-120-BLU"):
        find_item("100")


def test_a_gtin_belongs_to_one_item_and_can_be_taken_from_it(room):
    row = add_identifier(item=room.roller, kind="gtin", code="4006381333931")
    with pytest.raises(ProblemError, match="belongs to RLR-120-BLU"):
        add_identifier(item=room.axle, kind="gtin", code="04006381333931")
    with pytest.raises(ProblemError, match="should end in 1"):
        add_identifier(item=room.axle, kind="gtin", code="4006381333930")
    remove_identifier(identifier=row)

    assert items_called("04006381333931") == []


def test_places_and_lots_are_found_by_label_or_typing(room):
    lot = Lot.objects.create(item=room.axle, code="S-1", kind="serial")

    assert find_place("a1") == find_place("PLACE:A1") == room.places["A1"]
    assert find_lot(room.axle, "s-1") == find_lot(room.axle, "LOT:AXL-750:S-1") == lot
    assert find_lot(room.roller, "") is None


def test_the_worker_stands_at_the_root_and_changes_with_the_assets(db):
    answer = Client().get("/worker.js")

    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert answer.headers["Service-Worker-Allowed"] == "/"
    assert "/static/js/waiting.js" in answer.content.decode()
    assert Client().get("/who/").status_code == 302
