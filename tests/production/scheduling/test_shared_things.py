"""A plan reckons with jigs, people and hours in which nothing is to move."""

from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from django.utils import timezone

from bom.catalogue.models import TrailerModel
from bom.structure.models import Process
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.models import PlannedOperation
from production.shop.crew_models import Absence, Jig, Skill, Worker
from production.shop.models import Calendar
from production.works.confirming import confirm_orders
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    due = timezone.localdate() + timedelta(days=28)
    return confirm_orders(orders=[shop.draft(asked_for=due) for _ in range(3)], by=shop.user)


def made(shop: SmallWorkshop, frozen_hours: int = 0) -> Plan:
    asked = planning.start_plan(by=shop.user, seconds=2, frozen_hours=frozen_hours)
    plan = planning.run_plan(asked.pk)
    assert plan.outcome == "succeeded", plan.failure
    return plan


def spans(plan: Plan, process: str) -> list[tuple[datetime, datetime]]:
    rows = PlannedOperation.objects.filter(plan=plan, operation__process__code=process)
    return sorted(rows.values_list("starts_at", "ends_at"))


def overlap(rows: list[tuple[datetime, datetime]]) -> bool:
    return any(later[0] < earlier[1] for earlier, later in pairwise(rows))


def test_two_bays_with_one_jig_weld_one_chassis_at_a_time(shop: SmallWorkshop, orders: list[Order]) -> None:
    assert overlap(spans(made(shop), "weld"))
    jig = Jig.objects.create(code="long", name="long jig", units=1)
    jig.models.set(TrailerModel.objects.all())

    assert not overlap(spans(made(shop), "weld"))


def test_the_only_welder_welds_one_at_a_time_and_not_while_he_is_away(
    shop: SmallWorkshop, orders: list[Order]
) -> None:
    skill = Skill.objects.create(code="welding", name="welding", process=Process.objects.get(code="weld"))
    worker = Worker.objects.create(name="Ash", calendar=Calendar.objects.get())
    worker.skills.add(skill)
    back = timezone.now() + timedelta(days=10)
    Absence.objects.create(
        worker=worker, starts_at=timezone.now() - timedelta(days=1), ends_at=back, reason="leave"
    )

    rows = spans(made(shop), "weld")

    assert not overlap(rows)
    assert rows[0][0] >= back.replace(second=0, microsecond=0)


def test_what_the_released_plan_begins_soon_keeps_its_place(shop: SmallWorkshop, orders: list[Order]) -> None:
    """The saw has nothing before it, so it can stay where it was although a heavier order has come."""
    plan = planning.release_plan(plan=made(shop), by=shop.user)
    stood = dict(
        PlannedOperation.objects.filter(plan=plan, operation__process__code="saw").values_list(
            "order__number", "starts_at"
        )
    )
    due = timezone.localdate() + timedelta(days=1)
    [urgent] = confirm_orders(orders=[shop.draft(asked_for=due)], by=shop.user)

    again = made(shop, frozen_hours=200)

    now = dict(
        PlannedOperation.objects.filter(plan=again, operation__process__code="saw").values_list(
            "order__number", "starts_at"
        )
    )
    assert {number: now[number] for number in stood} == stood
    assert urgent.number in now
