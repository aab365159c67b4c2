"""Releasing a draft: by day or by trailer number, what it touches and what it costs shown first."""

from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from bom.items.models import Colour, Item
from bom.structure.models import BillLine, Operation, Process, Revision
from inventory.stock.models import Reservation
from production.orders.models import Order
from production.orders.numbers import next_number
from production.shop.models import Calendar, WorkCentre
from production.site.bills.release_cost import cost_of_models, cost_of_release
from production.site.bills.touching import touched_parts
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from tests.production.site.bills.test_bill_pages import manager, opened, rows  # noqa: F401
from tests.production.small_workshop import SmallWorkshop

RELEASE = "/bills/CH/release/"


@pytest.fixture
def draft(shop: SmallWorkshop, manager: Client) -> Revision:  # noqa: F811
    """A chassis with a third beam and two plates fewer; a beam costs 6, a plate nothing, welding 36 an hour."""
    Item.objects.create(
        code="RO-BLUE",
        name="Roller blue",
        kind="bought",
        family=shop.items["RO-RED"].family,
        colour=Colour.objects.get(code="blue"),
    )
    shop.items["SEC"].standard_cost = Decimal(4)
    shop.items["SEC"].save()
    WorkCentre.objects.create(
        code="W1",
        name="Weld bay",
        process=Process.objects.get(code="weld"),
        calendar=Calendar.objects.create(code="days", name="Days"),
        hourly_rate=36,
    )
    draft = opened(manager)
    draft.lines.all().delete()
    for at, (code, quantity) in enumerate((("BM", "3"), ("PL", "2")), start=1):
        BillLine.objects.create(
            revision=draft, position=10 * at, component=shop.items[code], quantity=quantity
        )
    Operation.objects.filter(revision=draft, process__code="weld").update(run_minutes=60)
    return draft


def confirmed(shop: SmallWorkshop, count: int = 1) -> list[Order]:
    return [confirm_order(order=shop.draft(), by=shop.user) for _ in range(count)]


def test_it_is_released_from_a_trailer_number_on(shop, manager, draft):  # noqa: F811
    number = next_number() + 5

    manager.post(RELEASE, {"by": "number", "from_number": str(number)})

    draft.refresh_from_db()
    assert (draft.state, draft.from_number) == ("released", number)
    assert f"in force from trailer {number} on" in manager.get("/bills/CH/?revision=C").content.decode()
    assert "revision B" in manager.get("/bills/CH/").content.decode()


@pytest.mark.parametrize(
    ("number", "says"),
    [
        ("", "No trailer number is written"),
        ("26x", "is not a trailer number"),
        ("0", "is not a trailer number"),
    ],
)
def test_what_is_no_number_is_refused_and_nothing_is_released(shop, manager, draft, number, says):  # noqa: F811
    answer = manager.post(RELEASE, {"by": "number", "from_number": number})

    assert answer.status_code == 409
    assert says in answer.content.decode()
    assert Revision.objects.get(pk=draft.pk).state == "draft"


def test_an_overlap_is_said_while_looking_and_refused(shop, manager, draft):  # noqa: F811
    manager.post(RELEASE, {"by": "number", "from_number": "2650"})
    opened(manager)

    seen = manager.get(RELEASE, {"by": "number", "from_number": "2650"}, HTTP_HX_REQUEST="true")
    refused = manager.post(RELEASE, {"by": "number", "from_number": "2650"})
    by_day = manager.post(RELEASE, {"by": "day", "effective_from": timezone.localdate().isoformat()})

    assert "Overlap: revision C holds from trailer 2650" in seen.content.decode()
    assert "<html" not in seen.content.decode()
    assert (refused.status_code, by_day.status_code) == (409, 409)
    assert "which is not ordered yet" in by_day.content.decode()
    assert Revision.objects.filter(item__code="CH", state="draft").exists()


