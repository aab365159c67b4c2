"""The hand pages when the wireless drops: entries wait on the device and are posted exactly once."""

import re
from collections.abc import Iterator
from decimal import Decimal

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from bom.items.identifying import add_identifier
from bom.items.models import Item
from bom.kernel.entries import Entry
from inventory.buying.models import PurchaseOrderLine, Receipt
from inventory.stock.models import Balance, Location, Posting
from inventory.stores.handling import count_stock
from inventory.stores.models import CountEntry, CountSheet
from inventory.stores.rules import Handling, set_handling
from inventory.stores.stocktaking import approve
from production.assembly.kits import ensure_kits
from production.assembly.models import KitLine
from production.assembly.queries import kits, pick_rows
from production.orders.models import Order
from tests.browser.conftest import Person, wait_until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# What Chromium itself writes to the console when the network is away or an entry is refused.
EXPECTED = re.compile(r"ERR_INTERNET_DISCONNECTED|status of 409|status of 404")

CAMERA = """
window.BarcodeDetector = class {
  async detect() { return window.codeBeforeCamera ? [{ rawValue: window.codeBeforeCamera }] : []; }
};
navigator.mediaDevices.getUserMedia = async () => {
  const canvas = document.createElement("canvas");
  canvas.getContext("2d").fillRect(0, 0, 9, 9);
  return canvas.captureStream(5);
};
"""

# The list of items and places comes from far away: a code is read before it is here.
SLOW_BOOK = """
const fetched = window.fetch;
window.fetch = async (...asked) => {
  const answer = await fetched(...asked);
  if (String(asked[0]).includes("book")) await new Promise((resolve) => setTimeout(resolve, 1500));
  return answer;
};
"""


@pytest.fixture
def phone(chrome, live_server, workshop) -> Iterator[Person]:
    """The storekeeper's phone, its hand pages kept."""
    context = chrome.new_context(
        viewport={"width": 390, "height": 844}, locale="en-GB", timezone_id="Europe/London"
    )
    someone = Person(context.new_page(), live_server.url)
    someone.sign_in("stores")
    someone.open("/stores/hand/")
    someone.page.wait_for_selector("html[data-kept]")
    yield someone
    context.close()
    assert [error for error in someone.errors if not EXPECTED.search(error)] == []


@pytest.fixture
def stack(workshop) -> Balance:
    """Some untracked item on a shelf."""
    rows = Balance.objects.filter(location__kind="shelf", item__tracking="none", quantity__gt=5)
    return rows.select_related("item", "location").order_by("pk").first()


def _scan(page: Page, code: str) -> None:
    """As a hand scanner does: types into the field that has the focus, over what is chosen, and ends with Enter."""
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def _count(page: Page, stack: Balance, counted) -> None:
    place = page.get_by_label("Place", exact=True)
    item = page.get_by_label("Item", exact=True)
    expect(page.locator("[data-takes=place]:focus, [data-takes=item]:focus")).to_have_count(1)
    if place.evaluate("box => box === document.activeElement"):
        _scan(page, f"PLACE:{stack.location.code}")
    expect(item).to_be_focused()
    _scan(page, f"ITEM:{stack.item.code}")
    expect(page.get_by_label("How many lie there")).to_be_focused()
    _scan(page, str(counted))


def _state(page: Page):
    return page.locator("#waiting .state")


def _entries(stack: Balance) -> list[Decimal]:
    """What was counted by hand of the stack, on any sheet."""
    rows = CountEntry.objects.filter(
        line__item=stack.item, line__location=stack.location, key__startswith="stores:"
    )
    return list(rows.order_by("pk").values_list("quantity", flat=True))


