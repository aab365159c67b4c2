"""The saw's whole way by keyboard: start, one piece wrong, the rest back with its label, the next bar."""

import re

import pytest
from playwright.sync_api import expect

from inventory.stock import ledger
from inventory.stock.models import Balance, Posting
from production.cutting.saw import queries
from production.cutting.saw.models import BarGather, SawBar

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_bar_is_sawn_with_one_piece_wrong_and_its_rest_kept(person):
    person.sign_in("manager").open("/saw/")
    page = person.page
    foremost = queries.open_bars().first()
    assert foremost is not None
    expect(page.locator(".sawing li")).to_have_count(foremost.cuts.count())
    person.shot("saw-station")
    person.check_access()

    # Which bars leave a rest hangs on the day's stock: the one that leaves most is sawn.
    bar = SawBar.objects.get(pk=queries.open_bars().order_by("-rest_mm").values_list("pk", flat=True)[0])
    kept_mm = min(100, int(bar.rest_mm))
    assert kept_mm > 0
    person.open(f"/saw/batches/{bar.batch.number}/{bar.number}/")
    page.keyboard.press("s")
    expect(page.locator("main")).to_contain_text("begun by")
    expect(page.get_by_role("button", name="Bar is sawn")).to_be_visible()
    page.get_by_label("How piece 1 came out").select_option(label="wrong length")
    page.reload()
    expect(page.get_by_label("How piece 1 came out")).to_have_value(re.compile(r"^\d+:length$"))
    expect(page.get_by_text("is kept on this device and is not sent yet")).to_be_visible()
    keeps = page.get_by_label("Keep it")
    keeps.check()
    page.get_by_label("Its length, mm").fill(str(kept_mm))
    person.shot("saw-bar")
    page.locator(".sawing .mark").first.click()
    page.keyboard.press("d")
    page.wait_for_url(re.compile(r"/saw/batches/"))
    expect(page.locator("main")).to_contain_text("Label of the offcut")
    assert (
        page.evaluate("Object.keys(localStorage).filter((name) => name.startsWith('workshop-marks'))") == []
    )
    person.shot("saw-sawn")
    person.check_access()

    bar.refresh_from_db()
    assert bar.state == "done"
    assert sorted(set(bar.cuts.values_list("state", flat=True))) in (["good", "scrap"], ["scrap"])
    assert Posting.objects.filter(saw_bar=bar).count() == 1
    assert Balance.objects.get(lot=bar.offcut, quantity__gt=0).quantity * 1000 == kept_mm
    assert BarGather.objects.first().item == bar.batch.item
    assert ledger.audit() == []

    page.get_by_role("link", name="Label of the offcut").click()
    expect(page.locator("main")).to_contain_text("1 label")
    for name in ("batches", "rules"):
        person.open(f"/saw/{name}/").shot(f"saw-{name}")
        person.check_access()
    person.open(f"/saw/batches/{bar.batch.number}/").shot("saw-batch")
