"""What was moved on the board and released keeps its time in later plans, until it is begun or let go."""

from datetime import date, datetime, time, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from bom.kernel.errors import ProblemError
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.asked import holding
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.held_models import HeldOperation
from production.scheduling.board import changes
from production.scheduling.models import PlannedOperation
from production.shop.models import Downtime, WorkCentre
from production.works.confirming import confirm_orders
from production.works.models import WorksOperation
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    due = timezone.localdate() + timedelta(days=28)
    return confirm_orders(orders=[shop.draft(asked_for=due) for _ in range(2)], by=shop.user)


@pytest.fixture
def held(shop: SmallWorkshop, orders: list[Order]) -> HeldOperation:
    """The first order's inspection, moved to ten in the morning some weeks ahead and released."""
    plan = planned(shop)
    to = timezone.make_aware(datetime.combine(workday(42), time(10)))
    changes.move(plan=plan, operation=f"{orders[0].number} inspect", to=to, by=shop.user)
    planning.release_plan(plan=changed(plan, shop), by=shop.user)
    return HeldOperation.objects.get()


def workday(ahead: int) -> date:
    """The last day worked, Monday to Friday, up to so many days from today."""
    day = timezone.localdate() + timedelta(days=ahead)
    return day - timedelta(days=max(0, day.weekday() - 4))


def planned(shop: SmallWorkshop) -> Plan:
    made = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert made.has_succeeded, made.failure
    return made


def changed(plan: Plan, shop: SmallWorkshop) -> Plan:
    made = planning.run_plan(changes.make_plan_of(plan=plan, seconds=0, by=shop.user).pk)
    assert made.has_succeeded, made.failure
    return made


def begins(plan: Plan, hold: HeldOperation) -> datetime:
    return PlannedOperation.objects.get(plan=plan, operation=hold.operation).starts_at


def notes(plan: Plan) -> str:
    return " ".join(plan.notes.values_list("sentence", flat=True))


def test_what_was_moved_and_released_is_held_by_who_moved_it(
    shop: SmallWorkshop, orders: list[Order], held: HeldOperation
) -> None:
    assert (held.name, held.by) == (f"{orders[0].number} inspect", shop.user)
    assert held.starts_at == begins(Plan.objects.get(is_current=True), held)


def test_a_plan_made_anew_leaves_it_there_and_one_after_letting_go_does_not(
    shop: SmallWorkshop, held: HeldOperation
) -> None:
    again = planned(shop)
    assert begins(again, held) == held.starts_at
    assert holding.NOT_KEPT not in notes(again)
    holding.let_go(hold=held, by=shop.user)
    assert begins(planned(shop), held) < held.starts_at


def test_a_plan_that_cannot_keep_it_names_it_and_says_why(shop: SmallWorkshop, held: HeldOperation) -> None:
    Downtime.objects.create(
        work_centre=WorkCentre.objects.get(code="inspect"),
        starts_at=held.starts_at - timedelta(hours=1),
        ends_at=held.starts_at + timedelta(hours=2),
        reason="the pit is flooded",
    )
    plan = planned(shop)
    assert begins(plan, held) != held.starts_at
    assert f"{holding.NOT_KEPT}order {held.order_number}, Inspect" in notes(plan)
    assert "is closed then" in notes(plan)
    assert HeldOperation.objects.get(let_go_at__isnull=True) == held


def test_it_is_held_no_longer_once_its_work_is_begun(held: HeldOperation) -> None:
    WorksOperation.objects.filter(pk=held.operation_id).update(state=WorksOperation.State.BEGUN)
    assert holding.live_holds() == []


def test_the_board_shows_it_and_lets_it_go_and_takes_that_back(
    shop: SmallWorkshop, client: Client, held: HeldOperation
) -> None:
    client.force_login(shop.user)
    week = timezone.localtime(held.starts_at).isocalendar()
    address = f"/week/board/?week={week.year}-W{week.week:02d}&pick={held.name}"
    text = client.get(address).content.decode()
    assert "Held where it was moved to: 1" in text
    assert ", held" in text
    assert "later plans leave it there" in text
    text = client.post(f"/week/held/{held.pk}/let-go/", follow=True).content.decode()
    assert "Hold it there again" in text
    assert holding.live_holds() == []
    client.post(f"/week/held/{held.pk}/again/")
    assert holding.live_holds() == [held]
    shop.user.user_permissions.clear()
    assert client.post(f"/week/held/{held.pk}/let-go/").status_code == 403


def test_a_plan_made_of_the_released_one_does_not_hold_again_what_was_let_go(
    shop: SmallWorkshop, held: HeldOperation
) -> None:
    current = Plan.objects.get(is_current=True)
    holding.let_go(hold=held, by=shop.user)
    changes.extra_lorry(plan=current, day=workday(7), by=shop.user)
    made = changed(current, shop)
    assert PlanChange.objects.filter(plan=made, in_plan=True, was_released=True).count() == 1
    planning.release_plan(plan=made, by=shop.user)
    assert holding.live_holds() == []
    assert holding.holds_and_let_go() == ([], [held])


def test_moved_again_and_released_it_is_held_at_its_new_time(
    shop: SmallWorkshop, held: HeldOperation
) -> None:
    current = Plan.objects.get(is_current=True)
    to = held.starts_at + timedelta(hours=2)
    changes.move(plan=current, operation=held.name, to=to, by=shop.user)
    planning.release_plan(plan=changed(current, shop), by=shop.user)
    [now] = holding.live_holds()
    assert now.starts_at == to
    with pytest.raises(ProblemError, match="cannot be held there again"):
        holding.hold_again(hold=held)
