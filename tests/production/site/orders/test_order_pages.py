"""The order book and the pages of one order, as the order desk uses them."""

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from production.orders.models import FrozenBill, Order
from production.planning.models import Peg, Plan, Shortage
from production.scheduling.models import DelayCause, OrderForecast
from production.works.confirming import confirm_order, confirm_orders
from production.works.models import WorksOrder
from tests.production.small_workshop import SmallWorkshop

MOST_QUERIES = 20


def form(shop: SmallWorkshop, **changes: object) -> dict[str, object]:
    values: dict[str, object] = {
        "key": "order:one",
        "customer": shop.customer.code,
        "model": shop.model.code,
        "variant": "",
        "asked_for": (timezone.localdate() + timedelta(days=40)).isoformat(),
        "finish": "galvanised",
        "hull_name": "Skiff",
        "hull_mass_kg": 280,
        "hull_length_mm": 4700,
        "hull_beam_mm": 1800,
        "hull_bow_to_transom_mm": 4400,
        "weight": 1,
        "option_winch": "manual",
        "colour_port": "red",
        "colour_starboard": "green",
    }
    return {**values, **changes}


def text(response) -> str:
    return response.content.decode()


def planned(order: Order, days_late: int = 0) -> Plan:
    plan = Plan.objects.filter(is_current=True).first() or Plan.objects.create(
        number=1, is_current=True, released_at=timezone.now()
    )
    OrderForecast.objects.create(
        plan=plan,
        order=order,
        parts_on=order.asked_for,
        finishes_at=timezone.now() + timedelta(days=20),
        due_on=order.due_on,
        days_late=days_late,
    )
    return plan


def test_a_new_order_is_written_down_as_a_draft(shop, office):
    response = office.post(reverse("orders:new"), form(shop))

    order = Order.objects.get()
    assert response.url == reverse("orders:order", args=[order.number])
    assert (order.state, order.hull.name, order.finish, order.price) == ("draft", "Skiff", "galvanised", 1050)


def test_a_form_sent_twice_makes_one_order(shop, office):
    first = office.post(reverse("orders:new"), form(shop))
    second = office.post(reverse("orders:new"), form(shop))

    assert Order.objects.count() == 1
    assert first.url == second.url


def test_a_used_form_sent_again_with_another_hull_is_refused(shop, office):
    office.post(reverse("orders:new"), form(shop))
    again = office.post(reverse("orders:new"), form(shop, hull_name="Dinghy"))

    assert again.status_code == 409
    assert "already taken with other figures" in text(again)
    assert Order.objects.count() == 1


@pytest.mark.skipif(connection.vendor != "postgresql", reason="two connections at once need PostgreSQL")
@pytest.mark.django_db(transaction=True)
def test_the_same_form_sent_by_two_windows_at_the_same_moment_makes_one_order(shop, office):
    start = threading.Barrier(2)
    answers: list[str] = []

    def send() -> None:
        client = Client()
        client.cookies = office.cookies
        start.wait()
        try:
            answers.append(client.post(reverse("orders:new"), form(shop)).url)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert Order.objects.count() == 1
    assert len(answers) == 2
    assert len(set(answers)) == 1


def test_an_empty_form_is_shown_again_with_what_is_missing_and_nothing_is_written(shop, office):
    response = office.post(reverse("orders:new"), form(shop, customer="", hull_mass_kg="heavy"))

    assert response.status_code == 422
    assert "Enter a whole number" in text(response)
    assert not Order.objects.exists()


def test_an_impossible_combination_is_said_where_it_is_and_cannot_be_confirmed(shop, office):
    order = shop.draft(choices={"winch": "electric", "lights": "board"})

    shown = text(office.get(reverse("orders:draft", args=[order.number])))
    answer = office.post(reverse("orders:confirm", args=[order.number]))

    assert "takes its current from fixed lights" in shown
    assert "disabled" in shown
    assert answer.status_code == 409
    assert not FrozenBill.objects.exists()


