"""Cures of all late orders in one run: each tried once, listed once with every order it frees."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from inventory.buying.models import Supplier, SupplierItem
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import planning, tasks
from production.scheduling.asked.questions import standing_of
from production.scheduling.board.drafts import draft_of, read_desk
from production.scheduling.board.wording import Namer
from production.scheduling.reasons import cures
from production.scheduling.reasons.chains import late_or_tight
from production.scheduling.reasons.cure_models import CureEffect, CureOption, CureTrial, is_freed
from production.scheduling.reasons.curing_all import find_all
from production.works.confirming import confirm_orders
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    """Two that wait six weeks for their battery boxes, which another supplier has in three days."""
    quick = Supplier.objects.create(code="S2", name="Quick boxes")
    SupplierItem.objects.create(
        supplier=quick, item=shop.items["BOX"], price=Decimal("30"), lead_days=3, is_preferred=False
    )
    due = timezone.localdate() + timedelta(days=28)
    drafts = [shop.draft(asked_for=due, choices={"winch": "electric"}) for _ in range(2)]
    return confirm_orders(orders=drafts, by=shop.user)


@pytest.fixture
def plan(shop: SmallWorkshop, orders: list[Order]) -> Plan:
    """The plan on the floor, its orders held to what they asked for."""
    made = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert made.has_succeeded, made.failure
    Order.objects.update(promised_on=orders[0].asked_for)
    return planning.release_plan(plan=made, by=shop.user)


@pytest.fixture
def signed_in(shop: SmallWorkshop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


def option(trial: CureTrial, sentence: str, price: str | None, hours: int, *orders: Order) -> CureOption:
    made = CureOption.objects.create(
        trial=trial,
        kind=CureOption.Kind.OVERTIME,
        sentence=sentence,
        late_minutes=0,
        late_hours=hours,
        price=None if price is None else Decimal(price),
    )
    for order in orders:
        CureEffect.objects.create(option=made, order=order, slack_before=-60, slack_after=60)
    return made


def test_each_order_gets_its_cheapest_cure_and_each_cure_is_said_once_with_all_it_frees(
    shop: SmallWorkshop,
) -> None:
    first, second, third = (shop.draft() for _ in range(3))
    trial = CureTrial.objects.create(plan=Plan.objects.create(number=1))
    option(trial, "asked for", None, 1, third, first)
    option(trial, "for one", "80", 1, second)
    option(trial, "for both", "50", 9, first, second)
    option(trial, "dear", "500", 0, first)
    option(trial, "of no use", "0", 0)
    lost = CureEffect.objects.create(
        option=trial.options.get(sentence="of no use"), order=shop.draft(), slack_before=-9, slack_after=-9
    )
    found, not_freed = cures.freeing(trial)
    assert not_freed == [lost.order.number]
    assert [one.option.sentence for one in found] == ["for both", "asked for"]
    assert [[effect.order for effect in one.orders] for one in found] == [[first, second], [third, first]]
    assert [one.cheapest_for for one in found] == [(first.number, second.number), (third.number,)]


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [(-1, 0, True), (-1, -1, False), (10, 3 * 1440, True), (10, 60, False), (5000, 9000, False)],
)
def test_late_is_freed_by_being_in_time_and_tight_by_three_days(before: int, after: int, says: bool) -> None:
    assert is_freed(before, after) is says


def test_one_run_tries_all_and_the_page_lists_what_frees_whom(
    shop: SmallWorkshop,
    signed_in: Client,
    plan: Plan,
    orders: list[Order],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    assert "Try what would free them all" in signed_in.get("/week/why/").content.decode()
    trial = cures.try_all(plan=plan, by=shop.user, seconds=1)
    assert cures.try_all(plan=plan, by=shop.user) == trial
    tasks.try_cures(trial.pk)
    trial.refresh_from_db()
    assert trial.has_succeeded, trial.failure
    freed = {
        (one.option.kind, effect.order.number) for one in cures.freeing(trial)[0] for effect in one.orders
    }
    assert {(CureOption.Kind.BUY, order.number) for order in orders} <= freed
    cache.clear()
    with django_assert_max_num_queries(20):
        text = signed_in.get("/week/cures/").content.decode()
    assert f"For order {orders[0].number}, " in text
    assert "from Quick boxes" in text


def test_what_is_the_same_for_several_orders_is_tried_once(plan: Plan, orders: list[Order]) -> None:
    """The second waits behind the first, and would wait for its own part anyhow: both parts are cures for it."""
    standing = standing_of(plan)
    assert standing is not None
    draft = draft_of(plan, standing, read_desk(), ())
    found, left_out = find_all(draft, Namer(draft), late_or_tight(draft) * 2)
    assert left_out == 0
    assert len({cure.sentence for cure in found}) == len(found)
    bought = [cure.sooner[0] for cure in found if cure.sooner is not None]
    assert sorted(bought) == [f"{order.number} assemble" for order in orders]


def test_a_trial_is_seen_and_stopped(shop: SmallWorkshop, signed_in: Client, plan: Plan) -> None:
    trial = CureTrial.objects.create(plan=plan, step="waiting for the worker")
    text = signed_in.get("/week/cures/", headers={"HX-Request": "true"}).content.decode()
    assert "waiting for the worker" in text
    assert "<html" not in text
    signed_in.post("/week/cures/stop/")
    trial.refresh_from_db()
    assert trial.outcome == CureTrial.Outcome.CANCELLED
    shop.user.user_permissions.clear()
    assert signed_in.post("/week/cures/try/").status_code == 403
