"""What orders cost, as the office and the manager see it; others do not."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from bom.catalogue.models import TrailerModel
from bom.items.models import Colour, Item
from bom.kernel.errors import ProblemError
from bom.people.models import User
from bom.structure.models import BillLine, Process, Revision
from inventory.stock import ledger
from inventory.stock.models import Location, Posting
from inventory.stock.stating import state_cost
from production.orders.cost_models import CostSnapshot, KnownUnitCost
from production.orders.models import Order
from production.shop.models import Calendar, CostAllowance, WorkCentre, WorkCentreRate
from production.shop.rates import rates_on, set_allowances, set_rate
from production.site.costs.keeping import current, keep_costs
from production.site.costs.reckoning import asked_by, reckon_asked, reckon_orders, usual_forms
from production.site.roles import sync_roles
from production.works.confirming import confirm_order
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def priced(shop: SmallWorkshop) -> SmallWorkshop:
    """Section at 10 a metre, plate 5, rollers 7; welding at 40 + 20 an hour."""
    calendar = Calendar.objects.create(code="day", name="day")
    for code, cost in (("SEC", 10), ("PL", 5), ("RO-RED", 7), ("RO-GREEN", 7)):
        Item.objects.filter(code=code).update(standard_cost=cost)
    weld = WorkCentre.objects.create(
        code="weld", name="weld bay", process=Process.objects.get(code="weld"), calendar=calendar
    )
    set_rate(
        work_centre=weld,
        from_day=date(2020, 1, 1),
        labour_per_hour=Decimal(40),
        overhead_per_hour=Decimal(20),
        by=None,
    )
    return shop


def client_of(role: str) -> Client:
    user = User.objects.create_user("a-" + role.replace(" ", "-"), password="x")
    user.groups.add(sync_roles()[role])
    client = Client()
    client.force_login(user)
    return client


def confirmed(shop: SmallWorkshop) -> Order:
    return confirm_order(order=shop.draft(), by=shop.user)


def test_welding_costs_set_up_once_and_minutes_at_the_rate_of_the_day(priced):
    order = confirmed(priced)

    found = reckon_orders([order], timezone.localdate())[order.pk]

    assert found.parts.labour == 40
    assert found.parts.overhead == 20
    assert found.margin == order.price - found.cost


def test_a_draft_costs_what_it_would_cost_confirmed(priced):
    draft = priced.draft()
    before = reckon_asked([asked_by(draft.number)[1]], timezone.localdate())[0]

    order = confirm_order(order=draft, by=priced.user)

    assert before.parts == reckon_orders([order], timezone.localdate())[order.pk].parts


def test_a_new_rate_holds_from_its_day(priced):
    centre = WorkCentre.objects.get(code="weld")
    tomorrow = timezone.localdate() + timedelta(days=1)
    set_rate(
        work_centre=centre,
        from_day=tomorrow,
        labour_per_hour=Decimal(80),
        overhead_per_hour=Decimal(20),
        by=None,
    )

    assert rates_on(timezone.localdate())["weld"].labour_per_hour == 40
    assert rates_on(tomorrow)["weld"].labour_per_hour == 80


def test_a_rate_said_twice_for_a_day_is_one_row(priced):
    centre = WorkCentre.objects.get(code="weld")
    for labour in (50, 60):
        set_rate(
            work_centre=centre,
            from_day=date(2024, 1, 1),
            labour_per_hour=Decimal(labour),
            overhead_per_hour=Decimal(0),
            by=None,
        )

    assert [row.labour_per_hour for row in WorkCentreRate.objects.filter(from_day=date(2024, 1, 1))] == [60]


@pytest.mark.parametrize("bad", [{"sheet_yield": Decimal("1.2")}, {"scrap_share": Decimal(1)}])
def test_allowances_that_are_no_shares_are_refused(db, bad):
    figures = {
        "sheet_yield": Decimal("0.7"),
        "bar_yield": Decimal("0.9"),
        "scrap_share": Decimal("0.02"),
        "usual_load_kg": 800,
    }
    with pytest.raises(ProblemError):
        set_allowances(from_day=date(2024, 1, 1), by=None, **(figures | bad))
    assert not CostAllowance.objects.exists()


def test_the_page_of_an_order_opens_its_cost_and_its_centre_of_gravity(priced):
    top = Revision.objects.get(item__code="HT")
    BillLine.objects.filter(revision=top, position=10).update(
        centre_x_mm=2500, centre_y_mm=0, centre_z_mm=400, centre_basis="drawn"
    )
    order = confirmed(priced)

    page = client_of("office").get(reverse("costs:order", args=[order.number])).content.decode()

    assert "60 min" in page
    assert "weld bay, rate from" in page
    assert "2\u202f500" in page


@pytest.mark.parametrize("role", ["stores", "laser operator", "viewer"])
def test_only_office_and_manager_see_costs(priced, role):
    order = confirmed(priced)
    client = client_of(role)

    for address in (reverse("costs:costs"), reverse("costs:order", args=[order.number])):
        assert client.get(address).status_code == 403
    assert "What it costs" not in client.get(reverse("orders:order", args=[order.number])).content.decode()


def test_only_the_manager_writes_rates(priced):
    form = {
        "what": "rate",
        "work_centre": WorkCentre.objects.get().pk,
        "from_day": "2026-01-01",
        "labour_per_hour": "45",
        "overhead_per_hour": "20",
    }

    assert client_of("office").post(reverse("costs:rates"), form).status_code == 403
    assert client_of("production manager").post(reverse("costs:rates"), form).status_code == 302
    assert rates_on(date(2026, 1, 2))["weld"].labour_per_hour == 45


def kept_cost(order: Order) -> Decimal:
    return CostSnapshot.objects.get(order=order).cost


def test_what_is_kept_is_what_is_worked_out_for_every_order_and_model(priced):
    order, other = confirmed(priced), confirm_order(order=priced.draft(finish="galvanised"), by=priced.user)

    red = priced.items["RO-RED"]
    Item.objects.create(
        code="RO-BLUE",
        name="Roller",
        kind="bought",
        family=red.family,
        colour=Colour.objects.get(code="blue"),
    )

    assert keep_costs() == 3

    found = reckon_orders([order, other], timezone.localdate())
    assert {one.pk: kept_cost(one) for one in (order, other)} == {pk: one.cost for pk, one in found.items()}
    model = CostSnapshot.objects.get(model__isnull=False)
    form = usual_forms(TrailerModel.objects.all())
    assert model.cost == reckon_asked(form, timezone.localdate())[0].cost


def test_a_changed_rate_makes_kept_costs_stale_and_they_are_kept_anew(priced):
    order = confirmed(priced)
    keep_costs()
    before, client = kept_cost(order), client_of("office")
    assert "have changed since" not in client.get(reverse("costs:costs")).content.decode()
    assert "have changed since" not in client.get(reverse("costs:models")).content.decode()

    weld = WorkCentre.objects.get(code="weld")
    set_rate(
        work_centre=weld,
        from_day=timezone.localdate(),
        labour_per_hour=Decimal(100),
        overhead_per_hour=Decimal(20),
        by=None,
    )

    assert "have changed since" in client.get(reverse("costs:costs")).content.decode()
    assert "have changed since" in client.get(reverse("costs:models")).content.decode()
    keep_costs()
    assert kept_cost(order) == before + 60


def test_costs_of_another_bill_or_finish_than_the_order_has_count_for_nothing(priced):
    order = confirmed(priced)
    keep_costs()
    assert current(Order.objects.select_related("cost_snapshot").get(pk=order.pk)) is not None

    CostSnapshot.objects.filter(order=order).update(finish="duplex", cost=1)

    assert current(Order.objects.select_related("cost_snapshot").get(pk=order.pk)) is None
    assert "Worked out just now" in client_of("office").get(reverse("costs:costs")).content.decode()


def test_bought_parts_cost_what_their_stock_is_worth_and_the_basis_is_said(priced):
    section = priced.items["SEC"]
    yesterday = timezone.localdate() - timedelta(days=1)
    order = confirmed(priced)
    before = reckon_orders([order], timezone.localdate())[order.pk].cost
    KnownUnitCost.objects.create(item=section, cost=Decimal(13), basis="moving average", on=yesterday)

    found = reckon_orders([order], timezone.localdate())[order.pk]

    assert found.cost == before + 3 * 3
    assert "moving average" in found.prices.prices["SEC"].source


def test_stock_that_came_at_a_price_is_known_by_its_method(priced):
    supplier, shelf = Location.objects.get(code="SUPPLIER"), Location.objects.get(code="A1")
    section = priced.items["SEC"]
    posting = ledger.post(
        key="came",
        kind=Posting.Kind.RECEIPT,
        lines=[
            ledger.Line(section.pk, supplier.pk, Decimal(-5)),
            ledger.Line(section.pk, shelf.pk, Decimal(5)),
        ],
        by=priced.user,
        happened_at=timezone.now() - timedelta(days=2),
    )
    state_cost(
        posting=posting, item=section, unit_cost=Decimal("11.5"), reason="delivery note", by=priced.user
    )

    keep_costs()

    known = KnownUnitCost.objects.get(item=section)
    assert (known.cost, known.basis) == (Decimal("11.5"), "moving average")


@pytest.mark.parametrize("name", ["costs:costs", "costs:models"])
def test_lists_ask_few_questions_whether_kept_or_not(priced, name):
    for _ in range(3):
        confirmed(priced)
    client = client_of("office")
    for most in (20, 17):
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse(name))
        assert len(asked) <= most
        keep_costs()