def test_a_forbidden_finish_names_those_that_are_permitted(shop, office):
    order = shop.draft(finish="painted")

    shown = text(office.get(reverse("orders:draft", args=[order.number])))

    assert "not made in the finish" in shown
    assert "Permitted are" in shown


def test_confirming_twice_makes_one_works_order_and_says_so(shop, office):
    order = shop.draft()

    for _ in range(2):
        answer = office.post(reverse("orders:confirm", args=[order.number]), follow=True)

    assert WorksOrder.objects.count() == 1
    assert "was confirmed already; nothing was changed" in text(answer)


def test_only_the_office_may_confirm(shop, viewer):
    order = shop.draft()

    assert viewer.post(reverse("orders:confirm", args=[order.number])).status_code == 403
    assert Order.objects.get().state == "draft"


def test_a_visitor_may_look_at_a_draft_but_not_change_it(shop, viewer):
    order = shop.draft()

    assert viewer.get(reverse("orders:draft", args=[order.number])).status_code == 200
    assert viewer.post(reverse("orders:draft", args=[order.number]), form(shop)).status_code == 403


def test_a_draft_is_changed_and_a_confirmed_order_is_not(shop, office):
    order = shop.draft()
    office.post(reverse("orders:draft", args=[order.number]), form(shop, hull_name="Dinghy"))
    assert Order.objects.get().hull.name == "Dinghy"

    confirm_order(order=Order.objects.get(), by=shop.user)
    office.post(reverse("orders:draft", args=[order.number]), form(shop, hull_name="Yacht"))
    assert Order.objects.get().hull.name == "Dinghy"


def configure(client: Client, shop: SmallWorkshop, order: Order, trigger: str, **changes: object) -> str:
    response = client.get(
        reverse("orders:configure", args=[order.number]),
        form(shop, **changes),
        headers={"HX-Request": "true", "HX-Trigger-Name": trigger},
    )
    return text(response)


def test_choosing_a_variant_fills_in_its_choices(shop, office):
    part = configure(office, shop, shop.draft(), "variant", variant="harbour")

    assert part.lstrip().startswith('<div id="configure">') or '<div id="configure">' in part
    assert '<option value="electric" selected>' in part
    assert '<option value="duplex" selected>' in part
    assert '<option value="blue" selected>' in part
    assert "<html" not in part


def test_a_change_of_a_draft_shows_what_it_does_to_the_bill(shop, office):
    part = configure(office, shop, shop.draft(), "option_winch", option_winch="electric")

    assert "BOX" in part
    assert "+" in part or "350" in part
    assert "What this change does to the bill" in part


def test_a_hull_that_is_too_long_is_said_when_it_is_typed(shop, office):
    part = configure(office, shop, shop.draft(), "hull_length_mm", hull_length_mm=7000)

    assert "carries hulls of 4000 to 5500 mm" in part


def test_the_page_says_where_every_part_is(shop, office):
    shop.stock("RO-RED", "4")
    order = confirm_order(order=shop.draft(), by=shop.user)

    shown = text(office.get(reverse("orders:order", args=[order.number])))

    assert "on the shelf, A1" in shown
    assert "2 short on the shelves" in shown
    assert "to be made" in shown


def test_the_released_plan_says_what_comes_when_and_what_is_short(shop, office):
    order = confirm_order(order=shop.draft(), by=shop.user)
    plan = planned(order, days_late=3)
    day = timezone.localdate() + timedelta(days=9)
    common = {"plan": plan, "order": order, "needed_on": day, "available_on": day}
    Peg.objects.create(item=shop.items["RO-RED"], source="suggestion", quantity=2, **common)
    Shortage.objects.create(item=shop.items["RO-GREEN"], quantity=Decimal(2), days_short=4, **common)
    DelayCause.objects.create(
        plan=plan, order=order, sequence=1, kind="part", sentence="Waits for the green roller."
    )

    shown = text(office.get(reverse("orders:order", args=[order.number])))

    assert "to be ordered, there" in shown
    assert "2 short, needed" in shown
    assert "3 days late" in shown
    assert "Waits for the green roller." in shown


