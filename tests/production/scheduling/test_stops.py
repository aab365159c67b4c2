"""What stands since a plan was made: put into its work, and said on its board. Nothing is searched."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.asked.questions import standing_of
from production.scheduling.asked.stops import Stop, fall_into, stopped
from production.scheduling.asked.trying import lay
from production.scheduling.models import PlannedOperation
from production.scheduling.solver.check import check_schedule
from production.scheduling.solver.job import Job, Operation, Oven, Stand, Work, WorkCentre
from production.shop.models import Downtime
from production.shop.models import WorkCentre as Place
from production.works.confirming import confirm_orders
from tests.production.small_workshop import SmallWorkshop

DAYS = tuple((day * 1440, day * 1440 + 480) for day in range(30))


def work(units: int = 1, stands: tuple[Stand, ...] = ()) -> Work:
    """Three jobs of two hours each at one station."""
    return Work(
        tuple(Job(name, 480) for name in "abc"),
        tuple(Operation(f"{name} weld", name, "weld", 120) for name in "abc"),
        (WorkCentre("weld", units, DAYS, stands),),
    )


ORDER = {"a weld": 0, "b weld": 120, "c weld": 240}


def stop(start: int, end: int, units: int | None = None) -> Stop:
    return Stop("weld", start, end, units, "the torch is broken")


def test_what_falls_into_a_stop_is_named_and_goes_on_after_it() -> None:
    broken, news = stopped(work(), [stop(180, 300)])
    before, after = lay(work(), ORDER), lay(broken, ORDER)
    assert before is not None
    assert after is not None
    assert news == (stop(180, 300),)
    # c would begin in it; b pauses over it; a is done before it begins.
    assert fall_into(news, before, after) == {"b weld", "c weld"}
    assert {row.id: row.end_min for row in after.operations} == {"a weld": 120, "b weld": 360, "c weld": 480}


def test_one_place_of_two_leaves_the_other_open() -> None:
    broken, _ = stopped(work(2), [stop(0, 480, 1)])
    assert broken.work_centres[0].stands == (Stand(0, 480, 1),)
    laid = lay(broken, ORDER)
    assert laid is not None
    assert max(row.end_min for row in laid.operations) == 360


def test_what_the_plan_reckoned_with_is_no_news() -> None:
    known, _ = stopped(work(2), [stop(100, 200), stop(300, 400, 1)])
    assert stopped(known, [stop(100, 200), stop(300, 400, 1)]) == (known, ())
    assert stopped(known, [stop(600, 700)]) == (known, ())


def test_no_batch_is_in_an_oven_while_it_stands() -> None:
    oven = Oven("weld", ((0, 120), (30, 150), (200, 320)), 2)
    cold, news = stopped(Work((), (), (), ovens=(oven,)), [stop(130, 180)])
    assert cold.ovens[0].slots == ((0, 120), (200, 320))
    assert len(news) == 1


@given(
    st.lists(st.tuples(st.integers(0, 3000), st.integers(1, 900), st.sampled_from([None, 1, 2])), max_size=4),
    st.integers(1, 3),
)
def test_whatever_stands_the_week_is_laid_around_it(
    spans: list[tuple[int, int, int | None]], units: int
) -> None:
    stops = [stop(start, start + length, count) for start, length, count in spans]
    broken, news = stopped(work(units), stops)
    assert stopped(broken, stops) == (broken, ())
    laid = lay(broken, ORDER)
    assert laid is not None
    assert check_schedule(broken, laid) == []
    for one in laid.operations:
        assert not any(each.units is None and each.start_min <= one.start_min < each.end_min for each in news)


@pytest.fixture
def plan(shop: SmallWorkshop) -> Plan:
    due = timezone.localdate() + timedelta(days=28)
    confirm_orders(orders=[shop.draft(asked_for=due) for _ in range(2)], by=shop.user)
    made = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert made.has_succeeded, made.failure
    return made


def break_down(row: PlannedOperation, days: int = 40) -> Downtime:
    return Downtime.objects.create(
        work_centre=row.work_centre,
        starts_at=row.starts_at - timedelta(minutes=5),
        ends_at=row.starts_at + timedelta(days=days),
        reason="the torch is broken",
    )


def test_a_breakdown_is_seen_on_the_board_with_what_breaks_and_what_to_do(
    shop: SmallWorkshop, client: Client, plan: Plan
) -> None:
    client.force_login(shop.user)
    assert "Stands since" not in client.get("/week/board/").content.decode()
    row = PlannedOperation.objects.filter(plan=plan, operation__process__code="weld").earliest("starts_at")
    number = Order.objects.get(pk=row.order_id).number
    break_down(row)
    text = client.get(f"/week/board/?pick={number} weld").content.decode()
    assert "Weld station: no work from" in text
    assert "the torch is broken" in text
    assert f"Order {number}, Weld: now" in text
    assert f"Order {number} becomes" in text
    assert "met by what stands" in text
    assert "Make a plan" in text


def test_the_next_plan_has_reckoned_with_it(shop: SmallWorkshop, plan: Plan) -> None:
    row = PlannedOperation.objects.filter(plan=plan, operation__process__code="weld").earliest("starts_at")
    break_down(row, days=2)
    first = standing_of(plan)
    assert first is not None
    assert [one.reason for one in first.stops] == ["the torch is broken"]
    again = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    later = standing_of(again)
    assert later is not None
    assert later.stops == ()
    assert Place.objects.get(code="weld").downtimes.count() == 1
