"""The board: what it draws, what trying a move answers, who may change something, and how much it asks."""

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.models import PlannedOperation
from production.works.confirming import confirm_orders
from tests.production.small_workshop import SmallWorkshop


def made(shop: SmallWorkshop, count: int) -> Plan:
    due = timezone.localdate() + timedelta(days=28)
    confirm_orders(orders=[shop.draft(asked_for=due) for _ in range(count)], by=shop.user)
    plan = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert plan.has_succeeded, plan.failure
    return plan


@pytest.fixture
def plan(shop: SmallWorkshop) -> Plan:
    return made(shop, 2)


@pytest.fixture
def signed_in(shop: SmallWorkshop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


def weld(plan: Plan) -> PlannedOperation:
    found = PlannedOperation.objects.filter(plan=plan, operation__process__code="weld").first()
    assert found is not None
    return found


def test_the_board_draws_every_operation_of_its_week(signed_in: Client, plan: Plan) -> None:
    row = weld(plan)
    week = row.starts_at.isocalendar()
    text = signed_in.get(f"/week/board/?week={week.year}-W{week.week:02d}").content.decode()
    assert row.order is not None
    assert f'data-op="{row.order.number} weld"' in text


def test_trying_a_move_says_what_breaks_and_writes_nothing(signed_in: Client, plan: Plan) -> None:
    row = weld(plan)
    assert row.order is not None
    to = timezone.localtime(row.starts_at + timedelta(days=40))
    address = f"/week/board/?pick={row.order.number} weld&to={to:%Y-%m-%dT10:00}"
    text = signed_in.get(address, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in text
    assert f"Order {row.order.number} becomes" in text
    assert "Keep this move" in text
    assert not PlanChange.objects.exists()


def test_a_kept_move_stands_on_the_board_until_it_is_undone(signed_in: Client, plan: Plan) -> None:
    row = weld(plan)
    assert row.order is not None
    to = timezone.localtime(row.starts_at + timedelta(days=7))
    form = {"pick": f"{row.order.number} weld", "to": f"{to:%Y-%m-%dT10:00}"}
    text = signed_in.post("/week/plans/1/move/", form, follow=True).content.decode()
    assert f"Order {row.order.number}, Weld not before" in text
    text = signed_in.post("/week/plans/1/undo/", follow=True).content.decode()
    assert f"Order {row.order.number}, Weld not before" not in text
    assert "Do it again" in text


@pytest.mark.parametrize(
    ("act", "form", "words"),
    [
        ("move", {"pick": "x", "to": "never"}, "is no date and time"),
        ("overtime", {"work_centre": "weld", "day": "soon", "minutes": "60"}, "is no date"),
        (
            "overtime",
            {"work_centre": "weld", "day": "2026-12-01", "minutes": "an hour"},
            "is no number of minutes",
        ),
        (
            "shift",
            {"work_centre": "weld", "day": "2099-12-01", "starts": "13:00", "ends": "07:00"},
            "ends before",
        ),
        ("make", {"seconds": "1"}, "cannot be searched for 1 seconds"),
    ],
)
def test_nonsense_is_refused_in_words(
    signed_in: Client, plan: Plan, act: str, form: dict[str, str], words: str
) -> None:
    assert words in signed_in.post(f"/week/plans/1/{act}/", form, follow=True).content.decode()
    assert not PlanChange.objects.exists()


@pytest.mark.parametrize("act", ["move", "overtime", "shift", "lorry", "undo", "redo", "throw-away", "make"])
def test_the_board_is_changed_by_the_manager_alone(
    shop: SmallWorkshop, signed_in: Client, plan: Plan, act: str
) -> None:
    shop.user.user_permissions.clear()
    assert signed_in.post(f"/week/plans/1/{act}/").status_code == 403
    assert "Overtime, extra shift" not in signed_in.get("/week/board/").content.decode()


@pytest.mark.parametrize("count", [1, 6])
def test_the_board_asks_the_same_number_of_questions_however_many_orders(
    shop: SmallWorkshop, signed_in: Client, count: int, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    plan = made(shop, count)
    row = weld(plan)
    assert row.order is not None
    cache.clear()
    with django_assert_max_num_queries(20):
        assert signed_in.get(f"/week/board/?pick={row.order.number} weld").status_code == 200


@pytest.mark.parametrize("address", ["/week/board/?plan=x", "/week/board/?week=2026-W60"])
def test_what_does_not_exist_is_not_found(signed_in: Client, plan: Plan, address: str) -> None:
    assert signed_in.get(address).status_code == 404


def test_a_plan_that_kept_nothing_says_so(shop: SmallWorkshop, signed_in: Client) -> None:
    Plan.objects.create(number=1, state="finished", outcome="succeeded")
    assert "nothing can be tried on it" in signed_in.get("/week/board/").content.decode()
