"""Coating and assembly when the wireless drops: what is entered waits on the device and is done exactly once."""

import re
from collections.abc import Iterator
from decimal import Decimal

import pytest
from django.contrib.auth.models import Group
from playwright.sync_api import Page, expect

from bom.kernel.entries import Entry
from bom.kernel.errors import ProblemError
from bom.people.models import User
from bom.structure.models import Process
from inventory.stock import ledger
from inventory.stock.models import Posting
from production.assembly.bays import begin_assembly
from production.assembly.kits import pick_all_available
from production.coating.counting_back import Found, load_back
from production.coating.loads import send_load
from production.coating.models import GalvanisingLoad
from production.coating.powder_models import PowderStep
from production.shop.models import Calendar, WorkCentre
from production.site import demo
from production.site.roles import ASSEMBLY, COATING, sync_roles
from production.works.card_making import make_cards
from production.works.card_models import CardLine, JobCard
from tests.browser.conftest import Person
from tests.production.floor import (
    finish,
    floor_shop,
    galvaniser,
    kit_of,
    load,
    operation,
    powder_batch,
    signed,
    welded,
)
from tests.production.small_workshop import SmallWorkshop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

EXPECTED = re.compile(r"ERR_INTERNET_DISCONNECTED|status of 409")
DUPLEX = {"finish": "duplex", "colours": {"port": "red", "starboard": "green", "powder": "blue"}}


@pytest.fixture
def shop(transactional_db) -> SmallWorkshop:
    made = floor_shop()
    sync_roles()
    for name, role in (("coating", COATING), ("assembly", ASSEMBLY)):
        User.objects.create_user(name, password=demo.PASSWORD).groups.add(Group.objects.get(name=role))
    WorkCentre.objects.create(
        code="assembly",
        name="Assembly",
        process=Process.objects.get(code="assemble"),
        units=2,
        calendar=Calendar.objects.create(code="day", name="Day"),
    )
    return made


@pytest.fixture
def tablet(chrome, live_server, shop) -> Iterator[Person]:
    context = chrome.new_context(
        viewport={"width": 820, "height": 1100}, locale="en-GB", timezone_id="Europe/London"
    )
    someone = Person(context.new_page(), live_server.url)
    yield someone
    context.close()
    assert [error for error in someone.errors if not EXPECTED.search(error)] == []


def state(page: Page):
    return page.locator("#waiting .state")


def keep(someone: Person, *paths: str) -> None:
    """Open pages while the network is there, so that the device has them."""
    for path in paths:
        someone.open(path)
        someone.page.wait_for_selector("html[data-kept]")


def test_a_load_signed_counted_and_sent_without_network_leaves_once(tablet, shop):
    galvaniser()
    orders = [welded(shop), welded(shop)]
    made = load(shop, orders)
    before = Posting.objects.count()
    tablet.sign_in("coating")
    address = f"/galvanising/loads/{made.number}/"
    keep(tablet, "/galvanising/", address)
    tablet.shot("load-to-sign")
    tablet.check_access()

    context, page = tablet.page.context, tablet.page
    context.set_offline(True)
    page.goto(f"{tablet.address}{address}")
    for order in orders:
        page.get_by_role("button", name=f"Sign for the vents of CH, order {order.number}", exact=True).click()
    expect(state(page)).to_contain_text("2 entries wait for the network")
    tablet.shot("load-waiting")
    page.close()
    assert not made.lines.filter(vents_checked_at__isnull=False).exists()

    page = tablet.page = context.new_page()
    page.goto(f"{tablet.address}{address}")
    context.set_offline(False)
    expect(page.get_by_text("2 of 2 lines signed")).to_be_visible()
    page.goto(f"{tablet.address}{address}")
    page.wait_for_selector("html[data-kept]")
    tablet.shot("load-to-count")
    context.set_offline(True)
    for field in page.locator("input[name^=out-]").all():
        field.fill("1")
    page.get_by_label("Weighed, kg").fill("243")
    page.get_by_role("button", name="The lorry has it").click()
    expect(state(page)).to_contain_text("1 entry waits for the network")
    context.set_offline(False)
    expect(page.get_by_role("heading", name="away")).to_be_visible()
    expect(state(page)).to_contain_text(f"Load {made.number} is away")
    tablet.shot("load-away")
    tablet.check_access()

    made.refresh_from_db()
    assert (made.state, made.weighed_out_kg) == ("away", Decimal(243))
    assert Posting.objects.count() == before + 1
    assert Entry.objects.count() == 3
    assert {line.vents_checked_by.username for line in made.lines.all()} == {"coating"}


def test_a_count_that_was_overtaken_is_refused_with_what_the_other_found(tablet, shop):
    galvaniser()
    made = signed(shop, load(shop, [welded(shop)]))
    send_load(load=made, by=shop.user)
    line = made.lines.get()
    tablet.sign_in("coating")
    keep(tablet, f"/galvanising/loads/{made.number}/")
    page = tablet.page
    page.context.set_offline(True)
    page.get_by_label("Damaged", exact=True).fill("1")
    page.get_by_text("What is wrong with the damaged ones").click()
    page.get_by_label("What is wrong", exact=True).fill("bent at the drawbar")
    page.get_by_role("button", name="The load is back").click()
    expect(state(page)).to_contain_text("waits for the network")
    load_back(load=made, by=shop.user, faults={line.pk: Found(missing=Decimal(1))})
    page.context.set_offline(False)

    expect(page.locator("#waiting .why-not")).to_contain_text("counted back meanwhile: 1 missing")
    tablet.shot("load-overtaken")
    line.refresh_from_db()
    assert (line.came_back, line.damaged) == (0, 0)
    assert ledger.audit() == []


