"""The pages of outside work: what lies outside, one load, sending out, counting back, claims, terms."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from inventory.buying import outside
from inventory.buying.outside_models import OutsideClaim, OutsideLine, OutsideService
from tests.inventory.buying.test_outside import Yard

KEY = "outside:" + "a" * 32


@pytest.fixture
def yard(room) -> Yard:
    return Yard(room)


def sending(yard, **changed):
    yard.room.bring(yard.bracket, 30, "A1")
    return {
        "key": KEY,
        "service": yard.service.pk,
        "reference": "D-77",
        "goods": "brk 12\nBRK\t8",
        "source": yard.room.places["A1"].pk,
        "mass_kg": "96.5",
        "back_on": (yard.today + timedelta(days=7)).isoformat(),
        **changed,
    }


def test_goods_pasted_from_a_spreadsheet_are_sent_once(yard, keeper):
    form = sending(yard)
    for _ in range(2):
        answer = keeper.post(reverse("buying:send_out"), form)
        assert answer.status_code == 302

    line = OutsideLine.objects.get()
    assert yard.at("BATH") == 20
    assert line.value == Decimal("340.00")


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        pytest.param({"goods": "NOPE 3"}, "there is no item NOPE", id="unknown item"),
        pytest.param({"goods": "BRK many"}, "write how many of BRK", id="no quantity"),
        pytest.param({"goods": "BRK 1 L9"}, "has no lot L9", id="unknown lot"),
        pytest.param({"goods": "BRK 31"}, "holds 30 of BRK", id="too many"),
    ],
)
def test_what_cannot_be_sent_is_said_and_nothing_moves(yard, keeper, changed, sentence):
    answer = keeper.post(reverse("buying:send_out"), sending(yard, **changed))
    assert sentence in answer.content.decode()
    assert not OutsideLine.objects.exists()


def test_the_page_says_what_lies_outside_and_for_how_long(yard, keeper):
    yard.send(happened_at=timezone.now() - timedelta(days=14), back_in=-5)
    text = keeper.get(reverse("buying:outside")).content.decode()
    assert "Zinc Bath" in text
    assert "10 × " in text
    assert "late" in text
    assert "exactly what his loads say" in text


def test_a_load_is_counted_back_on_its_page(yard, keeper):
    line = yard.send()
    form = {
        "key": KEY,
        f"back-{line.pieces.get().pk}": "7",
        "target": yard.room.places["A2"].pk,
        "rest_is_missing": "on",
    }
    for _ in range(2):
        assert keeper.post(reverse("buying:load_back", args=[line.pk]), form).status_code in (302, 200)

    assert yard.at("A2") == 7
    assert OutsideClaim.objects.get().quantity == 3


def test_a_load_of_a_station_is_not_counted_back_here(yard, keeper):
    line = yard.send(is_counted_at_station=True)
    answer = keeper.post(
        reverse("buying:load_back", args=[line.pk]), {"key": KEY, "target": yard.room.places["A2"].pk}
    )
    assert answer.status_code == 409
    assert yard.at("BATH") == 10


def test_a_claim_is_made_and_settled_on_the_loads_page(yard, keeper):
    line = yard.back(yard.send(), 10)
    piece = line.pieces.get()
    keeper.post(
        reverse("buying:claim_outside", args=[piece.pk]),
        {"key": KEY, "quantity": "2", "reason": "bare spots", "is_scrap": "on"},
    )
    claim = OutsideClaim.objects.get()
    keeper.post(
        reverse("buying:settle_claim", args=[claim.pk]),
        {"key": KEY, "how": "made_good", "credit": "12.50", "answer": "credit note"},
    )

    claim.refresh_from_db()
    assert (claim.state, claim.credit) == ("made_good", Decimal("12.50"))
    assert yard.at("A2") == 8
    assert "credit note" in keeper.get(reverse("buying:load", args=[line.pk])).content.decode()


def test_missing_pieces_are_claimed_on_the_page(yard, keeper):
    piece = yard.send().pieces.get()
    url = reverse("buying:claim_outside", args=[piece.pk])
    assert (
        keeper.post(url, {"key": KEY, "kind": "missing", "reason": "sunk in the kettle"}).status_code == 302
    )
    assert OutsideClaim.objects.get().kind == "missing"


def test_a_promise_and_an_answer_are_kept(yard, keeper):
    line = yard.send()
    day = yard.today + timedelta(days=9)
    keeper.post(reverse("buying:load_confirm", args=[line.pk]), {"key": KEY, "promised_on": day.isoformat()})
    keeper.post(
        reverse("buying:load_chase", args=[line.pk]),
        {"key": KEY, "answer": "kettle relined", "again_on": day.isoformat()},
    )

    line.refresh_from_db()
    assert line.due_on == day
    assert "kettle relined" in keeper.get(reverse("buying:order", args=[line.order.number])).content.decode()


def test_a_load_to_chase_stands_on_the_list(yard, keeper):
    yard.send(happened_at=timezone.now() - timedelta(days=14), back_in=-5)
    text = keeper.get(reverse("buying:chase_list")).content.decode()
    assert "Loads away for work" in text
    assert "L-1" in text


def test_the_terms_of_outside_work_are_kept(yard, keeper):
    url = reverse("buying:service", args=["ZINC", yard.service.pk])
    form = {
        "work": "galvanise",
        "name": "hot-dip galvanising",
        "place": yard.room.places["BATH"].pk,
        "price_per_kg": "0.71",
        "minimum_kg": "600",
        "days_away": "5",
        "is_preferred": "on",
    }
    assert keeper.post(url, form).status_code == 302
    assert OutsideService.objects.get().price_per_kg == Decimal("0.71")
    assert "0.71" in keeper.get(reverse("buying:supplier", args=["ZINC"])).content.decode()


@pytest.mark.parametrize("name", ["buying:outside", "buying:chase_list", "buying:suppliers", "buying:orders"])
def test_pages_ask_as_often_for_many_loads_as_for_one(yard, keeper, name):
    def count() -> int:
        keeper.get(
            reverse(name)
        )  # the head of the page is kept for some seconds: it is counted as kept, both times
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert keeper.get(reverse(name)).status_code == 200
        return len(caught)

    old = {"happened_at": timezone.now() - timedelta(days=14), "back_in": -5}
    outside_line = yard.send(**old)
    yard.back(outside_line, 8, rest_is_missing=True)
    few = count()
    for number in range(8):
        line = yard.send(key=f"more:{number}", **old)
        yard.back(line, number, key=f"more:back:{number}", rest_is_missing=True)
    assert count() == few
    assert few <= 20


def test_a_visitor_looks_and_changes_nothing(yard, visitor):
    line = yard.send()
    assert visitor.get(reverse("buying:outside")).status_code == 200
    assert visitor.get(reverse("buying:load", args=[line.pk])).status_code == 200
    assert visitor.post(reverse("buying:load_back", args=[line.pk])).status_code == 403
    assert visitor.get(reverse("buying:send_out")).status_code == 403
    assert outside.line_of("L-1", "galvanise") == line
