"""Changes tried on a made plan: kept, undone, made a plan of its own, released."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.test import Client
from django.utils import timezone

from bom.kernel.errors import ProblemError
from production.cutting.models import CutPlacement
from production.orders.models import Order
from production.planning.models import Peg, Plan
from production.scheduling import planning
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.questions import standing_of
from production.scheduling.board import changes
from production.scheduling.board.drafts import Draft, draft_of, live_changes, read_desk
from production.scheduling.models import PlannedOperation
from production.shop.calendars import horizon_clock, load_shop
from production.shop.extra import terms_on
from production.shop.extra_models import ExtraHours, ExtraRun
from production.shop.models import WorkCentre
from production.works.confirming import confirm_orders
from tests.production.floor import finish
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    due = timezone.localdate() + timedelta(days=28)
    return confirm_orders(orders=[shop.draft(asked_for=due) for _ in range(3)], by=shop.user)


@pytest.fixture
def plan(shop: SmallWorkshop, orders: list[Order]) -> Plan:
    made = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert made.has_succeeded, made.failure
    return made


def draft(plan: Plan) -> Draft:
    standing = standing_of(plan)
    assert standing is not None
    return draft_of(plan, standing, read_desk(), live_changes(plan))


def planned(plan: Plan, order: Order, process: str = "weld") -> PlannedOperation:
    return PlannedOperation.objects.get(plan=plan, order=order, operation__process__code=process)


def later(row: PlannedOperation, days: int = 7) -> datetime:
    return row.starts_at + timedelta(days=days)


def carried_out(plan: Plan, shop: SmallWorkshop, seconds: int = 0) -> Plan:
    made = planning.run_plan(changes.make_plan_of(plan=plan, seconds=seconds, by=shop.user).pk)
    assert made.has_succeeded, made.failure
    return made


def test_a_plan_without_changes_stands_as_it_was_made(plan: Plan) -> None:
    kept = draft(plan)
    assert kept.changes == ()
    assert kept.effect.pushed == ()
    assert kept.price == 0


def test_a_move_is_tried_kept_undone_and_done_again(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    name = f"{orders[0].number} weld"
    changes.move(plan=plan, operation=name, to=later(planned(plan, orders[0])), by=shop.user)
    assert draft(plan).moved == {name}
    changes.undo(plan=plan)
    assert draft(plan).moved == frozenset()
    changes.redo(plan=plan)
    assert draft(plan).moved == {name}


def test_a_new_change_forgets_what_was_undone(shop: SmallWorkshop, plan: Plan, orders: list[Order]) -> None:
    changes.move(
        plan=plan, operation=f"{orders[0].number} weld", to=later(planned(plan, orders[0])), by=shop.user
    )
    changes.undo(plan=plan)
    changes.extra_lorry(plan=plan, day=timezone.localdate() + timedelta(days=1), by=shop.user)
    assert changes.redo(plan=plan) is None
    assert [change.kind for change in live_changes(plan)] == ["run"]


@pytest.mark.parametrize("what", ["unknown", "past"])
def test_what_cannot_be_moved_is_refused_in_words(
    shop: SmallWorkshop, plan: Plan, orders: list[Order], what: str
) -> None:
    name = "9999 weld" if what == "unknown" else f"{orders[0].number} weld"
    to = timezone.now() + timedelta(days=1 if what == "unknown" else -1)
    with pytest.raises(ProblemError):
        changes.move(plan=plan, operation=name, to=to, by=shop.user)


def test_overtime_costs_labour_times_its_factor_for_every_place(shop: SmallWorkshop, plan: Plan) -> None:
    weld = WorkCentre.objects.get(code="weld")
    WorkCentre.objects.filter(pk=weld.pk).update(hourly_rate=40)
    day = next_open_day()
    changes.open_longer(plan=plan, work_centre=weld, day=day, minutes=90, by=shop.user)
    # 1.5 h × 2 places × 40 × 1.5
    assert draft(plan).price == 180


def next_open_day() -> date:
    day = timezone.localdate() + timedelta(days=1)
    while day.weekday() > 4:
        day += timedelta(days=1)
    return day


def test_overtime_on_a_closed_day_asks_for_a_shift(shop: SmallWorkshop, plan: Plan) -> None:
    sunday = timezone.localdate() + timedelta(days=7 - timezone.localdate().isoweekday() or 7)
    with pytest.raises(ProblemError, match="closed that day"):
        changes.open_longer(
            plan=plan, work_centre=WorkCentre.objects.get(code="weld"), day=sunday, minutes=60, by=shop.user
        )


def test_a_plan_as_drawn_has_the_operation_where_it_was_put(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    to = later(planned(plan, orders[0]))
    changes.move(plan=plan, operation=f"{orders[0].number} weld", to=to, by=shop.user)
    made = carried_out(plan, shop)
    assert (made.based_on, made.way) == (plan, Plan.Way.CHANGED)
    assert planned(made, orders[0]).starts_at >= to
    assert planned(plan, orders[0]).starts_at < to


def test_the_rest_is_put_around_what_was_moved(shop: SmallWorkshop, plan: Plan, orders: list[Order]) -> None:
    to = later(planned(plan, orders[0]))
    changes.move(plan=plan, operation=f"{orders[0].number} weld", to=to, by=shop.user)
    drawn = next(row for row in draft(plan).after.operations if row.id == f"{orders[0].number} weld")
    made = carried_out(plan, shop, seconds=2)
    clock = draft(plan).clock
    assert clock.minute(planned(made, orders[0]).starts_at) == drawn.start_min


def test_a_changed_plan_keeps_parts_and_layouts(shop: SmallWorkshop, plan: Plan) -> None:
    changes.extra_lorry(plan=plan, day=next_open_day(), by=shop.user)
    made = carried_out(plan, shop)

    def pegs(one: Plan) -> list[tuple[object, ...]]:
        return list(
            Peg.objects.filter(plan=one).order_by("item", "order").values_list("item", "order", "quantity")
        )

    def spots(one: Plan) -> list[tuple[object, ...]]:
        rows = CutPlacement.objects.filter(sheet__batch__plan=one)
        return list(rows.order_by("part", "x_mm", "y_mm").values_list("part", "order", "x_mm", "y_mm"))

    assert pegs(made) == pegs(plan) != []
    assert spots(made) == spots(plan) != []


def test_releasing_brings_the_extra_hours_into_force(shop: SmallWorkshop, plan: Plan) -> None:
    weld = WorkCentre.objects.get(code="weld")
    day = next_open_day()
    changes.open_longer(plan=plan, work_centre=weld, day=day, minutes=60, by=shop.user)
    changes.extra_lorry(plan=plan, day=day, by=shop.user)
    made = carried_out(plan, shop)
    assert not ExtraHours.objects.exists()
    planning.release_plan(plan=made, by=shop.user)
    hours = ExtraHours.objects.get()
    assert (hours.work_centre, hours.date, hours.starts.hour, hours.ends.hour) == (weld, day, 16, 17)
    assert ExtraRun.objects.get().date == day
    centre = next(one for one in load_shop(horizon_clock(), 10).centres if one.code == "weld")
    assert any(centre.hours.on(day)[-1][1].hour == 17 for _ in centre.windows)


def test_a_changed_plan_can_be_changed_again(shop: SmallWorkshop, plan: Plan, orders: list[Order]) -> None:
    changes.extra_lorry(plan=plan, day=next_open_day(), by=shop.user)
    second = carried_out(plan, shop)
    name = f"{orders[1].number} weld"
    changes.move(plan=second, operation=name, to=later(planned(second, orders[1])), by=shop.user)
    third = carried_out(second, shop)
    assert [change.kind for change in PlanChange.objects.filter(plan=third, in_plan=True)] == ["run", "move"]
    assert planned(third, orders[1]).starts_at >= later(planned(second, orders[1]))


def test_work_that_is_done_moves_the_plan(shop: SmallWorkshop, plan: Plan, orders: list[Order]) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    shop.stock("SEC", "6")
    finish(shop, Order.objects.get(pk=orders[0].pk), "saw")
    standing = standing_of(plan)
    assert standing is not None
    names = {one.id for one in standing.work.operations}
    assert f"{orders[0].number} saw" not in names
    assert f"{orders[0].number} saw" in standing.done


def test_throwing_away_leaves_the_plan_as_it_was(shop: SmallWorkshop, plan: Plan) -> None:
    changes.extra_lorry(plan=plan, day=next_open_day(), by=shop.user)
    assert changes.throw_away(plan=plan) == 1
    assert live_changes(plan) == []


def test_extra_hours_in_force_are_listed_and_taken_back(
    shop: SmallWorkshop, plan: Plan, client: Client
) -> None:
    weld = WorkCentre.objects.get(code="weld")
    day = next_open_day()
    changes.open_longer(plan=plan, work_centre=weld, day=day, minutes=60, by=shop.user)
    changes.extra_lorry(plan=plan, day=day, by=shop.user)
    planning.release_plan(plan=carried_out(plan, shop), by=shop.user)
    client.force_login(shop.user)
    assert "overtime, 16:00 to 17:00" in client.get("/week/extra-hours/").content.decode()
    client.post(f"/week/extra-hours/{ExtraHours.objects.get().pk}/end/")
    client.post(f"/week/extra-hours/runs/{ExtraRun.objects.get().pk}/end/")
    assert not ExtraHours.objects.exists()
    assert not ExtraRun.objects.exists()


@pytest.mark.parametrize(
    ("figure", "words"), [("2", "from today on"), ("dear", "is no figure"), ("-1", "above 0")]
)
def test_what_overtime_costs_is_said_by_who_may_say_rates(
    shop: SmallWorkshop, client: Client, figure: str, words: str
) -> None:
    client.force_login(shop.user)
    form = {"overtime": figure, "shift": "1.3", "run": "90"}
    assert client.post("/week/extra-hours/terms/", form).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="change_rate"))
    assert words in client.post("/week/extra-hours/terms/", form, follow=True).content.decode()
    assert terms_on(timezone.localdate()).overtime_factor == (2 if figure == "2" else Decimal("1.5"))
