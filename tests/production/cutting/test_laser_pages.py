"""The laser's pages: what is next, marking in the address, counting, lists."""

import uuid

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from inventory.stores.labels.contents import labels
from production.cutting.models import CutBatch, CutSheet, LaidPart
from production.cutting.sorting import destinations
from production.cutting.stopping import note_parts
from tests.production.cutting.test_stopping import redraw
from tests.production.floor import cut_batch, floor_shop, operation, released
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def text(response) -> str:
    return response.content.decode()


def key() -> str:
    return f"laser:{uuid.uuid4().hex}"


def send(client, name: str, sheet: CutSheet, follow: bool = False, **fields):
    """A form of the sheet's page, with a key of its own unless one is given."""
    return client.post(address(name, sheet), {"key": key(), **fields}, follow=follow)


def address(name: str, sheet: CutSheet) -> str:
    return reverse(f"laser:{name}", args=[sheet.batch.number, sheet.number])


def test_the_station_says_which_sheet_to_fetch_and_where_it_lies(screen, shop):
    shop.stock("SH", "3")
    cut_batch(shop, [released(shop)])

    page = text(screen.get(reverse("laser:station")))

    assert "2000 × 1000 × 6" in page
    assert "A1" in page
    assert "2 left there after this one" in page
    assert page.count('class="part waiting"') == 4


def test_an_empty_station_says_where_work_comes_from(screen):
    assert "when the manager releases a plan" in text(screen.get(reverse("laser:station")))


def test_a_part_marked_in_the_address_is_counted_as_scrap(screen, shop):
    shop.stock("SH", "1")
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    send(screen, "begin", sheet)
    bad = sheet.placements.first()
    marked = text(screen.get(address("sheet", sheet), {"bad": f"{bad.pk}:tipped"}))
    assert f'name="bad" value="{bad.pk}:tipped"' in marked
    assert 'class="part marked"' in marked

    answer = send(screen, "finish", sheet, follow=True, bad=f"{bad.pk}:tipped")

    bad.refresh_from_db()
    assert (bad.state, bad.reason) == ("scrap", "tipped up and was hit")
    assert "3 good; 1 to cut again" in text(answer)


def test_a_refused_count_keeps_the_marks_and_says_why(screen, shop):
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    send(screen, "begin", sheet)
    bad = sheet.placements.first()

    answer = send(screen, "finish", sheet, bad=f"{bad.pk}:edge")

    assert answer.status_code == 409
    assert "lies on a shelf" in text(answer)
    assert f'value="{bad.pk}:edge"' in text(answer)


def test_counting_twice_and_undoing_through_the_pages(screen, shop):
    shop.stock("SH", "1")
    order = released(shop)
    sheet = cut_batch(shop, [order]).sheets.get()
    for _ in range(2):
        assert send(screen, "finish", sheet).status_code == 302
    assert operation(order, "laser").state == "done"

    screen.post(address("undo", sheet), {"reason": "counted the wrong one"})

    assert shop.on("SH", "A1") == 1


def test_a_stop_needs_words(screen, shop):
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    assert send(screen, "stop", sheet, problem=" ").status_code == 409
    assert send(screen, "stop", sheet, problem="no gas").status_code == 302


def test_people_without_the_right_may_look_but_not_count(client, shop):
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    shop.user.user_permissions.clear()
    client.force_login(type(shop.user).objects.get(pk=shop.user.pk))

    assert client.get(address("sheet", sheet)).status_code == 200
    assert send(client, "finish", sheet).status_code == 403


def test_the_sorting_list_sends_plates_to_the_weld_and_leaves_bad_ones_out(screen, shop):
    order = released(shop)
    batch = cut_batch(shop, [order])
    batch.sheets.get().placements.filter(pk=batch.sheets.get().placements.first().pk).update(state="scrap")

    [place] = destinations(batch)

    assert place.name == "Weld"
    assert [(line.order, line.code, line.count, line.cut) for line in place.lines] == [
        (order.number, "PL", 3, 0)
    ]
    assert screen.get(reverse("laser:sorting", args=[batch.number])).status_code == 200


def test_the_list_of_batches_filters_and_exports(screen, shop):
    order = released(shop)
    cut_batch(shop, [order], "CB-7")
    cut_batch(shop, [], "CB-8")

    found = text(screen.get(reverse("laser:batches"), {"order": order.number}))

    assert "CB-7" in found
    assert "CB-8" not in found
    assert screen.get(reverse("laser:batches"), {"as": "xlsx"})["Content-Type"].endswith("sheet")


@pytest.mark.parametrize("name", ["station", "batches", "batch", "sheet", "sorting"])
def test_pages_ask_no_more_questions_for_thirty_than_for_three(
    screen, shop, name, django_assert_max_num_queries
):
    shop.stock("SH", "90")
    orders = [released(shop) for _ in range(8)]
    for index in range(30):
        cut_batch(shop, orders[: 1 + index % 8], f"CB-{index}", sheets=2)
    args = {"station": [], "batches": [], "sheet": ["CB-7", 1]}.get(name, ["CB-7"])
    with django_assert_max_num_queries(20):
        assert screen.get(reverse(f"laser:{name}", args=args)).status_code == 200
    assert CutBatch.objects.count() == 30


def test_the_same_form_sent_twice_is_answered_alike_and_posted_once(screen, shop):
    shop.stock("SH", "3")
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    same = key()
    answers = [send(screen, "finish", sheet, key=same, cast="48121") for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert shop.on("SH", "A1") == 2


def test_the_rest_of_a_sheet_is_kept_with_a_label(screen, shop):
    shop.stock("SH", "1")
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    page = text(screen.get(address("sheet", sheet)))
    assert "as it lies, with its steps" in page

    answer = send(screen, "finish", sheet, follow=True, keep="straight", place="A2", cast="48121")

    assert "Stick the label on offcut CB-1-1" in text(answer)
    (label,) = labels("lots", "CB-1-1")
    assert {"cast 48121", "1\u202f150 × 1\u202f000 mm in one piece"} <= set(label.lines)
    assert "<polygon" in label.drawing


def test_an_offcut_needs_a_shelf(screen, shop):
    shop.stock("SH", "1")
    sheet = cut_batch(shop, [released(shop)]).sheets.get()
    answer = send(screen, "finish", sheet, keep="straight", place="nowhere")
    assert answer.status_code == 409
    assert "no shelf to go to" in text(answer)


def test_a_stop_is_shown_and_cleared_by_whom_it_is_allowed(screen, shop):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [released(shop)])
    note_parts([batch])
    redraw(shop)
    sheet = batch.sheets.get()
    assert "Do not cut this sheet" in text(screen.get(reverse("laser:station")))
    assert send(screen, "begin", sheet).status_code == 409
    laid = LaidPart.objects.get()
    decision = {"laid": laid.pk, "decision": "cut", "note": "only a chamfer"}
    assert screen.post(reverse("laser:decide", args=["CB-1"]), decision).status_code == 403

    shop.user.user_permissions.add(Permission.objects.get(codename="clear_stops"))
    assert screen.post(reverse("laser:decide", args=["CB-1"]), decision).status_code == 302
    assert send(screen, "begin", sheet).status_code == 302