def test_powder_steps_and_readings_entered_without_network_are_done_in_their_order(tablet, shop):
    order = welded(shop, **DUPLEX)
    finish(shop, order, "galvanise")
    batch = powder_batch(shop, [order])
    tablet.sign_in("coating")
    keep(tablet, "/powder/")
    tablet.shot("powder-ready")
    page = tablet.page
    page.get_by_role("button", name=f"Start {batch.number}").click()
    expect(page.get_by_text("Sweep blast since")).to_be_visible()
    page.wait_for_selector("html[data-kept]")
    page.context.set_offline(True)
    page.get_by_role("button", name="Sweep blast has ended").click()
    expect(state(page)).to_contain_text("1 entry waits for the network")
    tablet.shot("powder-waiting")
    page.context.set_offline(False)
    for step in ("De-gas", "Coat", "Cure"):
        page.get_by_role("button", name=f"{step} has ended").click()
    expect(page.get_by_role("heading", name="Measure and judge")).to_be_visible()
    page.get_by_label("Zinc before, µm").fill("82")
    page.get_by_label("Drawbar, µm").fill("165")
    page.get_by_role("button", name="Write them down").click()
    expect(page.locator(".frame")).to_contain_text("drawbar 83")
    tablet.shot("powder-judge")
    tablet.check_access()
    page.get_by_role("button", name="Batch is done").click()
    expect(page.get_by_text("Nothing to powder.")).to_be_visible()

    assert operation(order, "powder").state == "done"
    assert PowderStep.objects.filter(ended_at__isnull=False).count() == 4


def test_a_kit_that_another_bay_took_meanwhile_is_refused_with_who_has_it(tablet, shop):
    order = welded(shop)
    finish(shop, order, "galvanise")
    for code in ("RO-RED", "RO-GREEN"):
        shop.stock(code, "2")
    kit = kit_of(order)
    pick_all_available(kit=kit, by=shop.user)
    tablet.sign_in("assembly")
    keep(tablet, f"/assembly/{order.number}/")
    page = tablet.page
    page.context.set_offline(True)
    page.get_by_role("button", name="Bay 1").click()
    expect(state(page)).to_contain_text("1 entry waits for the network")
    begin_assembly(kit=kit, bay=2, by=shop.user)
    page.context.set_offline(False)

    expect(page.locator("#waiting .why-not")).to_contain_text("already in bay 2")
    tablet.shot("kit-overtaken")
    kit.refresh_from_db()
    assert kit.bay == 2


def test_orders_change_between_lorries_on_the_page_that_draws_them(tablet, shop):
    orders = [welded(shop), welded(shop)]
    load(shop, orders, "GL-1")
    load(shop, [], "GL-2")
    tablet.sign_in("coating")
    tablet.open("/galvanising/lorries/")
    tablet.shot("lorries")
    tablet.check_access()
    page = tablet.page
    page.get_by_role("button", name="Change").first.click()
    expect(page.get_by_text(f"Order {orders[0].number} goes with load GL-2")).to_be_visible()

    assert GalvanisingLoad.objects.get(number="GL-2").lines.get().order == orders[0]


def test_lists_of_the_floor_stand_row_by_row_on_a_phone(tablet, shop):
    made_cards(shop, welded(shop))
    tablet.sign_in("assembly")
    for path, name in (
        ("/floor/", "floor-standing"),
        ("/floor/cards/", "floor-cards"),
        ("/stations/weld/queue/", "floor-queue"),
        ("/galvanising/loads/", "floor-loads"),
    ):
        tablet.open(path)
        tablet.shot(name)
        tablet.page.set_viewport_size({"width": 390, "height": 844})
        beyond = tablet.page.evaluate(
            "[...document.querySelectorAll('.scroll')].map((e) => e.scrollWidth - e.clientWidth)"
        )
        assert all(one <= 1 for one in beyond), f"{path} scrolls sideways on a phone"


def test_a_weld_that_is_not_good_is_written_down_and_holds_the_lorry(tablet, shop):
    order = welded(shop)
    made_cards(shop, order)
    card = done_weld_card(shop, order)
    tablet.sign_in("assembly")
    keep(tablet, f"/floor/cards/{card.number}/")
    page = tablet.page
    page.context.set_offline(True)
    page.get_by_label("What you see, and where").fill("crack at the left hanger")
    page.get_by_role("button", name="It is not good").click()
    expect(state(page)).to_contain_text("1 entry waits for the network")
    page.context.set_offline(False)
    expect(page.get_by_text("holds the next step")).to_be_visible()
    tablet.shot("weld-held")
    tablet.check_access()

    signed(shop, load(shop, [order]))
    with pytest.raises(ProblemError, match="crack at the left hanger"):
        send_load(load=GalvanisingLoad.objects.get(), by=shop.user)


def made_cards(shop: SmallWorkshop, order) -> None:
    make_cards(works_orders=[order.works_order.pk])


def done_weld_card(shop: SmallWorkshop, order) -> JobCard:
    card = JobCard.objects.create(number="C90001", process=Process.objects.get(code="weld"), state="done")
    CardLine.objects.create(card=card, operation=operation(order, "weld"), item=shop.items["CH"], pieces=1)
    return card
