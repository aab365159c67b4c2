"""What the whole book needs: added up from the frozen bills, held against their totals, opened into its orders."""

from decimal import Decimal

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from bom.kernel.errors import ProblemError
from production.orders.models import FrozenTotal, Order
from production.planning.book import book_totals, refuse_other_totals, store_book
from production.planning.models import Plan
from production.planning.needs import Needs, UnderWay, read_needs
from production.shop.hours import WorkingDays
from production.works.confirming import confirm_orders
from tests.production.small_workshop import SmallWorkshop, build

MOST_QUERIES = 20


@pytest.fixture
def shop(db) -> SmallWorkshop:
    return build()


def needs_of(orders) -> Needs:
    rows = list(Order.objects.filter(pk__in=[order.pk for order in orders]).select_related("model__item"))
    today = timezone.localdate()
    return read_needs(rows, under_way=UnderWay(), today=today, days=EveryDay(), galvanising_days=5)


class EveryDay(WorkingDays):
    """Every day is worked: these tests ask for quantities only."""

    def __init__(self) -> None:
        pass

    def before(self, day: int, count: int) -> int:
        return day - count


def confirmed(shop, count=1, **changes) -> list[Order]:
    return confirm_orders(orders=[shop.draft(**changes) for _ in range(count)], by=shop.user)


def frozen(orders, code) -> Decimal:
    return sum(
        FrozenTotal.objects.get(bill=order.bill, item__code=code).quantity
        for order in orders
        if order.bill.totals.filter(item__code=code).exists()
    )


def test_the_book_is_the_sum_of_its_bills_and_counts_its_orders(shop):
    orders = confirmed(shop, 3) + confirmed(shop, 2, choices={"winch": "electric"})

    totals = book_totals(needs_of(orders))

    assert totals["HT"].quantity == 5
    assert (totals["BOX"].quantity, totals["BOX"].orders) == (2, 2)
    for code in ("PL", "BM", "SEC", "RO-RED"):
        assert totals[code].quantity == frozen(orders, code), code
        assert totals[code].orders == 5
    refuse_other_totals(totals, orders)


def test_a_total_written_past_the_desk_stops_the_plan_with_the_item_named(shop):
    orders = confirmed(shop, 2)
    needs = needs_of(orders)
    FrozenTotal.objects.filter(bill=orders[0].bill, item__code="PL").update(quantity=7)

    with pytest.raises(ProblemError, match=r"item PL.*add up to 8, their totals to 14"):
        refuse_other_totals(book_totals(needs), orders)


def planned(shop, orders) -> Plan:
    plan = Plan.objects.create(
        number=1,
        state="finished",
        outcome="succeeded",
        is_current=True,
        released_at=timezone.now(),
        orders_planned=len(orders),
    )
    needs = needs_of(orders)
    store_book(plan, needs, book_totals(needs))
    return plan


@pytest.fixture
def desk(shop) -> Client:
    client = Client()
    client.force_login(shop.user)
    return client


def test_the_page_lists_needs_and_each_figure_opens_into_its_orders(shop, desk):
    orders = confirmed(shop, 2) + confirmed(shop, 1, choices={"winch": "electric"})
    planned(shop, orders)
    shop.stock("PL", "5", "CUT")

    listed = desk.get("/parts/book/").content.decode()
    opened = desk.get("/parts/book/BOX/").content.decode()

    assert "All 3 orders of plan 1" in listed
    assert '<a href="/parts/book/PL/">12</a>' in listed
    assert orders[2].number in opened
    assert orders[0].number not in opened
    assert "confirmed, changed or closed since" not in opened


def test_an_order_confirmed_since_is_said(shop, desk):
    planned(shop, confirmed(shop))
    confirmed(shop)

    opened = desk.get("/parts/book/PL/").content.decode()

    assert "Plan 1 found 4 for 1 order" in opened
    assert "confirmed, changed or closed since" in opened


def test_the_needs_are_narrowed_down_and_taken_to_a_workbook(shop, desk):
    planned(shop, confirmed(shop))

    assert "/parts/book/PL/" not in desk.get("/parts/book/", {"words": "roller"}).content.decode()
    assert "needs-of-the-book-" in desk.get("/parts/book/", {"as": "xlsx"})["Content-Disposition"]
    assert desk.get("/parts/book/PL/", {"as": "xlsx"}).status_code == 200


@pytest.mark.parametrize("count", [3, 30])
def test_the_pages_ask_few_questions_however_many_orders(shop, desk, count):
    planned(shop, confirmed(shop, count))

    for address in ("/parts/book/", "/parts/book/PL/"):
        cache.clear()
        with CaptureQueriesContext(connection) as queries:
            assert desk.get(address).status_code == 200
        assert len(queries) <= MOST_QUERIES, address


def test_without_a_plan_the_page_says_where_needs_come_from(shop, desk):
    assert "added up when a plan is made" in desk.get("/parts/book/").content.decode()
