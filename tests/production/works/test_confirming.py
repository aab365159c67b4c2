"""Confirming an order freezes its bill once and hands its work to the floor."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bom.kernel.errors import ProblemError
from bom.structure.models import BillLine, Revision
from production.orders.models import FrozenBill, Order
from production.works.confirming import confirm_order, confirm_orders
from production.works.models import WorksOrder
from tests.production.small_workshop import build

pytestmark = pytest.mark.django_db


def test_confirming_freezes_the_bill_with_the_revisions_used():
    shop = build()

    order = confirm_order(order=shop.draft(), by=shop.user)

    totals = {
        total.item.code: (total.quantity, total.revision and total.revision.letter)
        for total in order.bill.totals.all()
    }
    assert totals["BM"] == (2, "A")
    assert totals["PL"] == (4, "A")
    assert totals["CH"] == (1, "B")
    assert totals["SEC"] == (3, None)
    assert totals["RO-RED"] == (2, None)
    assert "BOX" not in totals


def test_masses_are_rolled_up_from_parts():
    shop = build()

    bill = confirm_order(order=shop.draft(), by=shop.user).bill

    assert bill.chassis_kg == 2 * 9 + 4 * 1
    assert bill.mass_kg == 22 + 4 * 2


def test_the_floor_gets_one_operation_a_process_with_the_minutes_of_all_parts():
    shop = build()

    order = confirm_order(order=shop.draft(), by=shop.user)

    operations = {one.process.code: one.minutes for one in order.works_order.operations.all()}
    assert operations == {
        "laser": Decimal(1 + 4 * 2),
        "saw": Decimal(5 + 2 * 3),
        "weld": Decimal(60),
        "galvanise": Decimal(0),
        "assemble": Decimal(90),
        "inspect": Decimal(30),
    }
    assert order.works_order.number == f"W-{order.number}"


def test_only_a_powder_coated_finish_goes_to_the_oven():
    shop = build()
    colours = {"port": "red", "starboard": "red", "powder": "blue"}

    order = confirm_order(order=shop.draft(finish="duplex", colours=colours), by=shop.user)

    assert order.works_order.operations.get(process__code="powder").minutes == 40


def test_confirming_twice_is_refused_and_changes_nothing():
    shop = build()
    order = shop.draft()
    confirm_order(order=Order.objects.get(pk=order.pk), by=shop.user)

    with pytest.raises(ProblemError, match="already confirmed"):
        confirm_order(order=order, by=shop.user)

    assert WorksOrder.objects.count() == 1
    assert FrozenBill.objects.count() == 1


def test_orders_alike_share_one_frozen_bill_and_others_do_not():
    shop = build()
    orders = [shop.draft(), shop.draft(), shop.draft(colours={"port": "green", "starboard": "green"})]

    first, second, third = confirm_orders(orders=orders, by=shop.user)

    assert first.bill == second.bill
    assert first.bill != third.bill


def test_an_impossible_order_keeps_all_others_of_the_batch_back_too():
    shop = build()
    good, bad = shop.draft(), shop.draft(finish="painted")

    with pytest.raises(ProblemError) as refusal:
        confirm_orders(orders=[good, bad], by=shop.user)

    (problem,) = refusal.value.problems
    assert problem.where == f"order {bad.number}, finish"
    assert "Permitted are: galvanised and powder coated, hot-dip galvanised" in problem.mend
    assert not WorksOrder.objects.exists()


def test_a_later_revision_leaves_a_frozen_bill_as_it_is():
    shop = build()
    order = confirm_order(order=shop.draft(), by=shop.user)
    newer = Revision.objects.create(
        item=shop.items["CH"], letter="C", state="released", effective_from=order.asked_for.replace(year=2021)
    )
    BillLine.objects.create(revision=newer, position=10, component=shop.items["BM"], quantity="3")

    other = confirm_order(order=shop.draft(), by=shop.user)

    assert order.bill.totals.get(item__code="BM").quantity == 2
    assert other.bill.totals.get(item__code="BM").quantity == 3


def test_a_condition_that_does_not_parse_is_told_with_its_place():
    shop = build()
    line = BillLine.objects.get(component__code="BOX")
    BillLine.objects.filter(pk=line.pk).update(condition="option.winch = 'electric'")

    with pytest.raises(ProblemError) as refusal:
        confirm_order(order=shop.draft(), by=shop.user)

    assert "bill of HT, revision A, line 20, condition, line 1, column 14" in refusal.value.problems[0].where


def test_a_made_part_without_a_released_bill_stops_the_order():
    shop = build()
    Revision.objects.filter(item__code="PL").update(state="draft")

    with pytest.raises(ProblemError, match="PL is made here but has no released bill"):
        confirm_order(order=shop.draft(), by=shop.user)


def test_the_number_of_queries_does_not_grow_with_the_orders():
    shop = build()
    counts = []
    for number in (3, 30):
        orders = [shop.draft() for _ in range(number)]
        with CaptureQueriesContext(
            connection,
        ) as queries:
            confirm_orders(orders=orders, by=shop.user)
        # Rows are written in batches, and SQLite takes few at once: what is asked must not grow.
        counts.append(sum(not query["sql"].startswith("INSERT") for query in queries.captured_queries))

    # The first batch writes the shared bill: the second has less to do.
    assert counts[1] <= counts[0]
