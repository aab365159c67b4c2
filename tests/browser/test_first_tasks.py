"""The first task of the day of each main user, in a real browser."""

import re

import pytest
from playwright.sync_api import expect

from inventory.buying.models import PurchaseOrder
from inventory.stock.models import Posting
from production.orders.models import Order
from production.planning.models import Plan
from tests.browser.conftest import wait_until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_manager_reads_the_week_makes_a_plan_and_releases_it(person):
    person.sign_in("manager")
    page = person.page
    expect(page.get_by_role("heading", level=1)).to_contain_text("The week")
    person.shot("week")
    person.check_access()

    page.get_by_label("Seconds to search").fill("2")
    page.get_by_role("button", name="Make a plan").click()
    page.goto(f"{person.address}/week/plans/2/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Plan 2")
    person.shot("plan")
    person.check_access()
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name=re.compile("Release")).first.click()
    page.wait_for_load_state()

    assert Plan.objects.get(is_current=True).number == 2


def test_stores_see_what_runs_out_and_buy_it(person):
    person.sign_in("stores")
    page = person.page
    expect(page.get_by_role("heading", level=1)).to_contain_text("Stores")
    person.shot("stores")
    person.check_access()
    before = PurchaseOrder.objects.count()

    person.open("/parts/alerts/")
    person.shot("alerts")
    person.check_access()
    page.get_by_role("button", name=re.compile("^Draft an order for")).first.click()
    page.wait_for_load_state()

    assert PurchaseOrder.objects.count() == before + 1


def test_the_laser_operator_cuts_the_next_sheet_once(person):
    person.sign_in("laser")
    page = person.page
    person.shot("laser")
    person.check_access()
    page.get_by_role("button", name="Start this sheet").click()
    done = page.get_by_role("button", name=re.compile("Sheet is cut"))
    expect(done.first).to_be_visible()
    person.shot("laser-sheet")
    person.check_access()
    cast = page.get_by_label("Cast number on the sheet")
    if cast.is_visible():
        cast.fill("48121")
    page.on("dialog", lambda dialog: dialog.accept())
    done.first.click()

    wait_until(page, lambda: Posting.objects.filter(key__startswith="sheet:").exists())
    assert Posting.objects.filter(key__startswith="sheet:").count() == 1


def test_the_office_confirms_a_draft_and_sees_its_bill(person):
    draft = Order.objects.filter(state=Order.State.DRAFT).first()
    assert draft is not None
    person.sign_in("office").open("/orders/")
    person.shot("orders")
    person.check_access()
    person.open(f"/orders/{draft.number}/")
    person.shot("order-draft")
    person.check_access()
    page = person.page
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name=re.compile("Confirm")).first.click()
    page.wait_for_load_state()
    person.shot("order")
    person.check_access()

    draft.refresh_from_db()
    assert draft.state == Order.State.CONFIRMED
    expect(page.get_by_role("heading", name=re.compile("Bill"))).to_be_visible()