def test_a_count_and_a_pick_made_without_network_are_written_once_after_the_page_was_closed(phone, stack):
    ensure_kits(Order.objects.filter(state__in=Order.OPEN))
    kit = next(kit for kit in kits().filter(open_lines__gt=0) if any(r.can_pick for r in pick_rows(kit)))
    line = next(row for row in pick_rows(kit) if row.can_pick > 0)
    context: BrowserContext = phone.page.context
    phone.open(f"/stores/hand/pick/{kit.order.number}/")
    phone.page.wait_for_selector("html[data-kept]")
    phone.check_access()

    context.set_offline(True)
    page = phone.page
    page.goto(f"{phone.address}/stores/hand/count/")
    counted = stack.quantity + 3
    _count(page, stack, f"{counted:f}")
    expect(_state(page)).to_contain_text("1 entry waits for the network")
    expect(page.locator("#hand")).not_to_contain_text("ledger says")
    page.goto(f"{phone.address}/stores/hand/pick/{kit.order.number}/")
    _scan(page, "PLACE:NOWHERE")
    expect(page.locator("form.line:visible [data-wrong]")).to_contain_text(f"{line.line.item.code} from")
    _scan(page, f"ITEM:{line.line.item.code}")
    expect(page.locator("form.line:visible [data-about]")).to_have_text("The right part.")
    page.get_by_role("button", name="Picked").click()
    expect(_state(page)).to_contain_text("2 entries wait for the network")
    phone.check_access()
    page.close()
    assert _entries(stack) == []

    page = phone.page = context.new_page()
    page.goto(f"{phone.address}/stores/hand/")
    expect(_state(page)).to_contain_text("2 entries wait")
    phone.shot("hand-waiting")
    context.set_offline(False)
    expect(_state(page)).to_contain_text("Picked")
    page.reload()
    expect(page.locator("#waiting .entries li")).to_have_count(0)

    before = stack.quantity
    stack.refresh_from_db()
    assert stack.quantity == before, "nothing is posted before somebody has approved it"
    assert _entries(stack) == [counted]
    assert KitLine.objects.get(pk=line.line.pk).picked == line.can_pick
    picked = Posting.objects.filter(key__startswith=f"pick:{line.line.pk}").latest("pk")
    assert picked.happened_at < picked.recorded_at
    assert Entry.objects.count() == 2


def test_a_double_click_writes_one_count_and_the_sheet_is_handed_in_and_approved(phone, stack):
    phone.open("/stores/hand/count/")
    page = phone.page
    counted = stack.quantity - 1
    _double(page, stack, counted)
    expect(_state(page)).to_contain_text("written on")
    assert _entries(stack) == [counted]
    _count(page, stack, f"{counted:f}")  # one less of so few is far out: it is counted once more
    wait_until(page, lambda: len(_entries(stack)) > 1)
    assert _entries(stack) == [counted] * 2
    page.reload()
    phone.shot("hand-count")
    phone.check_access()
    sheet = CountSheet.objects.get(lines__item=stack.item, lines__location=stack.location, state="counting")
    page.get_by_role("button", name=f"Hand in {sheet.number}").dblclick()
    expect(_state(page)).to_contain_text("waits for approval")

    approve(sheet=sheet, by=None, reason="counted twice")
    stack.refresh_from_db()
    assert stack.quantity == counted


def _double(page: Page, stack: Balance, counted) -> None:
    _scan(page, f"PLACE:{stack.location.code}")
    expect(page.get_by_label("Item", exact=True)).to_be_focused()
    _scan(page, f"ITEM:{stack.item.code}")
    expect(page.get_by_label("How many lie there")).to_be_focused()
    page.keyboard.type(f"{counted:f}")
    page.get_by_role("button", name="Write the count down").dblclick()


