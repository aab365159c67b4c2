"""One order through every station by six people, from its confirmation to the hand-over pack.

Nothing is typed twice: what one person enters, the next one finds. The bought parts it lacks are brought before by the
ledger's own verb; everything else happens on the screens.
"""

import io
import re
import zipfile
from collections.abc import Callable, Iterator
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db.models import Sum
from django.utils import timezone
from playwright.sync_api import Browser, Error, expect

from bom.catalogue.models import TrailerModel
from bom.items.models import Item
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Balance, Location, Lot, Posting
from inventory.stock.queries import place
from production.assembly.fitting import wanted_numbers
from production.coating.models import GalvanisingLoad, LoadLine
from production.coating.powder_models import PowderStep
from production.cutting.models import CutSheet
from production.dispatch.models import BuiltRow, PaperRun
from production.orders.drafting import HullFigures, Wish, create_draft
from production.orders.models import Customer, FrozenTotal, Order
from production.planning.models import Plan
from production.site import demo
from production.works.cancelling import cancel_order
from production.works.models import WorksOperation
from tests.browser.conftest import Person, at_a_desk, let_the_server_finish, wait_until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
People = Callable[[str], Person]
TYRE = "1XY7RW4T01024"


@pytest.fixture
def draft(transactional_db) -> Order:
    """A quiet workshop: one draft, a small trailer that is galvanised and powder coated."""
    demo.build(orders=1, history_weeks=8)
    office = User.objects.get(username="office")
    for order in Order.objects.filter(state__in=Order.OPEN):
        cancel_order(order=order, by=office, reason="the customer sold his boat")
    wish = Wish(
        customer=Customer.objects.get(code="QUAY"),
        model=TrailerModel.objects.get(code="U750"),
        hull=HullFigures("Second Lantern", 380, 4300, 1700, 4200, 1750, True),
        asked_for=timezone.localdate() + timedelta(days=21),
        finish="duplex",
        choices={"supports": "keel"},
        colours={"port": "red", "starboard": "red", "powder": "grey"},
    )
    return create_draft(wish=wish, by=office)


@pytest.fixture
def people(chrome: Browser, live_server, draft) -> Iterator[People]:
    """Each role at a browser of its own; whoever says yes to every question."""
    there: dict[str, Person] = {}
    contexts = []

    def at_a_screen(name: str) -> Person:
        if name not in there:
            context = at_a_desk(chrome)
            contexts.append(context)
            there[name] = Person(context.new_page(), live_server.url).sign_in(name)
            there[name].page.on("dialog", lambda dialog: dialog.accept())
        return there[name]

    yield at_a_screen
    for context in contexts:
        context.close()
    let_the_server_finish()
    assert {name: one.errors for name, one in there.items() if one.errors} == {}


def done(order: Order, process: str) -> bool:
    return WorksOperation.objects.get(works_order__order=order, process__code=process).state == "done"


def go(person: Person, path: str) -> None:
    """Open a page, although the one before may just be drawing itself anew."""
    for _ in range(5):
        try:
            answer = person.page.goto(f"{person.address}{path}")
        except Error as refusal:
            if "ERR_ABORTED" not in str(refusal):
                raise
            answer = None
        if answer is not None:
            assert answer.ok, f"{path}: {answer.status}"
            return
        person.page.wait_for_timeout(300)
    raise AssertionError(path)