def test_a_promise_is_written_down_and_a_day_gone_by_is_refused(shop, office):
    order = confirm_order(order=shop.draft(), by=shop.user)
    day = timezone.localdate() + timedelta(days=12)

    office.post(reverse("orders:promise", args=[order.number]), {"promised_on": day.isoformat()})
    refused = office.post(reverse("orders:promise", args=[order.number]), {"promised_on": "2020-01-01"})

    order.refresh_from_db()
    assert order.promised_on == day
    assert order.purpose.needed_on == day
    assert refused.status_code == 409


def test_cancelling_asks_for_a_reason_and_can_be_undone(shop, office):
    order = confirm_order(order=shop.draft(), by=shop.user)

    assert office.post(reverse("orders:cancel", args=[order.number]), {"reason": ""}).status_code == 409
    shown = text(
        office.post(reverse("orders:cancel", args=[order.number]), {"reason": "Boat sold"}, follow=True)
    )
    assert "Cancelled: Boat sold" in shown

    office.post(reverse("orders:restore", args=[order.number]))
    order.refresh_from_db()
    assert order.state == "confirmed"


def test_the_book_filters_by_text_state_and_lateness(shop, office):
    late, on_time = confirm_orders(orders=[shop.draft(), shop.draft()], by=shop.user)
    planned(late, days_late=2)
    planned(on_time)
    draft = shop.draft()

    def numbers(**query: str) -> set[str]:
        rows = office.get(reverse("orders:book"), query).context["table"].rows
        return {row.record.number for row in rows}

    assert numbers() == {late.number, on_time.number, draft.number}
    assert numbers(late="true") == {late.number}
    assert numbers(state="draft") == {draft.number}
    assert numbers(q=on_time.number) == {on_time.number}
    assert numbers(q="nobody") == set()
    assert "2 days late" in text(office.get(reverse("orders:book")))


def test_gone_and_cancelled_orders_leave_the_book_unless_asked_for(shop, office):
    order = shop.draft()
    Order.objects.update(state="cancelled")

    assert order.number not in text(office.get(reverse("orders:book")))
    assert order.number in text(office.get(reverse("orders:book"), {"state": "cancelled"}))


def test_numbers_sort_as_numbers(shop, office):
    first, second = shop.draft(), shop.draft()
    Order.objects.filter(pk=first.pk).update(number="999")
    Order.objects.filter(pk=second.pk).update(number="1000")

    rows = office.get(reverse("orders:book"), {"sort": "number"}).context["table"].rows

    assert [row.record.number for row in rows] == ["999", "1000"]


def test_the_book_is_exported_as_filtered(shop, office):
    shop.draft()

    response = office.get(reverse("orders:book"), {"as": "xlsx", "state": "draft"})

    assert response.status_code == 200
    assert "orders-" in response["Content-Disposition"]


def many(shop: SmallWorkshop, count: int) -> Order:
    drafts = [shop.draft() for _ in range(count)]
    orders = confirm_orders(orders=drafts, by=shop.user)
    for order in orders:
        planned(order)
    return orders[0]


def queries(client: Client, address: str) -> int:
    client.get(address)
    cache.clear()
    with CaptureQueriesContext(connection) as found:
        assert client.get(address).status_code == 200
    return len(found)


@pytest.mark.parametrize("count", [3, 30])
def test_the_book_and_the_pages_ask_few_questions_however_many_orders(shop, office, count):
    order = many(shop, count)
    draft = shop.draft()

    for address in (
        reverse("orders:book"),
        reverse("orders:order", args=[order.number]),
        reverse("orders:draft", args=[draft.number]),
        reverse("orders:new"),
    ):
        assert queries(office, address) <= MOST_QUERIES, address
