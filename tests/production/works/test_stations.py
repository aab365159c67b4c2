"""Stations take orders one by one."""

import pytest
from django.urls import reverse

from production.orders.models import Order
from production.works import station_queries
from tests.production.floor import finish, floor_shop, operation, released
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def text(response) -> str:
    return response.content.decode()


def test_the_saw_shows_pieces_lengths_and_where_the_section_lies(screen, shop):
    order = released(shop)
    shop.stock("SEC", "12")

    page = text(screen.get(reverse("works:station", args=["saw"])))

    assert f"order {order.number}" in page
    assert "1\u202f500" in page
    assert "A1 (12 m)" in page
    [cut] = station_queries.cut_lists(order)
    assert (cut.section, cut.metres) == ("SEC", 3)


def test_a_job_is_begun_and_done_at_its_station_and_a_second_click_changes_nothing(screen, shop):
    order = released(shop)
    shop.stock("SEC", "12")

    screen.post(reverse("works:begin", args=["saw", order.number]))
    for _ in range(2):
        assert screen.post(reverse("works:finish", args=["saw", order.number])).status_code == 302

    assert operation(order, "saw").state == "done"
    assert shop.on("BM", "CUT") == 2


def test_done_can_be_taken_back(screen, shop):
    order = released(shop)
    shop.stock("SEC", "12")
    screen.post(reverse("works:finish", args=["saw", order.number]))

    screen.post(reverse("works:undo", args=["saw", order.number]))

    assert operation(order, "saw").state == "begun"
    assert shop.on("SEC", "A1") == 12


def test_work_without_its_parts_is_refused_on_the_page_with_what_is_missing(screen, shop):
    order = released(shop)

    answer = screen.post(reverse("works:finish", args=["saw", order.number]))

    assert answer.status_code == 409
    assert "SEC" in text(answer)
    assert "missing" in text(answer)


def test_a_problem_is_written_on_the_job(screen, shop):
    order = released(shop)
    screen.post(reverse("works:problem", args=["saw", order.number]), {"problem": "blade worn"})
    assert "blade worn" in text(screen.get(reverse("works:station", args=["saw"])))


def test_the_queue_takes_ready_jobs_before_those_that_wait(shop):
    waiting, ready = released(shop), released(shop)
    shop.stock("PL", "4", "CUT")
    shop.stock("SEC", "3")
    finish(shop, ready, "laser", "saw")

    first, second = station_queries.queue("weld")

    assert (first.works_order.order, first.is_ready) == (ready, True)
    assert (second.works_order.order, second.waits_for) == (waiting, "Laser")


def test_an_order_that_is_not_released_is_not_in_the_queue(shop):
    order = released(shop)
    Order.objects.filter(pk=order.pk).update(state=Order.State.CONFIRMED)
    assert not station_queries.queue("saw").exists()


def test_the_weld_names_its_parts_and_warns_of_zinc_fume(screen, shop):
    released(shop)
    page = text(screen.get(reverse("works:station", args=["weld"])))
    assert "Zinc fume" in page
    assert "4 ×" in page
    assert "PL" in page


def test_stations_that_gather_batches_lead_to_their_own_screens(screen):
    assert screen.get(reverse("works:station", args=["laser"])).url == reverse("laser:station")
    assert screen.get(reverse("works:station", args=["galvanise"])).url == reverse("coating:galvanising")
    assert screen.get(reverse("works:station", args=["inspect"])).url == reverse("dispatch:inspections")
    assert screen.get(reverse("works:job", args=["inspect", "1"])).url == reverse(
        "dispatch:inspection", args=["1"]
    )
    assert screen.get(reverse("works:station", args=["smithy"])).status_code == 404


@pytest.mark.parametrize("process", ["saw", "fold", "weld"])
def test_an_empty_station_says_where_work_comes_from(screen, process):
    assert "when the manager releases a plan" in text(screen.get(reverse("works:station", args=[process])))


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("station", ["saw"]),
        ("station", ["weld"]),
        ("queue", ["weld"]),
    ],
)
def test_pages_ask_no_more_questions_for_thirty_jobs_than_for_three(
    screen, shop, name, args, django_assert_max_num_queries
):
    orders = [released(shop) for _ in range(30)]
    Order.objects.filter(pk__in=[order.pk for order in orders[20:]]).update(state=Order.State.DONE)
    with django_assert_max_num_queries(20):
        assert screen.get(reverse(f"works:{name}", args=args)).status_code == 200
