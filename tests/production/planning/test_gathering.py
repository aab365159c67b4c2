"""Suggestions by supplier, the minimum value, and what is proposed to reach it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier, SupplierItem, SupplierPrice
from production.planning.gathering import by_supplier, for_order
from production.planning.models import Plan, Suggestion
from production.planning.raising import raise_suggestions
from tests.production.small_workshop import SmallWorkshop, build

MOST_QUERIES = 20


@pytest.fixture
def shop(db) -> SmallWorkshop:
    workshop = build()
    supplier = Supplier.objects.create(code="S1", name="Supplier One", minimum_value=100)
    for code, price in (("BOX", 30), ("RO-RED", 5), ("RO-GREEN", 9)):
        SupplierItem.objects.create(supplier=supplier, item=workshop.items[code], price=price, lead_days=5)
    Plan.objects.create(
        number=1, state="finished", outcome="succeeded", is_current=True, released_at=timezone.now()
    )
    rights = ("add_purchaseorder", "change_purchaseorder")
    workshop.user.user_permissions.set(Permission.objects.filter(codename__in=rights))
    return workshop


def _suggest(shop, code, quantity, begin_in) -> Suggestion:
    plan, today = Plan.objects.get(), timezone.localdate()
    return Suggestion.objects.create(
        plan=plan,
        number=plan.suggestions.count() + 1,
        item=shop.items[code],
        kind="buy",
        quantity=quantity,
        begin_on=today + timedelta(days=begin_in),
        needed_on=today + timedelta(days=begin_in + 10),
    )


@pytest.fixture
def rows(shop) -> list[Suggestion]:
    """60 due now; then 45, 30 and 27 in the order of their days."""
    wants = (("BOX", 2, 0), ("RO-RED", 9, 20), ("BOX", 1, 30), ("RO-GREEN", 3, 40))
    return [_suggest(shop, *want) for want in wants]


def _gathered():
    return by_supplier(Plan.objects.get(), until=timezone.localdate() + timedelta(days=7))


def test_the_next_suggestions_fill_up_to_the_minimum_and_no_further(shop, rows):
    (firm,) = _gathered()

    assert (firm.due_value, firm.short, firm.filled_value, firm.is_reached) == (60, 40, 105, True)
    assert [(row.is_due, row.fills) for row in firm.rows] == [
        (True, False),
        (False, True),
        (False, False),
        (False, False),
    ]


def test_where_all_of_it_is_too_little_the_page_says_so(shop, rows):
    Supplier.objects.update(minimum_value=1000)
    (firm,) = _gathered()

    assert (firm.is_reached, firm.filled_value) == (False, 162)
    assert all(row.is_ticked for row in firm.rows)


def test_packs_and_breaks_count_in_the_value(shop, rows):
    sold = SupplierItem.objects.get(item__code="BOX")
    sold.pack = 10
    sold.save()
    SupplierPrice.objects.create(sold=sold, from_quantity=10, price=20, valid_from=timezone.localdate())
    (firm,) = _gathered()

    assert (firm.rows[0].quantity, firm.rows[0].price, firm.due_value, firm.short) == (10, 20, 200, 0)


def test_a_supplier_with_nothing_due_is_left_out(shop):
    _suggest(shop, "BOX", 2, 30)
    assert _gathered() == []


def test_what_stands_on_an_order_is_not_proposed_again(shop, rows):
    (order,) = raise_suggestions(suggestion_ids=[rows[0].pk], by=shop.user)
    firm = for_order(order, Plan.objects.get(), Decimal(60))

    assert [row.suggestion for row in firm.rows] == rows[1:]
    assert [row.fills for row in firm.rows] == [True, False, False]


@pytest.fixture
def office(shop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


def test_from_short_of_the_minimum_to_a_full_order(shop, rows, office):
    (order,) = raise_suggestions(suggestion_ids=[rows[0].pk], by=shop.user)
    page = office.get(reverse("buying:order", args=[order.number])).content.decode()
    address = reverse("planning:fill", args=[order.number])
    assert address in page
    assert "£40.00 short of the supplier" in page

    page = office.get(address).content.decode()
    assert page.count(" checked") == 1
    office.post(address, {"suggestion": rows[1].pk})
    rows[1].refresh_from_db()
    assert rows[1].purchase_line.order == order
    assert (
        "short of the supplier"
        not in office.get(reverse("buying:order", args=[order.number])).content.decode()
    )


def test_nothing_is_added_to_what_has_gone_out(shop, rows, office):
    (order,) = raise_suggestions(suggestion_ids=[rows[0].pk], by=shop.user)
    PurchaseOrder.objects.update(state="released")
    address = reverse("planning:fill", args=[order.number])
    answer = office.post(address, {"suggestion": rows[1].pk}, follow=True)

    assert "It is released and cannot be added to" in answer.content.decode()
    assert PurchaseOrderLine.objects.count() == 1


def test_the_page_drafts_an_order_of_what_is_ticked(shop, rows, office, django_assert_max_num_queries):
    with django_assert_max_num_queries(MOST_QUERIES):
        page = office.get(reverse("planning:gather")).content.decode()
    assert page.count(" checked") == 2
    chosen = [rows[0].pk, rows[1].pk]
    office.post(reverse("planning:buy_suggestions"), {"suggestion": chosen})

    assert PurchaseOrderLine.objects.count() == 2


@pytest.mark.parametrize("days", ["", "0", "9999", "-1", "x", "²"])
def test_any_number_of_days_is_answered(office, rows, days):
    assert office.get(reverse("planning:gather"), {"days": days}).status_code == 200
