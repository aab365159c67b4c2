"""A plan of three orders from the order book to the floor."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.stock import reserving
from production.assembly.kits import pick_all_available
from production.assembly.models import Kit
from production.coating.loads import send_load, sign_vents
from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch
from production.cutting.counting import begin_sheet, stop_sheet
from production.cutting.models import CutBatch, CutPlacement
from production.orders.models import Order
from production.planning.models import Plan, Shortage
from production.scheduling import planning
from production.scheduling.models import OrderForecast, PlannedOperation
from production.shop.models import LorryDay, WorkCentre
from production.works.confirming import confirm_orders
from tests.production.floor import finish
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    """A galvanised one, a duplex one in blue, and one that needs a battery box with six weeks' lead."""
    due = timezone.localdate() + timedelta(days=28)
    drafts = [
        shop.draft(asked_for=due),
        shop.draft(
            asked_for=due,
            finish="duplex",
            colours={"port": "red", "starboard": "green", "powder": "blue"},
        ),
        shop.draft(asked_for=due, choices={"winch": "electric"}),
    ]
    return confirm_orders(orders=drafts, by=shop.user)


def made(shop: SmallWorkshop) -> Plan:
    plan = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert plan.outcome == "succeeded", plan.failure
    return plan


@pytest.fixture
def plan(shop: SmallWorkshop, orders: list[Order]) -> Plan:
    return made(shop)


def start_of(plan: Plan, order: Order, process: str) -> PlannedOperation:
    return PlannedOperation.objects.get(plan=plan, order=order, operation__process__code=process)


def test_every_order_has_a_forecast_and_only_the_one_without_its_box_is_late(
    plan: Plan, orders: list[Order]
) -> None:
    late = {row.order_id: row.days_late for row in OrderForecast.objects.filter(plan=plan)}
    assert {pk for pk, days in late.items() if days > 0} == {orders[2].pk}
    assert (plan.orders_planned, plan.orders_late) == (3, 1)


def test_the_chain_names_the_part_and_the_alert_its_order(plan: Plan, orders: list[Order]) -> None:
    sentences = [cause.sentence for cause in plan.causes.filter(order=orders[2])]
    assert any("BOX Battery box" in sentence and "if it is bought by" in sentence for sentence in sentences)
    shortage = Shortage.objects.get(plan=plan, item__code="BOX")
    assert shortage.order == orders[2]
    assert shortage.suggestion is not None
    assert shortage.suggestion.kind == "buy"


def test_all_plates_are_nested_once_each_for_its_order(plan: Plan, orders: list[Order]) -> None:
    placed = CutPlacement.objects.filter(sheet__batch__plan=plan, part__item__code="PL")
    assert {order.pk: placed.filter(order=order).count() for order in orders} == {
        order.pk: 4 for order in orders
    }


def test_the_plan_keeps_what_the_whole_book_needs(plan: Plan, orders: list[Order]) -> None:
    needs = dict(plan.book_needs.values_list("item__code", "quantity"))

    assert needs["HT"] == len(orders)
    assert needs["BOX"] == 1
    assert plan.book_needs.get(item__code="BOX").orders == 1


def test_operations_follow_one_another_and_the_lorry(plan: Plan, orders: list[Order]) -> None:
    for order in orders:
        weld, assemble = (start_of(plan, order, process) for process in ("weld", "assemble"))
        load = LoadLine.objects.get(load__plan=plan, order=order).load
        batch = CutBatch.objects.filter(sheets__placements__order=order, plan=plan).distinct().get()
        assert batch.ends_at <= weld.starts_at
        assert weld.ends_at <= load.leaves_at
        assert load.back_at <= assemble.starts_at
        assert assemble.ends_at <= start_of(plan, order, "inspect").starts_at


def test_the_coloured_frame_has_its_batch_in_the_oven_after_the_lorry(
    plan: Plan, orders: list[Order]
) -> None:
    batch = PowderBatch.objects.get(plan=plan)
    load = LoadLine.objects.get(load__plan=plan, order=orders[1]).load
    assert (batch.colour.code, [line.order for line in batch.lines.all()]) == ("blue", [orders[1]])
    assert load.back_at <= batch.starts_at


