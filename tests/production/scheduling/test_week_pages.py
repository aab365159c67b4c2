"""The week's pages: what they show, to whom, and how much they ask of the database."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from production.planning.models import Plan
from production.scheduling.models import DayLoad, DelayCause, OrderForecast, PlannedOperation
from production.scheduling.week import JOBS_A_CELL, late_orders, moves, week_of
from production.shop.models import WorkCentre
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from tests.production.small_workshop import SmallWorkshop

MOST_QUERIES = 20


def plan_with(shop: SmallWorkshop, count: int, number: int = 1, late: int = 3, **values: object) -> Plan:
    """A plan that welds `count` orders at noon today, each `late` days late."""
    today = timezone.localdate()
    plan = Plan.objects.create(
        number=number,
        state="finished",
        outcome="succeeded",
        started_at=timezone.now(),
        **values,  # type: ignore[arg-type]
    )
    weld = WorkCentre.objects.get(code="weld")
    noon = timezone.now().replace(hour=12, minute=0)
    for _ in range(count):
        order = confirm_order(order=shop.draft(), by=shop.user)
        PlannedOperation.objects.create(
            plan=plan,
            work_centre=weld,
            order=order,
            operation=WorksOperation.objects.get(works_order__order=order, process__code="weld"),
            starts_at=noon,
            ends_at=noon + timedelta(hours=1),
            minutes=Decimal(60),
        )
        OrderForecast.objects.create(
            plan=plan, order=order, parts_on=today, finishes_at=noon, due_on=today, days_late=late
        )
        DelayCause.objects.create(
            plan=plan, order=order, sequence=1, kind="part", sentence="Welding waits for 3 m of section."
        )
    DayLoad.objects.create(
        plan=plan,
        work_centre=weld,
        date=today,
        open_minutes=600,
        planned_minutes=60 * count,
        wanted_minutes=900,
    )
    return plan


@pytest.fixture
def signed_in(shop: SmallWorkshop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


def test_a_cell_shows_a_few_jobs_and_says_how_many_more(shop: SmallWorkshop) -> None:
    plan = plan_with(shop, JOBS_A_CELL + 3)
    today = timezone.localdate()
    week = week_of(plan, today - timedelta(days=today.weekday()))
    row = next(row for row in week.rows if row.centre.code == "weld")
    cell = row.cells[week.days.index(today)]
    assert (len(cell.jobs), cell.more, cell.percent, cell.wanted) == (JOBS_A_CELL, 3, 90, 150)


def test_late_orders_come_with_their_chain(shop: SmallWorkshop) -> None:
    late = late_orders(plan_with(shop, 2))
    assert [len(row.causes) for row in late] == [1, 1]
    assert late_orders(plan_with(shop, 1, number=2, late=0)) == []


def test_comparing_names_the_orders_that_moved(shop: SmallWorkshop) -> None:
    first = plan_with(shop, 2)
    second = Plan.objects.create(number=2, state="finished", outcome="succeeded")
    for row in first.forecasts.all():
        row.pk, row.plan = None, second
        row.save()
    moved = second.forecasts.order_by("pk")[0]
    moved.finishes_at += timedelta(days=2)
    moved.save()
    assert [(row.order, row.days) for row in moves(first, second)] == [(moved.order.number, 2)]


@pytest.mark.parametrize("count", [1, 12])
@pytest.mark.parametrize(
    "address", ["/week/", "/week/plans/", "/week/plans/1/", "/week/plans/1/compare/2/", "/week/2026-W20/"]
)
def test_pages_ask_the_same_number_of_questions_however_many_orders(
    shop: SmallWorkshop,
    signed_in: Client,
    count: int,
    address: str,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    plan_with(shop, count, is_current=True, released_at=timezone.now())
    plan_with(shop, count, number=2)
    with django_assert_max_num_queries(MOST_QUERIES):
        assert signed_in.get(address).status_code == 200


def test_the_week_shows_who_is_late_and_why(shop: SmallWorkshop, signed_in: Client) -> None:
    plan_with(shop, 1)
    text = signed_in.get("/week/").content.decode()
    assert "Welding waits for 3 m of section." in text
    assert "3 days late" in text
    assert "150 % wanted" in text


@pytest.mark.parametrize("address", ["/week/2026-W60/", "/week/?plan=x", "/week/plans/99/"])
def test_what_does_not_exist_is_not_found(shop: SmallWorkshop, signed_in: Client, address: str) -> None:
    assert signed_in.get(address).status_code == 404


def test_pressing_twice_queues_one_plan_and_shows_how_far_it_is(
    shop: SmallWorkshop, signed_in: Client
) -> None:
    for _ in range(2):
        response = signed_in.post(reverse("week:start"), {"seconds": 5, "batch_days": 5})
        assert response["Location"] == reverse("week:plan", args=[1])
    Plan.objects.filter(number=1).update(state="running", percent=40, step="nesting S355 6 mm")
    text = signed_in.get(reverse("week:plan", args=[1])).content.decode()
    assert "nesting S355 6 mm" in text
    assert 'hx-trigger="every 1s"' in text


def test_htmx_gets_the_progress_alone_and_a_fresh_page_at_the_end(
    shop: SmallWorkshop, signed_in: Client
) -> None:
    plan = Plan.objects.create(number=1, state="running", step="netting")
    there = reverse("week:progress", args=[1])
    response = signed_in.get(there, headers={"HX-Request": "true"})
    assert b"<html" not in response.content
    assert "HX-Refresh" not in response
    Plan.objects.filter(pk=plan.pk).update(state="finished", outcome="failed", failure="There is no steel.")
    assert signed_in.get(there, headers={"HX-Request": "true"})["HX-Refresh"] == "true"
    assert "There is no steel." in signed_in.get(there).content.decode()


def test_nonsense_seconds_are_refused_in_words(shop: SmallWorkshop, signed_in: Client) -> None:
    response = signed_in.post(reverse("week:start"), {"seconds": 0, "batch_days": 5}, follow=True)
    assert "greater than or equal to 2" in response.content.decode()
    assert not Plan.objects.exists()


@pytest.mark.parametrize("name", ["start", "cancel", "release"])
def test_plans_are_the_managers(shop: SmallWorkshop, signed_in: Client, name: str) -> None:
    plan_with(shop, 1)
    shop.user.user_permissions.clear()
    address = reverse(f"week:{name}", args=[] if name == "start" else [1])
    assert signed_in.post(address).status_code == 403


def test_releasing_twice_by_button_is_releasing_once(shop: SmallWorkshop, signed_in: Client) -> None:
    plan_with(shop, 1)
    for _ in range(2):
        signed_in.post(reverse("week:release", args=[1]))
    plan = Plan.objects.get()
    assert (plan.is_current, plan.released_by) == (True, shop.user)


def test_without_a_plan_the_week_teaches_the_first_step(shop: SmallWorkshop, signed_in: Client) -> None:
    assert "Nothing on the floor changes before you release it" in signed_in.get("/week/").content.decode()
