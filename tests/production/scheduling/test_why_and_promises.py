"""Chains of reasons with cures tried, and dates offered, promised and judged."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from bom.kernel.errors import ProblemError
from inventory.buying.models import Supplier, SupplierItem
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import planning, tasks
from production.scheduling.board.drafts import live_changes
from production.scheduling.promises import promises
from production.scheduling.promises.promise_models import PromiseRun
from production.scheduling.reasons import cures
from production.scheduling.reasons.cure_models import CureOption, CureTrial
from production.works.confirming import confirm_orders
from production.works.models import WorksOperation
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    """One in time, and one that waits six weeks for its battery box."""
    shop.user.user_permissions.add(Permission.objects.get(codename="change_order"))
    quick = Supplier.objects.create(code="S2", name="Quick boxes")
    SupplierItem.objects.create(
        supplier=quick, item=shop.items["BOX"], price=Decimal("30"), lead_days=3, is_preferred=False
    )
    due = timezone.localdate() + timedelta(days=28)
    drafts = [shop.draft(asked_for=due), shop.draft(asked_for=due, choices={"winch": "electric"})]
    return confirm_orders(orders=drafts, by=shop.user)


@pytest.fixture
def plan(shop: SmallWorkshop, orders: list[Order]) -> Plan:
    made = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert made.has_succeeded, made.failure
    return made


@pytest.fixture
def released(shop: SmallWorkshop, plan: Plan, orders: list[Order]) -> Plan:
    """The plan on the floor, its orders held to what they asked for."""
    Order.objects.filter(pk__in=[one.pk for one in orders]).update(promised_on=orders[0].asked_for)
    return planning.release_plan(plan=plan, by=shop.user)


@pytest.fixture
def signed_in(shop: SmallWorkshop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


def cured(shop: SmallWorkshop, plan: Plan, order: Order) -> CureTrial:
    """A trial carried out here, as the worker would."""
    trial = cures.try_cures(plan=plan, order=order, by=shop.user, seconds=1)
    tasks.try_cures(trial.pk)
    trial.refresh_from_db()
    assert trial.has_succeeded, trial.failure
    return trial


def offered(shop: SmallWorkshop, order: Order) -> PromiseRun:
    """An offer worked out here, as the worker would."""
    run = promises.ask_date(order=order, by=shop.user)
    tasks.offer_date(run.pk)
    run.refresh_from_db()
    assert run.has_succeeded, run.failure
    return run


def test_the_late_order_says_which_part_it_waits_for(
    signed_in: Client, released: Plan, orders: list[Order]
) -> None:
    text = signed_in.get(f"/week/why/{orders[1].number}/").content.decode()
    assert "days late" in text
    assert "1 × BOX Battery box" in text
    assert orders[1].number in signed_in.get("/week/why/").content.decode()


def test_a_quicker_supplier_is_tried_priced_and_found_to_free_it(
    shop: SmallWorkshop, released: Plan, orders: list[Order]
) -> None:
    trial = cured(shop, released, orders[1])
    bought = trial.options.get(kind=CureOption.Kind.BUY)
    assert "Quick boxes" in bought.sentence
    assert (bought.price, bought.late_minutes) == (Decimal("28.00"), 0)
    assert trial.late_minutes > 0
    with pytest.raises(ProblemError, match="Do it in buying"):
        cures.take_cure(option=bought, by=shop.user)


def test_taking_a_cure_tries_its_steps_on_the_plan(
    shop: SmallWorkshop, signed_in: Client, released: Plan, orders: list[Order]
) -> None:
    cured(shop, released, orders[0])
    option = CureOption.objects.filter(steps__isnull=False).first()
    assert option is not None
    signed_in.post(f"/week/cures/{option.pk}/take/")
    assert len(live_changes(released)) == option.steps.count()


@pytest.mark.parametrize("address", ["/week/why/", "/week/promises/", "why", "promise"])
def test_these_pages_ask_few_questions(
    shop: SmallWorkshop,
    signed_in: Client,
    released: Plan,
    orders: list[Order],
    address: str,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    offered(shop, orders[0])
    number = orders[0].number
    there = {"why": f"/week/why/{number}/", "promise": f"/week/promises/{number}/"}.get(address, address)
    cache.clear()
    with django_assert_max_num_queries(20):
        assert signed_in.get(there).status_code == 200


def test_a_draft_gets_a_day_that_moves_nobody(
    shop: SmallWorkshop, released: Plan, orders: list[Order]
) -> None:
    before = dict(released.forecasts.values_list("order", "finishes_at"))
    draft = shop.draft()
    run = offered(shop, draft)
    points = promises.curve(run)
    assert run.earliest_at is not None
    assert points[-1].share == 1.0
    assert points[0].on >= timezone.localdate()
    assert dict(released.forecasts.values_list("order", "finishes_at")) == before


def test_a_draft_that_needs_a_part_nobody_has_waits_for_it(shop: SmallWorkshop, released: Plan) -> None:
    draft = shop.draft(choices={"winch": "electric"})
    run = offered(shop, draft)
    assert run.earliest_at is not None
    assert (timezone.localtime(run.earliest_at).date() - timezone.localdate()).days >= 30


def test_promising_an_offered_day_writes_it_on_the_order(
    shop: SmallWorkshop, signed_in: Client, released: Plan
) -> None:
    draft = shop.draft()
    run = offered(shop, draft)
    on = promises.curve(run)[-1].on
    signed_in.post(
        f"/week/promises/{draft.number}/make/", {"run": run.pk, "on": f"{on:%Y-%m-%d}", "chance": "0.900"}
    )
    draft.refresh_from_db()
    run.refresh_from_db()
    assert (draft.promised_on, run.promised_on, run.wanted_chance) == (on, on, Decimal("0.900"))


def test_a_finished_order_judges_its_promise(
    shop: SmallWorkshop, signed_in: Client, released: Plan, orders: list[Order]
) -> None:
    run = offered(shop, orders[0])
    on = promises.curve(run)[-1].on
    promises.promise(run=run, on=on, chance=0.9, by=shop.user)
    assert (promises.record().open_count, promises.record().share) == (1, None)
    WorksOperation.objects.filter(works_order__order=orders[0]).update(
        state="done", finished_at=timezone.now()
    )
    Order.objects.filter(pk=orders[0].pk).update(state=Order.State.DONE)
    record = promises.record()
    assert (record.share, record.open_count, record.asked) == (1.0, 0, 0.9)
    assert orders[0].number in signed_in.get("/week/promises/").content.decode()


def test_nothing_is_offered_for_what_is_gone(
    shop: SmallWorkshop, released: Plan, orders: list[Order]
) -> None:
    Order.objects.filter(pk=orders[0].pk).update(state=Order.State.GONE)
    with pytest.raises(ProblemError, match="still to be made"):
        promises.ask_date(order=Order.objects.get(pk=orders[0].pk), by=shop.user)