def bring_what_is_short(order: Order) -> None:
    """Suppliers bring what the shelves lack of the bill; serial numbers as they stand on the parts."""
    lines = []
    supplier, shelf = place("SUPPLIER").pk, Location.objects.filter(kind=Location.Kind.SHELF).first()
    assert shelf is not None
    for total in (
        FrozenTotal.objects.filter(bill=order.bill).exclude(item__kind=Item.Kind.MADE).select_related("item")
    ):
        item = total.item
        on_shelves = Balance.objects.filter(item=item, location__kind=Location.Kind.SHELF)
        there = on_shelves.aggregate(there=Sum("quantity"))["there"] or Decimal(0)
        lacking = (2 * total.quantity + 8 - there).quantize(Decimal(1)) if not item.is_phantom else Decimal(0)
        if item.tracking == Item.Tracking.SERIAL:
            codes = [f"{item.code}-{number}" for number in range(7001, 7001 + int(lacking))]
            lots = [Lot.objects.create(item=item, code=code, kind=Lot.Kind.SERIAL) for code in codes]
            pieces = [(Decimal(1), lot.pk) for lot in lots]
        elif item.tracking == Item.Tracking.LOT or item.kind in (Item.Kind.SHEET, Item.Kind.SECTION):
            lot = Lot.objects.create(item=item, code=f"NEW-{item.code}"[:60], cast="48121")
            pieces = [(lacking, lot.pk)]
        else:
            pieces = [(lacking, None)]
        for quantity, lot_pk in pieces:
            if quantity > 0:
                lines += [
                    ledger.Line(item.pk, supplier, -quantity),
                    ledger.Line(item.pk, shelf.pk, quantity, lot_pk),
                ]
    ledger.post(key="brought", kind=Posting.Kind.RECEIPT, lines=lines, by=User.objects.get(username="stores"))


def office_confirms(office: Person, order: Order) -> None:
    office.open(f"/orders/{order.number}/")
    office.shot("whole-01-draft")
    office.page.get_by_role("button", name=re.compile("Confirm")).first.click()
    expect(office.page.locator("main")).to_contain_text("Not promised yet")
    office.shot("whole-02-confirmed")
    order.refresh_from_db()
    assert order.state == Order.State.CONFIRMED


def manager_releases(manager: Person, order: Order) -> None:
    page = manager.open("/week/").page
    page.get_by_label("Seconds to search").fill("2")
    page.get_by_role("button", name="Make a plan").click()
    page.wait_for_load_state()
    plan = Plan.objects.order_by("-number").first()
    assert plan is not None
    manager.open(f"/week/plans/{plan.number}/")
    manager.shot("whole-03-plan")
    page.get_by_role("button", name=re.compile("Release")).first.click()
    page.wait_for_load_state()
    order.refresh_from_db()
    assert order.state == Order.State.RELEASED
    manager.open(f"/orders/{order.number}/")
    manager.shot("whole-04-promised")
    assert order.promised_on is not None


def laser_cuts_every_sheet(laser: Person, order: Order) -> None:
    page = laser.page
    sheets = CutSheet.objects.filter(placements__order=order).distinct().order_by("batch", "number")
    assert sheets
    for count, sheet in enumerate(sheets):
        go(laser, f"/laser/batches/{sheet.batch.number}/{sheet.number}/")
        page.wait_for_selector("html[data-kept]")
        page.get_by_role("button", name="Start this sheet").click()
        wait_until(page, lambda sheet=sheet: CutSheet.objects.get(pk=sheet.pk).state == "begun")
        expect(page.locator("main")).to_contain_text("running")
        page.wait_for_load_state("networkidle")
        if count == 0:
            laser.shot("whole-05-laser")
        page.get_by_role("button", name=re.compile("Sheet is cut")).first.click()
        wait_until(page, lambda sheet=sheet: CutSheet.objects.get(pk=sheet.pk).state == "done")
    wait_until(page, lambda: done(order, "laser"))


def one_job(person: Person, order: Order, process: str, shot: str) -> None:
    """Saw, fold or weld: the job is opened, begun, done."""
    page = person.open(f"/stations/{process}/{order.number}/").page
    page.get_by_role("button", name="Start", exact=True).click()
    person.shot(shot)
    page.get_by_role("button", name="Done", exact=True).click()
    page.wait_for_load_state()
    assert done(order, process), page.locator("main").inner_text()