def test_nothing_changes_before_release(plan: Plan, orders: list[Order]) -> None:
    for order in orders:
        order.refresh_from_db()
        assert (order.state, order.promised_on) == ("confirmed", None)
    assert set(CutBatch.objects.values_list("state", flat=True)) == {"proposed"}
    assert not Kit.objects.exists()


def test_release_hands_the_plan_to_the_floor_once(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    released_at = Plan.objects.get(pk=plan.pk).released_at
    planning.release_plan(plan=plan, by=shop.user)
    assert Plan.objects.get(pk=plan.pk).released_at == released_at
    for order in orders:
        order.refresh_from_db()
        forecast = OrderForecast.objects.get(plan=plan, order=order)
        assert order.state == "released"
        assert order.works_order.state == "released"
        assert order.promised_on == timezone.localtime(forecast.finishes_at).date()
        assert order.purpose is not None
        assert order.purpose.needed_on == order.promised_on
    assert set(CutBatch.objects.values_list("state", flat=True)) == {"released"}
    assert set(GalvanisingLoad.objects.values_list("state", flat=True)) == {"released"}
    assert Kit.objects.count() == 3


def test_a_promise_that_was_made_is_not_moved(shop: SmallWorkshop, orders: list[Order]) -> None:
    promised = timezone.localdate() + timedelta(days=3)
    Order.objects.filter(pk=orders[0].pk).update(promised_on=promised)
    planning.release_plan(plan=made(shop), by=shop.user)
    orders[0].refresh_from_db()
    assert orders[0].promised_on == promised


def test_the_next_release_drops_what_nobody_began_and_undo_brings_it_back(
    shop: SmallWorkshop, plan: Plan
) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    line = LoadLine.objects.filter(load__plan=plan).first()
    assert line is not None
    LoadLine.objects.filter(pk=line.pk).update(vents_checked_by=shop.user, vents_checked_at=timezone.now())
    second = made(shop)
    planning.release_plan(plan=second, by=shop.user)
    assert set(plan.cut_batches.values_list("state", flat=True)) == {"dropped"}
    assert set(second.cut_batches.values_list("state", flat=True)) == {"released"}
    assert Plan.objects.get(is_current=True) == second
    # Who has looked at the holes has looked, whichever lorry takes the chassis.
    assert (
        LoadLine.objects.get(load__plan=second, order=line.order, item=line.item).vents_checked_by
        == shop.user
    )
    planning.release_plan(plan=Plan.objects.get(pk=plan.pk), by=shop.user)
    assert set(plan.cut_batches.values_list("state", flat=True)) == {"released"}
    assert set(second.cut_batches.values_list("state", flat=True)) == {"dropped"}


def test_a_begun_batch_stays_and_its_parts_are_not_planned_again(shop: SmallWorkshop, plan: Plan) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    batch = plan.cut_batches.get()
    begin_sheet(sheet=batch.sheets.get(), by=shop.user)
    second = made(shop)
    assert not second.cut_batches.exists()
    fixed = PlannedOperation.objects.get(plan=second, batch=batch)
    assert fixed.is_fixed
    planning.release_plan(plan=second, by=shop.user)
    batch.refresh_from_db()
    assert batch.state == "begun"


def test_parts_of_a_batch_begun_meanwhile_are_taken_off_the_sheets_of_the_plan(
    shop: SmallWorkshop, plan: Plan
) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    draft = made(shop)
    begun = plan.cut_batches.get()
    CutPlacement.objects.filter(pk=begun.sheets.get().placements.first().pk).delete()
    begin_sheet(sheet=begun.sheets.get(), by=shop.user)

    planning.release_plan(plan=draft, by=shop.user)

    begun.refresh_from_db()
    assert begun.state == "begun"
    # The plate that was taken off the begun sheet by hand is the only one that this plan still cuts.
    assert CutPlacement.objects.filter(sheet__batch__plan=draft).count() == 1
    assert draft.notes.filter(sentence__contains="parts were taken off").exists()


def test_a_batch_that_the_plan_knew_as_begun_takes_nothing_off(shop: SmallWorkshop, plan: Plan) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    sheet = plan.cut_batches.get().sheets.get()
    CutPlacement.objects.filter(pk=sheet.placements.first().pk).delete()
    begin_sheet(sheet=sheet, by=shop.user)
    draft = made(shop)
    stop_sheet(sheet=sheet, by=shop.user, problem="gas is out")
    begin_sheet(sheet=sheet, by=shop.user)

    planning.release_plan(plan=draft, by=shop.user)

    assert CutPlacement.objects.filter(sheet__batch__plan=draft).count() == 1


def test_a_draft_that_a_lorry_has_overtaken_cannot_be_released(shop: SmallWorkshop, plan: Plan) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    draft = made(shop)
    GalvanisingLoad.objects.filter(plan=plan).update(left_at=timezone.now())
    with pytest.raises(ProblemError, match="was begun after plan 2 was made"):
        planning.release_plan(plan=draft, by=shop.user)
    assert set(draft.cut_batches.values_list("state", flat=True)) == {"proposed"}


def test_a_plan_that_failed_cannot_be_released(shop: SmallWorkshop) -> None:
    failed = Plan.objects.create(number=1, state="finished", outcome="failed")
    with pytest.raises(ProblemError, match="it is failed"):
        planning.release_plan(plan=failed, by=shop.user)


def test_what_is_kept_for_an_order_is_not_asked_for_again(shop: SmallWorkshop, orders: list[Order]) -> None:
    """Two of its four plates lie cut and kept for the first order."""
    shop.stock("PL", "2", "CUT")
    reserving.reserve(item=shop.items["PL"], purpose=orders[0].purpose, quantity=Decimal(2), by=shop.user)
    plan = made(shop)
    placed = CutPlacement.objects.filter(sheet__batch__plan=plan)
    assert placed.filter(order=orders[0]).count() == 2
    assert placed.count() == 10


def test_a_chassis_at_the_galvaniser_is_not_welded_again_and_assembly_waits_for_it(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    shop.stock("PL", "4", "CUT")
    finish(shop, orders[0], "laser", "saw", "weld")
    load = LoadLine.objects.get(order=orders[0], load__plan=plan).load
    load.lines.exclude(order=orders[0]).delete()
    for line in load.lines.all():
        sign_vents(line=line, by=shop.user)
    send_load(load=load, by=shop.user)
    second = made(shop)
    processes = second.operations.filter(order=orders[0]).values_list("operation__process__code", flat=True)
    assert set(processes) == {"assemble", "inspect"}
    assert load.back_at <= start_of(second, orders[0], "assemble").starts_at
    assert not second.suggestions.filter(pegs__order=orders[0], item__code__in=["CH", "PL"]).exists()
    assert not LoadLine.objects.filter(load__plan=second, order=orders[0]).exists()


def test_what_lies_in_a_kit_is_not_wanted_again(shop: SmallWorkshop, plan: Plan, orders: list[Order]) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    pick_all_available(kit=Kit.objects.get(order=orders[0]), by=shop.user)
    rollers = {"RO-RED", "RO-GREEN"}
    second = made(shop)
    pegs = second.pegs.filter(order=orders[0], item__code__in=rollers)
    assert {peg.item.code: (peg.quantity, peg.source) for peg in pegs} == dict.fromkeys(rollers, (2, "shelf"))
    assert not second.suggestions.filter(item__code__in=rollers).exists()


def test_a_frame_without_a_colour_is_named_and_no_plan_is_made(
    shop: SmallWorkshop, orders: list[Order]
) -> None:
    orders[1].colours.filter(place="powder").delete()
    plan = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert plan.outcome == "failed"
    assert f"order {orders[1].number}" in plan.failure
    assert "names no colour" in plan.failure


def test_a_shop_without_stations_says_which_are_missing(shop: SmallWorkshop, orders: list[Order]) -> None:
    WorkCentre.objects.filter(code="weld").delete()
    LorryDay.objects.all().delete()
    plan = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert "No work centre that is ever open does weld" in plan.failure
    assert "No lorry calls" in plan.failure


def test_a_second_plan_starts_from_the_released_one(shop: SmallWorkshop, plan: Plan) -> None:
    planning.release_plan(plan=plan, by=shop.user)
    second = made(shop)
    assert second.based_on == plan
    assert second.late_hours <= plan.late_hours
