"""A trailer gets one number for good, and leaves only inspected and with its plate."""

import pytest
from django.contrib.auth.models import Permission
from django.db import ProgrammingError, connection, transaction
from django.urls import reverse

from bom.kernel.errors import ProblemError
from inventory.stock import ledger
from production.dispatch import inspecting, plating
from production.dispatch.leaving import send_off
from production.dispatch.models import Maker, ModelDescriptor, SerialPlate
from production.orders.models import NumberSeries, Order
from tests.production.dispatch.conftest import all_good
from tests.production.floor import assembled, finish, released

pytestmark = pytest.mark.django_db


def text(response) -> str:
    return response.content.decode()


def inspected(shop) -> Order:
    order = assembled(shop)
    inspecting.record(order=order, findings=all_good(order), by=shop.user)
    inspecting.sign(order=order, by=shop.user)
    order.refresh_from_db()
    return order


def test_an_inspected_trailer_with_its_plate_goes_once(screen, shop):
    order = inspected(shop)
    plating.give_plate(order=order, by=shop.user)
    assert order.number in text(screen.get(reverse("dispatch:gate")))

    for _ in range(2):
        assert screen.post(reverse("dispatch:gone", args=[order.number])).status_code == 302

    order.refresh_from_db()
    assert order.state == "gone"
    assert not order.purpose.is_open
    assert (shop.on("HT", "READY"), shop.on("HT", "CUSTOMER")) == (0, 1)
    assert ledger.audit() == []


@pytest.mark.parametrize("lacking", ["work", "signature", "plate"])
def test_a_trailer_that_lacks_something_stays(screen, shop, lacking):
    order = inspected(shop) if lacking == "plate" else assembled(shop)
    if lacking == "signature":
        finish(shop, order, "inspect")
    says = {"work": "Inspect is not done", "signature": "Nobody has signed", "plate": "no serial plate"}[
        lacking
    ]

    answer = screen.post(reverse("dispatch:gone", args=[order.number]))

    assert answer.status_code == 409
    assert says in text(answer)
    assert shop.on("HT", "READY") == 1
    with pytest.raises(ProblemError, match=says):
        send_off(order=order, by=shop.user)


def test_numbers_follow_each_other_and_a_trailer_keeps_its_own(shop):
    first, second = released(shop), released(shop)
    plates = [plating.give_plate(order=order, by=shop.user) for order in (first, second, first)]
    assert [plate.vin for plate in plates] == ["ZZ9BT000000ABC001", "ZZ9BT000000ABC002", "ZZ9BT000000ABC001"]


def test_a_spoilt_plate_uses_its_number_up(shop):
    order = released(shop)
    spoilt = plating.give_plate(order=order, by=shop.user)
    with pytest.raises(ProblemError, match="only with a reason"):
        plating.replace_plate(plate=spoilt, by=shop.user, reason=" ")

    for _ in range(2):
        newer = plating.replace_plate(plate=spoilt, by=shop.user, reason="struck twice")

    assert (newer.number, plating.plate_of(order)) == (2, newer)
    assert plating.give_plate(order=released(shop), by=shop.user).number == 3


def test_a_model_may_have_a_descriptor_of_its_own(shop):
    order = released(shop)
    ModelDescriptor.objects.create(model=order.model, descriptor="HT750")
    assert plating.give_plate(order=order, by=shop.user).vin == "ZZ9HT750000ABC001"


def test_when_the_numbers_are_used_up_it_says_so_and_takes_none(shop):
    first = released(shop)
    plating.give_plate(order=first, by=shop.user)
    NumberSeries.objects.filter(code="vin-ZZ9ABC").update(last=999)
    with pytest.raises(ProblemError, match="room for 1 to 999"):
        plating.give_plate(order=released(shop), by=shop.user)
    assert NumberSeries.objects.get(code="vin-ZZ9ABC").last == 999


def test_without_a_maker_there_is_no_plate(screen, shop):
    Maker.objects.all().delete()
    shop.user.user_permissions.add(*Permission.objects.filter(codename__in=["give_plate", "set_checks"]))
    order = released(shop)
    assert screen.post(reverse("dispatch:give_plate", args=[order.number])).status_code == 409
    data = {"name": "Works", "wmi": "zz9", "small_code": "abc", "descriptor": "bt000", "plant": "0"}
    assert screen.post(reverse("dispatch:maker"), {**data, "wmi": "ZO9"}).status_code == 409
    assert screen.post(reverse("dispatch:maker"), data).status_code == 302
    assert screen.post(reverse("dispatch:give_plate", args=[order.number])).status_code == 302
    assert SerialPlate.objects.get().mark == "ZZ9ABC"


@pytest.mark.parametrize("name", ["gate", "inspections", "checks"])
def test_pages_ask_no_more_questions_for_thirty_than_for_three(
    screen, shop, name, django_assert_max_num_queries
):
    orders = [released(shop) for _ in range(30)]
    Order.objects.filter(pk__in=[order.pk for order in orders[20:]]).update(state=Order.State.DONE)
    with django_assert_max_num_queries(20):
        assert screen.get(reverse(f"dispatch:{name}")).status_code == 200


@pytest.mark.parametrize("name", ["trailer", "inspection"])
def test_the_pages_of_one_trailer_ask_few_questions(screen, shop, name, django_assert_max_num_queries):
    order = inspected(shop)
    with django_assert_max_num_queries(20):
        assert screen.get(reverse(f"dispatch:{name}", args=[order.number])).status_code == 200


@pytest.mark.postgres
@pytest.mark.skipif(connection.vendor != "postgresql", reason="the trigger is PostgreSQL's")
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE production_serialplate SET vin = 'ZZ9BT000000ABC999'",
        "DELETE FROM production_serialplate",
        "UPDATE production_checkresult SET is_good = false",
        "DELETE FROM production_checkresult",
    ],
)
def test_the_database_refuses_to_change_the_record(shop, statement):
    order = inspected(shop)
    plating.give_plate(order=order, by=shop.user)
    with pytest.raises(ProgrammingError, match="never changed"), transaction.atomic():
        connection.cursor().execute(statement)