def coating_sends_and_counts_back(coating: Person, order: Order) -> None:
    page = coating.open("/galvanising/").page
    coating.shot("whole-09-galvanising")
    for load in GalvanisingLoad.objects.filter(lines__order=order, state="released").distinct():
        address = f"/galvanising/loads/{load.number}/"
        go(coating, address)
        for line in load.lines.select_related("item", "order"):
            sign = page.get_by_role(
                "button",
                name=f"Sign for the vents of {line.item.code}, order {line.order.number}",
                exact=True,
            )
            sign.first.click()
            wait_until(page, lambda line=line: LoadLine.objects.get(pk=line.pk).vents_checked_at is not None)
        page.wait_for_load_state("networkidle")
        go(coating, address)
        for line in load.lines.all():
            page.locator(f"#out-{line.pk}").fill(f"{line.quantity.normalize():f}")
        coating.shot("whole-10-load")
        for button, state in (("The lorry has it", "away"), ("The load is back", "back")):
            page.get_by_role("button", name=button).click()
            there = GalvanisingLoad.objects.filter(pk=load.pk, state=state)
            wait_until(page, there.exists)
            page.wait_for_load_state("networkidle")
            go(coating, address)
    assert done(order, "galvanise"), page.locator("main").inner_text()


def coating_powders(coating: Person, order: Order) -> None:
    page = coating.open("/powder/").page
    coating.shot("whole-11-powder")
    page.get_by_role("button", name=re.compile("^Start ")).first.click()
    ended = PowderStep.objects.filter(batch__lines__order=order, ended_at__isnull=False)
    for count, step in enumerate(("Sweep blast", "De-gas", "Coat", "Cure"), 1):
        button = page.get_by_role("button", name=f"{step} has ended")
        expect(button).to_be_visible()
        page.wait_for_load_state("networkidle")
        if page.get_by_label(re.compile("Metal measured")).count():
            page.get_by_label(re.compile("Metal measured")).fill("200")
        if page.get_by_text("It ends sooner than").count():
            page.get_by_text("It ends sooner than").click()
            page.get_by_label("Why", exact=True).fill("a small frame")
        button.click()
        wait_until(page, lambda count=count: ended.count() == count)
    expect(page.get_by_label("Zinc before, µm")).to_be_visible()
    page.wait_for_load_state("networkidle")
    page.get_by_label("Zinc before, µm").fill("80")
    for spot in page.locator("input[name^=total-]").all():
        spot.fill("160")
    page.get_by_role("button", name="Write them down").click()
    expect(page.locator(".frame")).to_contain_text("readings are good")
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Batch is done").click()
    wait_until(page, lambda: done(order, "powder"))


def stores_pick_the_kit(stores: Person, order: Order) -> None:
    page = stores.open(f"/assembly/{order.number}/").page
    stores.shot("whole-12-kit-short-first")
    page.get_by_role("button", name="Pick all that is there").click()
    page.wait_for_load_state()
    expect(page.locator("main")).to_contain_text("Complete")
    stores.shot("whole-13-kit")


def assembly_builds(assembly: Person, order: Order) -> None:
    page = assembly.open(f"/assembly/{order.number}/").page
    page.get_by_role("button", name="Bay 2").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Build sheet")
    assembly.shot("whole-14-build-sheet")
    assembly.check_access()
    assembly.open("/assembly/bays/")
    assembly.shot("whole-15-bays")
    assembly.check_access()
    assembly.open(f"/assembly/{order.number}/numbers/")
    assembly.shot("whole-16-numbers")
    assembly.check_access()
    for one in wanted_numbers(order):
        for number in one.picked or [TYRE] * one.pieces:
            _read_off(assembly, order, number if not one.is_shared else f"DOT {number}")
    assembly.shot("whole-17-numbers-read")
    assembly.open(f"/assembly/{order.number}/")
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Trailer is assembled").click()
    wait_until(page, lambda: done(order, "assemble"))
    page.wait_for_load_state("networkidle")


