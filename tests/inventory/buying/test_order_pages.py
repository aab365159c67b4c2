"""A purchase order through its pages, by the people who may and the people who may not."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from bom.kernel.pages import new_key
from inventory.buying.models import (
    BuyingLimit,
    Chase,
    Confirmation,
    PurchaseOrder,
    PurchaseOrderLine,
    SupplierItem,
    SupplierPrice,
)
from inventory.buying.paper_models import Letterhead, OrderPaper

MOST_QUERIES = 20


def _url(name, order, *more):
    return reverse(f"buying:{name}", args=[order.number, *more])


def _text(response) -> str:
    return response.content.decode()


@pytest.fixture
def second(chief) -> Client:
    browser = Client()
    browser.force_login(chief)
    return browser


def test_above_the_limit_one_asks_another_approves_and_it_is_released(room, keeper, second, buying, chief):
    BuyingLimit.objects.create(person=room.keeper, releases_up_to=10)
    BuyingLimit.objects.create(person=chief, releases_up_to=1000)
    order = buying.draft()
    page = _text(keeper.get(_url("order", order)))
    assert "Ask for approval" in page
    assert "Release to the supplier" not in page
    assert keeper.post(_url("release", order)).status_code == 409

    keeper.post(_url("ask", order))
    page = _text(keeper.get(_url("order", order)))
    assert "waits for approval" in page
    assert ">Approve<" not in page
    assert keeper.post(_url("approve", order)).status_code == 409

    assert ">Approve<" in _text(second.get(_url("order", order)))
    second.post(_url("approve", order))
    keeper.post(_url("release", order))
    order.refresh_from_db()
    assert (order.state, order.approved_by) == ("released", chief)


def test_what_waits_is_found_in_the_list(keeper, buying, room, chief):
    BuyingLimit.objects.create(person=chief, releases_up_to=0)
    waiting, other = buying.draft(), buying.draft()
    keeper.post(_url("ask", waiting))
    page = _text(keeper.get(reverse("buying:orders"), {"waits": "on"}))

    assert waiting.number in page
    assert other.number not in page


def test_the_stored_files_are_handed_out_as_they_were_sent(
    keeper, buying, django_capture_on_commit_callbacks
):
    Letterhead.objects.create(name="Sample Trailers")
    order = buying.released().order
    key = new_key("order")
    for _ in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            keeper.post(_url("send", order), {"key": key})
    (paper,) = OrderPaper.objects.all()

    assert keeper.get(_url("paper", order, 1, "pdf")).content == bytes(paper.pdf)
    answer = keeper.get(_url("paper", order, 1, "xlsx"))
    assert answer.content == bytes(paper.workbook)
    assert answer["Content-Disposition"] == f'attachment; filename="{order.number}-copy-1.xlsx"'
    assert paper.pdf_sha256 in _text(keeper.get(_url("order", order)))
    assert keeper.get(_url("paper", order, 2, "pdf")).status_code == 404


def test_a_form_without_its_key_sends_nothing(keeper, buying):
    order = buying.released().order
    for key in ("", "order:zz", "x" * 300):
        assert keeper.post(_url("send", order), {"key": key}).status_code == 409
    assert not OrderPaper.objects.exists()


def test_a_promise_is_typed_in_once(keeper, buying):
    line = buying.released()
    day = buying.today + timedelta(days=9)
    form = {"key": new_key("order"), "quantity": "12", "promised_on": day, "rest_on": day + timedelta(days=7)}
    for _ in range(2):
        assert keeper.post(_url("confirm", line.order, 1), form).status_code == 302

    assert PurchaseOrderLine.objects.count() == 2
    page = _text(keeper.get(_url("order", line.order)))
    assert "asked 20" not in page  # the rest is a line of its own
    assert "rest of another line" in page
    assert "What the supplier said" in page


@pytest.mark.parametrize(
    "bad",
    [
        {"quantity": "many", "promised_on": "2030-01-01"},
        {"quantity": "-1", "promised_on": "2030-01-01"},
        {"quantity": "1", "promised_on": "soon"},
        {"quantity": "1e30", "promised_on": "2030-01-01"},
    ],
)
def test_nonsense_is_refused_with_a_sentence(keeper, buying, bad):
    line = buying.released()
    answer = keeper.post(_url("confirm", line.order, 1), {"key": new_key("order"), **bad}, follow=True)

    assert "write a quantity above zero and the day they named" in _text(answer)
    assert not Confirmation.objects.exists()


def test_all_as_ordered_is_one_press(keeper, buying):
    order = buying.released().order
    keeper.post(_url("confirm_all", order), {"key": new_key("order")})

    assert "<b>confirmed</b>" in _text(keeper.get(_url("order", order)))


def test_a_line_is_chased_from_the_list_and_rests(keeper, buying):
    line = buying.released(days_ago=9)
    address = reverse("buying:chase_list")
    assert line.order.number in _text(keeper.get(address))
    form = {
        "key": new_key("chase"),
        "from": "chase",
        "answer": "on the lorry",
        "again_on": buying.today + timedelta(days=3),
    }
    for _ in range(2):
        assert keeper.post(_url("chase", line.order, 1), form)["Location"] == address

    assert Chase.objects.get().answer == "on the lorry"
    assert f"{line.order.number}, line 1: the answer is kept" in _text(keeper.get(address))
    assert line.order.number not in _text(keeper.get(address))


def test_a_released_order_is_cancelled_with_a_reason_only(keeper, buying):
    order = buying.released().order
    assert keeper.post(_url("cancel", order)).status_code == 409
    keeper.post(_url("cancel", order), {"reason": "ordered twice"})

    assert "ordered twice" in _text(keeper.get(_url("order", order)))


def test_a_draft_line_says_what_would_cost_no_more(keeper, buying):
    sold = SupplierItem.objects.get()
    SupplierPrice.objects.create(sold=sold, from_quantity=100, price=2, valid_from=buying.today)
    order = buying.draft(70)  # 70 × 3.20 = 224; 100 × 2 = 200

    assert "100 at £2.00 cost no more" in _text(keeper.get(_url("order", order)))


def test_a_price_agreed_for_one_order_stays(keeper, buying):
    order = buying.draft()
    due_on = order.lines.get().due_on
    keeper.post(_url("change", order, 1), {"quantity": "20", "due_on": due_on, "price": "2.95"})

    assert order.lines.get().price == Decimal("2.95")
    assert "listed today £3.20" in _text(keeper.get(_url("order", order)))


def test_terms_and_breaks_are_kept_or_refused_in_place(keeper, rubber):
    address = reverse("buying:supplier", args=[rubber.code])
    terms = {
        "lead_days": 6,
        "minimum_value": 50,
        "delivery_weekday": 3,
        "confirm_days": 2,
        "lead_percentile": 90,
        "fewest_deliveries": 4,
    }
    assert keeper.post(address, terms).status_code == 302
    rubber.refresh_from_db()
    assert (rubber.delivery_weekday, rubber.lead_percentile) == (3, 90)
    assert "Write a whole number from 1 to 99" in _text(
        keeper.post(address, {**terms, "lead_percentile": 100})
    )

    add = reverse("buying:add_break", args=[rubber.code])
    price = {
        "sold": SupplierItem.objects.get().pk,
        "from_quantity": 50,
        "price": 3,
        "valid_from": "2026-05-01",
        "valid_until": "2026-04-01",
    }
    assert "The last day lies before the first" in _text(keeper.post(add, price))
    assert keeper.post(add, {**price, "valid_until": ""}).status_code == 302
    kept = SupplierPrice.objects.get()
    keeper.post(reverse("buying:remove_break", args=[rubber.code, kept.pk]))
    assert not SupplierPrice.objects.exists()


def test_there_is_one_letterhead(keeper):
    for name in ("First", "Second"):
        assert keeper.post(reverse("buying:our_address"), {"name": name}).status_code == 302
    assert [head.name for head in Letterhead.objects.all()] == ["Second"]


def test_a_limit_is_a_persons_or_a_roles(keeper, room):
    address = reverse("buying:limits")
    assert "not both" in _text(keeper.post(address, {"releases_up_to": 5}))
    assert keeper.post(address, {"person": room.keeper.pk, "releases_up_to": 5}).status_code == 302
    keeper.post(address, {"remove": BuyingLimit.objects.get().pk})
    assert not BuyingLimit.objects.exists()


@pytest.mark.parametrize("act", ["ask", "approve", "decline", "release", "send", "confirm_all", "cancel"])
def test_a_visitor_may_do_none_of_it(visitor, buying, act):
    order = buying.draft()
    assert visitor.post(_url(act, order)).status_code == 403
    assert PurchaseOrder.objects.get().state == "draft"


def test_a_visitor_may_not_confirm_or_chase_a_line_nor_change_terms(visitor, buying, rubber):
    line = buying.released()
    assert visitor.post(_url("confirm", line.order, 1)).status_code == 403
    assert visitor.post(_url("chase", line.order, 1)).status_code == 403
    assert visitor.post(reverse("buying:supplier", args=[rubber.code])).status_code == 403
    assert visitor.get(reverse("buying:limits")).status_code == 403
    assert visitor.get(reverse("buying:our_address")).status_code == 403


@pytest.mark.parametrize("orders", [1, 8])
def test_pages_ask_the_same_number_of_questions_however_much_they_show(
    keeper, buying, rubber, room, orders, django_assert_max_num_queries
):
    for _ in range(orders):
        buying.released(10, buying.today - timedelta(days=3), days_ago=30)
    buying.comes(PurchaseOrderLine.objects.first(), 10)
    pages = [
        reverse("buying:orders"),
        reverse("buying:chase_list"),
        reverse("buying:suppliers"),
        reverse("buying:supplier", args=[rubber.code]),
        reverse("buying:lead_time", args=[rubber.code, room.roller.code]),
        _url("order", PurchaseOrder.objects.first()),
    ]
    for address in pages:
        with django_assert_max_num_queries(MOST_QUERIES):
            assert keeper.get(address).status_code == 200
