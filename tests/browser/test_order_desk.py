"""The order desk in a real browser: from a hull to a confirmed order, and a change of mind afterwards."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from production.orders.models import Order
from production.works.confirming import confirm_order
from tests.browser.conftest import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

HULL = {"mass_kg": "900", "length_mm": "5200", "beam_mm": "2050", "bow_to_transom_mm": "4900"}


def _open_hull(person: Person) -> Page:
    person.sign_in("office").open("/orders/fit/")
    page = person.page
    for name, value in HULL.items():
        page.locator(f"#id_hull_{name}").fill(value)
    page.get_by_role("button", name="Find the models").click()
    expect(page.locator("#fit table")).to_be_visible()
    return page


def _changed(page: Page, name: str, value: str) -> None:
    """Choose, and wait until the part of the form that follows it has come."""
    with page.expect_response(re.compile("/configure/")):
        page.locator(f"#id_{name}").select_option(value)
    expect(page.locator("#trailer.htmx-request")).to_have_count(0)


def test_a_hull_becomes_a_confirmed_order_with_every_figure_explained(person):
    page = _open_hull(person)
    rows = page.locator("#fit tbody tr")
    too_small = rows.filter(has_text="U400")
    expect(too_small).to_contain_text("no")
    expect(too_small).to_contain_text("400")
    person.shot("desk-fit")
    person.check_access()

    chosen = rows.filter(has=page.get_by_role("link", name="Order it")).filter(has_text="B1500")
    chosen.get_by_role("link", name="Order it").click()
    page.locator("#id_hull_name").fill("Estuary launch")
    page.locator("#id_customer").select_option(index=1)
    page.locator("#id_asked_for").fill((timezone.localdate() + timedelta(days=60)).isoformat())
    _changed(page, "finish", "galvanised")
    _changed(page, "option_winch", "w500")
    expect(page.locator("#configure")).to_contain_text("A 500 kg winch does not haul a hull")
    expect(page.locator("#configure")).to_contain_text("What would do:")
    expect(page.get_by_text("This cannot be confirmed yet")).to_be_visible()
    page.locator("#configure .problems summary").first.click()
    expect(page.locator("#configure")).to_contain_text("Whenever")
    person.shot("desk-rule")
    _changed(page, "option_winch", "w900")
    for place in ("port", "starboard"):
        _changed(page, f"colour_{place}", "red")
    expect(page.get_by_text("This can be built as it stands")).to_be_visible()
    live = page.locator("#live")
    expect(live).to_contain_text("Ratings:")
    expect(live).to_contain_text("Nose load")
    expect(page.locator("#live-cost")).to_contain_text("of the price")
    page.locator("#live-cost summary").click()
    page.locator("#configure .price summary").click()
    person.shot("desk-draft")
    person.check_access()

    page.get_by_role("button", name="Write it down as a draft").click()
    page.get_by_role("link", name="Ratings and set-up as saved").first.click()
    expect(page.locator("svg.drawing.side")).to_be_visible()
    expect(page.get_by_role("heading", name="If a figure is out")).to_be_visible()
    page.locator(".rated details summary").first.click()
    page.get_by_text("How each figure is worked out").click()
    person.shot("desk-set-up")
    person.check_access()
    page.go_back()

    page.get_by_role("button", name="Confirm as saved").click()
    expect(page.get_by_text(re.compile("is confirmed and its bill frozen"))).to_be_visible()
    person.shot("desk-confirmed")
    page.get_by_role("link", name="What it costs").click()
    expect(page.get_by_text("of the price").first).to_be_visible()
    person.shot("desk-cost")
    person.check_access()

    order = Order.objects.get(hull__name="Estuary launch")
    assert order.state == "confirmed"
    assert order.ratings.exists()
    assert order.bill.totals.exists()


@pytest.fixture
def confirmed(planned) -> Order:
    draft = Order.objects.filter(state=Order.State.DRAFT, model__braked=True).order_by("number").first()
    draft = draft or Order.objects.filter(state=Order.State.DRAFT).order_by("number").first()
    assert draft is not None
    return confirm_order(order=draft, by=None, note="for the test of the desk")


def test_a_change_of_mind_shows_what_it_touches_and_costs_before_it_is_accepted(confirmed, person):
    person.sign_in("office").open(f"/orders/{confirmed.number}/")
    page = person.page
    before = confirmed.price
    page.get_by_role("link", name="Change this order").click()
    with page.expect_response(re.compile("/configure/")):
        page.locator("#id_option_guides").select_option("poles")
    page.get_by_role("button", name="Show what this would do").click()
    expect(page.get_by_role("heading", name="In money")).to_be_visible()
    expect(page.get_by_role("heading", name="What differs in the bill")).to_be_visible()
    expect(page.locator("table.list").last).to_contain_text("guide pole", ignore_case=True)
    person.shot("desk-change")
    person.check_access()
    confirmed.refresh_from_db()
    assert confirmed.price == before, "nothing is changed by looking"

    page.get_by_label("Why it is changed").fill("asked by phone")
    page.get_by_role("button", name="Accept the change").click()
    expect(page.get_by_text(re.compile("what it was is kept as version 1"))).to_be_visible()
    expect(page.get_by_role("heading", name="Changes")).to_be_visible()
    person.shot("desk-changed")

    confirmed.refresh_from_db()
    assert confirmed.price > before
    assert confirmed.versions.get().reason == "asked by phone"