def test_a_move_overtaken_meanwhile_is_refused_mended_and_posted(phone, stack):
    context = phone.page.context
    phone.open("/stores/hand/move/")
    page = phone.page
    target = "A1" if stack.location.code != "A1" else "A2"
    context.set_offline(True)
    _move(page, stack, stack.quantity, target)
    expect(_state(page)).to_contain_text("waits for the network")
    count_stock(
        item=stack.item,
        location=stack.location,
        counted=Decimal(2),
        reason="at the desk",
        by=None,
        key="stores:desk",
    )
    context.set_offline(False)
    expect(_state(page)).to_contain_text("1 entry was refused")
    expect(page.locator("#waiting .why-not")).to_contain_text("holds 2 of")
    phone.shot("hand-refused")
    phone.check_access()

    page.reload()
    page.get_by_role("link", name="Mend").click()
    quantity = page.get_by_role("textbox", name="How many")
    expect(quantity).to_be_focused()
    _scan(page, "2")
    expect(page.get_by_label("To", exact=True)).to_be_focused()
    page.keyboard.press("Enter")
    expect(_state(page)).to_contain_text("Moved 2")

    stack.refresh_from_db()
    assert stack.quantity == 0


def _move(page: Page, stack: Balance, quantity, target: str) -> None:
    _scan(page, stack.location.code)
    _scan_after(page, "Item", stack.item.code)
    _scan_after(page, "How many", f"{quantity:f}")
    _scan_after(page, "To", target)


def test_putting_away_waits_for_the_network_and_keeps_its_time(phone, stack):
    place = (
        Location.objects.get(code="A1") if stack.location.code != "A1" else Location.objects.get(code="A2")
    )
    Location.objects.filter(pk=stack.location_id).update(is_goods_in=True)
    phone.open("/stores/hand/put-away/")
    page = phone.page
    page.wait_for_selector("html[data-kept]")
    phone.shot("hand-put-away")
    phone.check_access()
    phone.page.context.set_offline(True)
    page.reload()
    page.locator("a.choice").filter(has_text=stack.item.code).filter(
        has_text=f"at {stack.location.code}"
    ).click()
    quantity = page.get_by_role("textbox", name="How many")
    expect(quantity).to_be_focused()
    expect(quantity).to_have_value(f"{stack.quantity.normalize():f}")
    page.keyboard.press("Enter")
    _scan_after(page, "To", place.code)
    expect(_state(page)).to_contain_text("waits for the network")
    page.wait_for_timeout(1500)
    phone.page.context.set_offline(False)
    expect(_state(page)).to_contain_text("Put away")

    posting = Posting.objects.get(reason="put away", key__startswith="stores:", movements__location=place)
    assert (posting.recorded_at - posting.happened_at).total_seconds() >= 1
    stack.refresh_from_db()
    assert stack.quantity == 0


def test_goods_are_set_apart_without_network(phone, stack):
    phone.open("/stores/hand/hold/")
    page = phone.page
    page.wait_for_selector("html[data-kept]")
    phone.page.context.set_offline(True)
    page.reload()
    _scan(page, f"PLACE:{stack.location.code}")
    _scan_after(page, "Item", f"ITEM:{stack.item.code}")
    _scan_after(page, "How many", "2")
    page.get_by_label("Why").select_option(label="to be inspected")
    page.get_by_role("button", name="Next").click()
    _scan_after(page, "What is to be looked at", "scratched")
    expect(_state(page)).to_contain_text("waits for the network")
    phone.page.context.set_offline(False)
    expect(_state(page)).to_contain_text("Set apart 2")
    page.reload()
    phone.shot("hand-hold")
    phone.check_access()

    held = Posting.objects.filter(kind="hold").latest("pk")
    assert held.reason == "to be inspected: scratched"
    page.get_by_role("link", name="Release from hold").click()
    expect(page.locator("a.choice").filter(has_text="scratched")).to_be_visible()
    phone.shot("hand-release")
    phone.check_access()


