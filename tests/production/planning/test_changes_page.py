"""The exception list of a plan: kept with it, shown with what was done since, sorted by lateness and money."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier
from production.orders.models import Order
from production.planning.models import Plan, SupplyChange
from production.scheduling import planning
from production.works.confirming import confirm_orders
from tests.production.scheduling.conftest import shop as shop_fixture
from tests.production.small_workshop import SmallWorkshop

shop = shop_fixture


@pytest.fixture
def client(shop: SmallWorkshop) -> Client:
    client = Client()
    client.force_login(shop.user)
    return client


def coming(shop: SmallWorkshop, code: str, quantity: int, due_on: date) -> PurchaseOrderLine:
    number = f"PO-{PurchaseOrder.objects.count() + 1}"
    order = PurchaseOrder.objects.create(
        number=number, supplier=Supplier.objects.get(), state=PurchaseOrder.State.RELEASED
    )
    return PurchaseOrderLine.objects.create(
        order=order, position=1, item=shop.items[code], quantity=quantity, due_on=due_on, price=Decimal(2)
    )


@pytest.fixture
def plan(shop: SmallWorkshop) -> Plan:
    """One order waits for a box that comes too late; red rollers come that nothing needs."""
    today = timezone.localdate()
    drafts = [shop.draft(asked_for=today + timedelta(days=28), choices={"winch": "electric"})]
    confirm_orders(orders=drafts, by=shop.user)
    coming(shop, "BOX", 1, today + timedelta(days=60))
    coming(shop, "RO-GREEN", 500, today + timedelta(days=10))
    plan = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert plan.outcome == "succeeded", plan.failure
    return planning.release_plan(plan=plan, by=shop.user)


def test_the_late_box_is_to_come_sooner_and_the_rollers_not_at_all(plan: Plan) -> None:
    rows = SupplyChange.objects.filter(plan=plan).order_by("-late_days", "-money")

    assert [(row.item.code, row.kind) for row in rows] == [("BOX", "forward"), ("RO-GREEN", "cancel")]
    box = rows[0]
    assert box.late_days > 0
    assert [order.number for order in box.orders.all()] == [Order.objects.get().number]
    assert "waits" in box.sentence


def test_the_page_shows_them_and_what_was_done_since(plan: Plan, client: Client) -> None:
    line = PurchaseOrderLine.objects.get(item__code="BOX")
    line.due_on = timezone.localdate() + timedelta(days=9)
    line.save()

    page = client.get(reverse("planning:changes")).content.decode()

    assert "bring forward 1" in page
    assert page.index("BOX") < page.index("RO-GREEN")
    assert "<small>now " in page


def test_it_is_narrowed_by_kind_part_and_order(plan: Plan, client: Client) -> None:
    def codes(**wanted: str) -> set[str]:
        page = client.get(reverse("planning:changes"), wanted).content.decode()
        return {code for code in ("BOX", "RO-GREEN") if f"/parts/{code}/" in page}

    assert codes(kind="cancel") == {"RO-GREEN"}
    assert codes(words="BOX") == {"BOX"}
    assert codes(words=Order.objects.get().number) == {"BOX"}
    assert codes(kind="back") == set()


def test_without_a_plan_it_says_where_it_comes_from(shop: SmallWorkshop, client: Client) -> None:
    page = client.get(reverse("planning:changes")).content.decode()

    assert "It comes with a released plan" in page