def _read_off(assembly: Person, order: Order, number: str) -> None:
    page = assembly.page
    before = sum(len(one.read) for one in wanted_numbers(order))
    page.get_by_label("Scan or type the number on the part").fill(number)
    page.keyboard.press("Enter")
    wait_until(page, lambda: sum(len(one.read) for one in wanted_numbers(order)) == before + 1)
    assembly.open(f"/assembly/{order.number}/numbers/")


def manager_inspects(manager: Person, order: Order) -> None:
    page = manager.open(f"/gate/inspection/{order.number}/").page
    manager.shot("whole-18-inspection")
    for good in page.get_by_label("good", exact=True).all():
        good.check()
    for line in page.locator("ul.findings > li").all():
        value = line.locator("input[inputmode=decimal]")
        if value.count():
            limits = re.findall(r"[\d.]+", line.locator(".limits").inner_text().replace(",", ""))
            value.fill(limits[0] if limits else "1")
    page.get_by_role("button", name="Write it down").first.click()
    page.wait_for_load_state()
    manager.shot("whole-19-inspected")
    page.get_by_role("button", name="Sign: passed").click()
    page.wait_for_load_state()
    order.refresh_from_db()
    assert order.state == Order.State.DONE, page.locator("main").inner_text()


def assembly_hands_over(assembly: Person, order: Order) -> None:
    page = assembly.open(f"/gate/trailers/{order.number}/").page
    page.get_by_role("button", name="Give it the next number").click()
    page.wait_for_load_state()
    assembly.shot("whole-20-plate")
    page.get_by_role("button", name="Hand-over pack").click()
    page.wait_for_load_state()
    run = PaperRun.objects.order_by("-pk").first()
    assert run is not None
    wait_until(page, lambda: PaperRun.objects.get(pk=run.pk).has_succeeded)
    assembly.open(f"/gate/papers/{run.pk}/")
    assembly.shot("whole-21-pack")
    with page.expect_download() as loading:
        page.get_by_role("link", name="Take all as one zip").click()
    names = zipfile.ZipFile(io.BytesIO(loading.value.path().read_bytes())).namelist()
    assert names == [f"{order.number}/{order.number}-hand-over-pack.pdf"]
    assembly.open(f"/gate/trailers/{order.number}/")
    page.get_by_role("button", name="It has gone").click()
    page.wait_for_load_state()
    order.refresh_from_db()
    assert order.state == Order.State.GONE, page.locator("main").inner_text()
    assembly.open(f"/gate/records/{order.number}/")
    assembly.shot("whole-22-record")


def test_one_order_goes_through_every_station_by_six_people(people, draft):
    order = draft
    office_confirms(people("office"), order)
    bring_what_is_short(order)
    manager_releases(people("manager"), order)
    laser_cuts_every_sheet(people("laser"), order)
    go(people("laser"), "/laser/")
    one_job(people("laser"), order, "saw", "whole-06-saw")
    one_job(people("laser"), order, "fold", "whole-07-fold")
    one_job(people("assembly"), order, "weld", "whole-08-weld")
    coating_sends_and_counts_back(people("coating"), order)
    stores_pick_the_kit(people("stores"), order)
    coating_powders(people("coating"), order)
    assembly_builds(people("assembly"), order)
    manager_inspects(people("manager"), order)
    assembly_hands_over(people("assembly"), order)

    rows = BuiltRow.objects.filter(order=order)
    assert rows.filter(source__code=TYRE, quantity__gte=2).exists()
    assert rows.filter(source__kind="serial", item__code__startswith="AX-").count() == 1
    assert rows.filter(source__kind="load").exists()
    assert rows.filter(source__kind="powder").exists()
    words = set(rows.filter(kind="person").values_list("words", flat=True))
    assert {"laser", "saw", "fold", "weld", "inspection"} <= words, words
    assert ledger.audit() == []