def test_a_full_bin_is_brought_once_without_network(phone, stack):
    set_handling(item=stack.item, handling=Handling(bin_quantity=Decimal(2)), by=None)
    phone.open("/stores/hand/bins/")
    page = phone.page
    page.wait_for_selector("html[data-kept]")
    phone.shot("hand-bins")
    phone.check_access()
    phone.page.context.set_offline(True)
    page.reload()
    full = page.get_by_role("button", name=f"A full bin of {stack.item.code} goes to work")
    full.dblclick()
    expect(_state(page)).to_contain_text("1 entry waits for the network")
    expect(full).to_be_disabled()
    phone.page.context.set_offline(False)
    expect(_state(page)).to_contain_text("went to work")

    assert Posting.objects.filter(reason="full bin", movements__item=stack.item).distinct().count() == 1


def test_a_refused_entry_can_be_dropped(phone, stack):
    page = phone.page
    phone.open("/stores/hand/move/")
    _move(page, stack, Decimal(999999), "A1" if stack.location.code != "A1" else "A2")
    expect(_state(page)).to_contain_text("1 entry was refused")
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Drop").click()

    expect(page.locator("#waiting .entries li")).to_have_count(0)
    assert not Entry.objects.exists()


def _scan_after(page: Page, label: str, code: str) -> None:
    expect(page.get_by_label(label, exact=True)).to_be_focused()
    _scan(page, code)


def test_entries_go_on_after_a_sign_in_where_the_session_ended(phone, stack):
    context = phone.page.context
    page = phone.page
    phone.open("/stores/hand/count/")
    context.set_offline(True)
    _count(page, stack, f"{stack.quantity:f}")
    expect(_state(page)).to_contain_text("waits for the network")
    context.clear_cookies()
    context.set_offline(False)
    page.get_by_role("link", name="Sign in").click()
    page.get_by_label("Name").fill("stores")
    page.get_by_label("Password").fill("workshop-demo")
    page.get_by_role("button", name="Sign in").click()
    expect(_state(page)).to_contain_text("written on")

    assert _entries(stack) == [stack.quantity]


@pytest.mark.parametrize("book", ["at hand", "slow to come"])
def test_the_camera_books_a_delivery_in_from_a_suppliers_label(phone, book):
    line = (
        PurchaseOrderLine.objects.filter(
            order__state="released", is_closed=False, item__tracking="none", received=0, quantity__gte=2
        )
        .order_by("due_on", "pk")
        .first()
    )
    item = Item.objects.get(pk=line.item_id)
    add_identifier(item=item, kind="gtin", code="4006381333931", holds=Decimal(1))
    phone.page.add_init_script(CAMERA)
    if book == "slow to come":
        phone.page.add_init_script(SLOW_BOOK)
    phone.open("/stores/hand/goods-in/")
    page = phone.page
    page.evaluate("window.codeBeforeCamera = '(01)04006381333931(37)2'")
    page.get_by_role("button", name="Camera").click()
    quantity = page.get_by_role("textbox", name="How many came")
    several = page.get_by_text("choose one below")
    expect(quantity.or_(several)).to_be_visible()
    if several.is_visible():
        page.locator(f"[data-line='{line.order.number}/{line.position}'] button").click()
    expect(quantity).to_be_focused()
    expect(quantity).to_have_value("2")
    phone.shot("hand-goods-in")
    phone.check_access()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Put on")).to_be_focused()
    page.get_by_role("button", name="Book in").click()
    expect(_state(page)).to_contain_text("booked in")

    assert Receipt.objects.get(line__item=item, posting__key__in=Entry.objects.values("key")).quantity == 2


def test_a_scanner_opens_what_it_read_and_says_a_wrong_check_digit(phone, stack):
    page = phone.page
    expect(page.get_by_label("Scan or type a code")).to_be_focused()
    _scan(page, "4006381333932")
    expect(page.locator("[data-wrong]:visible")).to_contain_text("should end in 1")
    _scan(page, f"ITEM:{stack.item.code}")
    expect(page.locator("#found")).to_contain_text(stack.location.code)
    phone.shot("hand-scan")
    phone.check_access()
    page.get_by_role("link", name="Count").last.click()
    expect(page.get_by_label("Item", exact=True)).to_have_value(stack.item.code)
