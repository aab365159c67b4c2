"""The laser operator's whole way: start, one scrapped, one lost, the rest back with its label, done."""

import re

import pytest
from playwright.sync_api import expect

from inventory.stock import ledger
from inventory.stock.models import Balance, Lot, Posting
from production.cutting import queries
from production.cutting.models import CutSheet
from tests.browser.conftest import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def mark_two_and_open_the_page_again(person: Person, address: str) -> None:
    """One bad part, one lost; the marks are still there, and said not to be sent yet."""
    page = person.page
    parts = page.locator("svg a[data-part]")
    parts.nth(0).focus()
    page.keyboard.press("Enter")
    parts.nth(1).click()
    expect(page.locator("[data-marked] li")).to_have_count(2)
    page.locator("[data-marked] li").nth(1).get_by_text("lost between the slats").click()
    person.open(address)
    expect(page.locator("[data-marked] li")).to_have_count(2)
    expect(page.locator("[data-marked] li").nth(1).locator("[aria-current]")).to_have_text(
        "lost between the slats"
    )
    expect(page.get_by_text("These marks are kept on this device and are not sent yet.")).to_be_visible()


def test_a_sheet_is_cut_with_one_scrapped_one_lost_and_its_rest_kept(person):
    person.sign_in("laser").open("/laser/")
    page = person.page
    person.shot("laser-station")
    sheet = CutSheet.objects.get(pk=queries.next_sheet(queries.open_batches()[0]).pk)
    base = f"/laser/batches/{sheet.batch.number}/{sheet.number}/"
    person.open(base)
    page.wait_for_selector("html[data-kept]")
    expect(page.locator(".zooms")).to_be_visible()
    before = page.locator("svg.nest").get_attribute("viewBox")
    page.keyboard.press("+")
    assert page.locator("svg.nest").get_attribute("viewBox") != before
    page.keyboard.press("0")
    person.check_access()

    page.keyboard.press("s")
    expect(page.get_by_role("button", name="Sheet is cut")).to_be_visible()
    expect(page.locator("main")).to_contain_text("running")
    mark_two_and_open_the_page_again(person, base)
    cast = page.get_by_label("Cast number on the sheet")
    if cast.is_visible():
        cast.fill("48121")
    keep = page.get_by_label(re.compile("cut off straight"))
    is_kept = keep.count() == 1
    if is_kept:
        keep.check()
        page.get_by_label("Put it on").select_option(index=2)
    person.shot("laser-sheet")
    person.check_access()

    page.context.set_offline(True)
    page.get_by_role("button", name="Sheet is cut, 2 bad").dblclick()
    expect(page.locator("#waiting .state")).to_contain_text("1 entry waits for the network")
    sheet.refresh_from_db()
    assert sheet.state == "begun"
    page.context.set_offline(False)
    page.wait_for_url(re.compile(r"/laser/(batches/.*)?$"))
    expect(page.locator("#waiting .entries li")).to_have_count(0)

    assert (
        page.evaluate("Object.keys(localStorage).filter((name) => name.startsWith('workshop-marks'))") == []
    )

    sheet.refresh_from_db()
    assert sheet.state == "done"
    assert sorted(sheet.placements.exclude(state="good").values_list("state", flat=True)) == ["lost", "scrap"]
    assert Posting.objects.filter(cut_sheet=sheet).count() == 1
    assert sheet.stretches.get().ended_as == "done"
    if is_kept:
        assert Balance.objects.get(lot=sheet.offcut, quantity__gt=0).quantity < 1
        assert sheet.offcut.kind == Lot.Kind.OFFCUT
        person.open(f"/stores/labels/?what=lots&codes={sheet.offcut.code}")
        expect(page.locator("main")).to_contain_text("1 label")
        person.shot("laser-label")
        person.check_access()
    assert ledger.audit() == []
    person.errors[:] = [one for one in person.errors if "ERR_INTERNET_DISCONNECTED" not in one]