def test_orders_below_the_first_trailer_are_not_touched(shop, manager, draft):  # noqa: F811
    one, two, three = confirmed(shop, 3)
    WorksOperation.objects.filter(works_order__order=three, process__code="weld").update(state="begun")

    page = manager.get(RELEASE, {"by": "number", "from_number": two.number}).content.decode()

    assert "<b>1 not begun</b>" in page
    assert f"keep the earlier bill: {one.number}" in page
    assert f"they were begun with: {three.number}" in page


def test_what_is_there_of_the_parts_that_differ_is_shown(shop, manager, draft):  # noqa: F811
    (order,) = confirmed(shop)
    shop.stock("PL", "6", "A1")
    Reservation.objects.create(item=shop.items["PL"], purpose=order.purpose, quantity=4)
    WorksOperation.objects.filter(works_order__order=order, process__code="laser").update(state="done")

    parts = {
        one.item.code: one
        for one in touched_parts(draft, Revision.objects.get(item__code="CH", letter="B"), [order.number])
    }

    assert parts["PL"].kept == 4
    assert parts["PL"].free == 2
    assert parts["BM"].words == "changed"
    assert "Laser: done on 1" in manager.get(RELEASE).content.decode()


def test_the_cost_is_what_a_person_reckons_and_opens_into_its_parts(shop, draft):
    """Two orders. Each: a beam more, 1.5 m of section at 4 = 6. Weld 70 in place of 60 minutes at 36 = 6."""
    orders = confirmed(shop, 2)

    cost = cost_of_release(draft, [order.number for order in orders])

    assert cost.orders == 2
    assert cost.total == Decimal("24.00")
    assert dict(cost.kinds) == {"material": Decimal(12), "labour": Decimal(12)}
    by_part = {one.item.code: one for one in cost.parts}
    assert by_part["BM"].more.total == 12
    assert (by_part["BM"].before, by_part["BM"].after) == (4, 6)
    assert by_part["CH"].more.labour == 12
    assert sum((one.more.total for one in cost.parts), Decimal(0)) == cost.more.total
    for one in cost.parts:
        assert sum((figure.more for figure in one.figures), Decimal(0)) == one.more.total


def test_what_is_kept_and_no_longer_wanted_is_told_with_what_it_cost(shop, draft):
    (order,) = confirmed(shop)
    shop.stock("PL", "4", "A1")
    Reservation.objects.create(item=shop.items["PL"], purpose=order.purpose, quantity=4)

    (left,) = cost_of_release(draft, [order.number]).left_over

    assert (left.item.code, left.quantity) == ("PL", 2)


def test_the_number_of_queries_is_the_same_for_two_orders_and_for_eight(
    shop, draft, django_assert_max_num_queries
):
    numbers = [order.number for order in confirmed(shop, 8)]
    for some in (numbers[:2], numbers):
        with django_assert_max_num_queries(20):
            cost_of_release(draft, some)


def test_each_model_as_usually_ordered_is_reckoned_too(shop, draft):
    (model,), left_out = cost_of_models(draft)

    assert left_out == []
    assert (model.model.code, model.more) == ("H1", Decimal("12.00"))


def test_the_cost_stands_on_the_page_of_the_release_for_those_who_may_see_it(shop, manager, draft):  # noqa: F811
    (order,) = confirmed(shop)

    page = manager.get(RELEASE, {"by": "number", "from_number": order.number}).content.decode()
    cost = manager.get(f"{RELEASE}cost/", {"by": "number", "from_number": order.number}).content.decode()
    none = manager.get(f"{RELEASE}cost/", {"by": "number", "from_number": "5000"}).content.decode()
    models = manager.get(f"{RELEASE}models/").content.decode()

    assert f"{RELEASE}cost/?by=number&amp;from_number={order.number}" in page
    assert "More in 1 order" in cost
    assert "£12.00" in cost
    assert "No order that is confirmed takes it" in none
    assert "£12.00" in models


def test_who_may_not_see_costs_or_release_is_refused(shop, viewer, office, draft):
    assert office.get(RELEASE).status_code == 403
    assert viewer.get(f"{RELEASE}cost/").status_code == 403
