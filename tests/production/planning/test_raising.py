"""From suggestions and shelf alerts to draft purchase orders."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from bom.kernel.errors import ProblemError
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier, SupplierItem
from inventory.buying.ordering import cancel_order
from inventory.levels.models import ItemLevel
from production.planning.alerting import watching
from production.planning.models import Peg, Plan, Shortage, Suggestion
from production.planning.raising import raise_for_shelf, raise_suggestions
from production.works.confirming import confirm_order
from tests.production.small_workshop import SmallWorkshop, build

MOST_QUERIES = 20


@pytest.fixture
def shop(db: None) -> SmallWorkshop:
    workshop = build()
    workshop.user.user_permissions.add(Permission.objects.get(codename="add_purchaseorder"))
    for code, items in (("S1", ("BOX", "RO-RED")), ("S2", ("SEC",))):
        supplier = Supplier.objects.create(code=code, name=f"Supplier {code}")
        for item in items:
            SupplierItem.objects.create(
                supplier=supplier, item=workshop.items[item], price=Decimal(3), lead_days=10
            )
    return workshop


@pytest.fixture
def plan(shop: SmallWorkshop) -> Plan:
    return Plan.objects.create(
        number=1, state="finished", outcome="succeeded", is_current=True, released_at=timezone.now()
    )


def suggestion(shop: SmallWorkshop, plan: Plan, code: str, kind: str = "buy") -> Suggestion:
    today = timezone.localdate()
    return Suggestion.objects.create(
        plan=plan,
        number=plan.suggestions.count() + 1,
        item=shop.items[code],
        kind=kind,
        quantity=Decimal(4),
        begin_on=today,
        needed_on=today + timedelta(days=40),
        days_past=2,
    )


def test_one_draft_for_each_supplier_and_every_suggestion_knows_its_line(
    shop: SmallWorkshop, plan: Plan
) -> None:
    rows = [suggestion(shop, plan, code) for code in ("BOX", "SEC", "RO-RED")]
    orders = raise_suggestions(suggestion_ids=[row.pk for row in rows], by=shop.user)
    assert [order.supplier.code for order in orders] == ["S1", "S2"]
    for row in rows:
        row.refresh_from_db()
        assert row.purchase_line is not None
        assert (row.purchase_line.item, row.purchase_line.due_on) == (row.item, row.needed_on)


def test_a_second_press_drafts_nothing_and_names_the_order(shop: SmallWorkshop, plan: Plan) -> None:
    row = suggestion(shop, plan, "BOX")
    (order,) = raise_suggestions(suggestion_ids=[row.pk], by=shop.user)
    with pytest.raises(ProblemError, match=order.number):
        raise_suggestions(suggestion_ids=[row.pk], by=shop.user)
    assert PurchaseOrder.objects.count() == 1


def test_after_its_purchase_order_is_cancelled_it_can_be_bought_again(
    shop: SmallWorkshop, plan: Plan
) -> None:
    row = suggestion(shop, plan, "BOX")
    (order,) = raise_suggestions(suggestion_ids=[row.pk], by=shop.user)
    cancel_order(order=order, by=shop.user)
    (again,) = raise_suggestions(suggestion_ids=[row.pk], by=shop.user)
    assert again.number != order.number


def test_what_comes_too_late_is_due_when_the_supplier_can_bring_it(shop: SmallWorkshop, plan: Plan) -> None:
    row = suggestion(shop, plan, "BOX")
    row.needed_on = timezone.localdate()
    row.save()
    raise_suggestions(suggestion_ids=[row.pk], by=shop.user)
    line = PurchaseOrderLine.objects.get()
    assert (line.due_on - timezone.localdate()).days >= 12  # ten working days


@pytest.mark.parametrize(
    ("code", "kind", "said"), [("PL", "make", "made here"), ("RO-GREEN", "buy", "No supplier")]
)
def test_what_cannot_be_bought_is_refused_and_nothing_is_drafted(
    shop: SmallWorkshop, plan: Plan, code: str, kind: str, said: str
) -> None:
    rows = [suggestion(shop, plan, "BOX"), suggestion(shop, plan, code, kind)]
    with pytest.raises(ProblemError, match=said):
        raise_suggestions(suggestion_ids=[row.pk for row in rows], by=shop.user)
    assert not PurchaseOrder.objects.exists()


def test_a_shelf_under_its_level_is_bought_for_once(shop: SmallWorkshop) -> None:
    item = shop.items["BOX"]
    ItemLevel.objects.create(item=item, reorder_point=5)
    (order,) = raise_for_shelf(item=item, by=shop.user)
    assert order.lines.get().quantity == 5
    with pytest.raises(ProblemError, match=order.number):
        raise_for_shelf(item=item, by=shop.user)


def test_a_full_shelf_is_not_bought_for(shop: SmallWorkshop) -> None:
    with pytest.raises(ProblemError, match="not under its level"):
        raise_for_shelf(item=shop.items["BOX"], by=shop.user)


@pytest.fixture
def signed_in(shop: SmallWorkshop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


def fill(shop: SmallWorkshop, plan: Plan, count: int) -> None:
    today = timezone.localdate()
    for _ in range(count):
        order = confirm_order(order=shop.draft(), by=shop.user)
        row = suggestion(shop, plan, "BOX")
        values = {"plan": plan, "order": order, "item": row.item, "quantity": 1, "suggestion": row}
        Peg.objects.create(**values, source="suggestion", needed_on=today, available_on=today)
        Shortage.objects.create(**values, needed_on=today, available_on=today, days_short=3)


@pytest.mark.parametrize("address", ["alerts/", "suggestions/", "BOX/"])
def test_pages_ask_the_same_number_of_questions_however_much_they_show(
    shop: SmallWorkshop,
    plan: Plan,
    signed_in: Client,
    address: str,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    fill(shop, plan, 6)
    watching.watch()
    with django_assert_max_num_queries(MOST_QUERIES):
        response = signed_in.get(f"/parts/{address}")
    assert response.status_code == 200
    assert "BOX" in response.content.decode()


def test_ticked_suggestions_become_drafts_and_the_page_says_so(
    shop: SmallWorkshop, plan: Plan, signed_in: Client
) -> None:
    fill(shop, plan, 2)
    chosen = [row.pk for row in Suggestion.objects.all()]
    response = signed_in.post(reverse("planning:buy_suggestions"), {"suggestion": chosen}, follow=True)
    text = response.content.decode()
    assert PurchaseOrder.objects.get().number in text
    assert 'type="checkbox"' not in text.split('id="list"')[1]


def test_suggestions_are_narrowed_to_a_supplier(shop: SmallWorkshop, plan: Plan, signed_in: Client) -> None:
    suggestion(shop, plan, "BOX")
    suggestion(shop, plan, "SEC")
    supplier = Supplier.objects.get(code="S2")
    page = signed_in.get(reverse("planning:suggestions"), {"supplier": supplier.pk}).content.decode()
    assert "SEC" in page
    assert "/parts/BOX/" not in page


def test_without_the_permission_nothing_is_drafted(
    shop: SmallWorkshop, plan: Plan, signed_in: Client
) -> None:
    shop.user.user_permissions.clear()
    row = suggestion(shop, plan, "BOX")
    response = signed_in.post(reverse("planning:buy_suggestions"), {"suggestion": row.pk})
    assert response.status_code == 403
    assert not PurchaseOrder.objects.exists()
