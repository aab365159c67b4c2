"""Finishing work posts what it made; what is missing is named; a second click posts nothing."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import ledger, reserving
from inventory.stock.models import Posting, Reservation
from inventory.stock.queries import place
from production.orders.models import Order
from production.works.cancelling import cancel_order, restore_order
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from production.works.tracking import begin_operation, finish_operation, report_problem, undo_finish
from tests.production.small_workshop import SmallWorkshop, build

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return build()


def released(shop: SmallWorkshop) -> Order:
    order = confirm_order(order=shop.draft(), by=shop.user)
    order.state = Order.State.RELEASED
    order.save()
    return order


def operation(order: Order, process: str) -> WorksOperation:
    return WorksOperation.objects.get(works_order__order=order, process__code=process)


def finish(shop: SmallWorkshop, order: Order, *processes: str) -> None:
    for process in processes:
        finish_operation(operation=operation(order, process), by=shop.user)


def kept(order: Order, code: str) -> Decimal:
    return sum(
        order.purpose.reservations.filter(item__code=code).values_list("quantity", flat=True), Decimal(0)
    )


def welded(shop: SmallWorkshop) -> Order:
    order = released(shop)
    shop.stock("SEC", "6")
    shop.stock("PL", "4", "CUT")
    finish(shop, order, "laser", "saw", "weld")
    return order


def test_sawing_turns_metres_into_parts_kept_for_the_order(shop):
    order = released(shop)
    shop.stock("SEC", "6")

    finish(shop, order, "saw")

    assert shop.on("SEC", "A1") == 3
    assert shop.on("BM", "CUT") == 2
    assert kept(order, "BM") == 2


def test_parts_kept_from_stock_are_not_sawn_again(shop):
    order = released(shop)
    shop.stock("BM", "1", "CUT")
    shop.stock("SEC", "6")
    reserving.reserve(item=shop.items["BM"], purpose=order.purpose, quantity=Decimal(1), by=shop.user)

    finish(shop, order, "saw")

    assert shop.on("SEC", "A1") == Decimal("4.5")
    assert shop.on("BM", "CUT") == 2


def test_what_is_missing_is_named_with_how_many_and_where_to_get_it(shop):
    order = released(shop)
    shop.stock("SEC", "2")

    with pytest.raises(ProblemError) as refusal:
        finish(shop, order, "saw")

    (problem,) = refusal.value.problems
    assert problem.what == "1 metre of SEC Box section missing, 3 needed"
    assert problem.where == f"order {order.number}, saw"
    assert operation(order, "saw").state == "waiting"
    assert shop.on("SEC", "A1") == 2


def test_stock_kept_for_another_order_is_not_taken(shop):
    first, second = released(shop), released(shop)
    shop.stock("SEC", "3")
    reserving.reserve(item=shop.items["SEC"], purpose=first.purpose, quantity=Decimal(3), by=shop.user)

    with pytest.raises(ProblemError, match="3 metre of SEC Box section missing"):
        finish(shop, second, "saw")

    finish(shop, first, "saw")
    assert kept(first, "SEC") == 0


def test_welding_uses_up_the_parts_and_makes_the_chassis(shop):
    order = welded(shop)

    assert shop.on("BM", "CUT") == 0
    assert shop.on("PL", "CUT") == 0
    assert shop.on("CH", "WELD") == 1
    assert kept(order, "CH") == 1
    assert kept(order, "BM") == 0
    assert Posting.objects.get(kind="make", key=f"weld:W-{order.number}:1").purpose == order.purpose


def test_a_second_click_posts_once(shop):
    order = welded(shop)
    postings = Posting.objects.count()

    finish(shop, order, "weld")

    assert Posting.objects.count() == postings


def test_welding_waits_for_the_laser_and_says_so(shop):
    order = released(shop)
    shop.stock("SEC", "6")
    finish(shop, order, "saw")

    with pytest.raises(ProblemError, match="Weld cannot be done before Laser"):
        finish(shop, order, "weld")


def test_assembly_takes_only_what_was_picked_into_this_kit(shop):
    order = welded(shop)
    finish(shop, order, "galvanise")
    shop.stock("RO-RED", "2", "KIT")
    shop.stock("RO-GREEN", "2", "KIT")

    with pytest.raises(ProblemError) as refusal:
        finish(shop, order, "assemble")

    assert len(refusal.value.problems) == 2
    assert "Pick it into the kit of this order" in refusal.value.problems[0].mend


def picked(shop: SmallWorkshop, order: Order, code: str, quantity: str) -> None:
    shop.stock(code, quantity)
    ledger.post(
        key=f"pick:{order.number}:{code}",
        kind=Posting.Kind.ISSUE,
        lines=[
            ledger.Line(shop.items[code].pk, place("A1").pk, -Decimal(quantity)),
            ledger.Line(shop.items[code].pk, place("KIT").pk, Decimal(quantity)),
        ],
        by=shop.user,
        purpose=order.purpose,
    )


def test_the_last_operation_makes_the_order_done(shop):
    order = welded(shop)
    picked(shop, order, "RO-RED", "2")
    picked(shop, order, "RO-GREEN", "2")

    finish(shop, order, "galvanise", "assemble")
    order.refresh_from_db()
    assert order.state == "begun"
    finish(shop, order, "inspect")

    order.refresh_from_db()
    assert order.state == "done"
    assert order.works_order.state == "done"
    assert shop.on("HT", "READY") == 1
    assert shop.on("CH", "WELD") == 0
    assert ledger.audit() == []


def test_undoing_puts_the_parts_back_and_it_can_be_finished_again(shop):
    order = welded(shop)

    undo_finish(operation=operation(order, "weld"), by=shop.user)

    assert shop.on("CH", "WELD") == 0
    assert (shop.on("BM", "CUT"), shop.on("PL", "CUT")) == (2, 4)
    assert (kept(order, "BM"), kept(order, "CH")) == (2, 0)
    assert operation(order, "weld").state == "begun"

    finish(shop, order, "weld")
    assert shop.on("CH", "WELD") == 1


def test_work_that_was_built_upon_cannot_be_undone(shop):
    order = welded(shop)
    begin_operation(operation=operation(order, "galvanise"), by=shop.user)

    with pytest.raises(ProblemError, match="Galvanise has begun since"):
        undo_finish(operation=operation(order, "weld"), by=shop.user)


def test_an_order_that_is_not_released_is_not_worked_on(shop):
    order = confirm_order(order=shop.draft(), by=shop.user)

    with pytest.raises(ProblemError, match="not released to the floor"):
        begin_operation(operation=operation(order, "saw"), by=shop.user)


def test_a_problem_is_written_down_and_gone_when_the_work_is_done(shop):
    order = released(shop)
    shop.stock("SEC", "6")

    report_problem(operation=operation(order, "saw"), by=shop.user, problem="Blade is blunt")
    assert operation(order, "saw").problem == "Blade is blunt"

    finish(shop, order, "saw")
    assert operation(order, "saw").problem == ""


def test_cancelling_lets_the_stock_go_and_stops_the_work(shop):
    order = released(shop)
    shop.stock("SEC", "6")
    reserving.reserve(item=shop.items["SEC"], purpose=order.purpose, quantity=Decimal(3), by=shop.user)

    cancel_order(order=order, by=shop.user, reason="Customer sold the boat")

    assert not Reservation.objects.exists()
    with pytest.raises(ProblemError, match="cancelled"):
        begin_operation(operation=operation(order, "saw"), by=shop.user)


def test_a_cancelled_order_can_be_restored_until_work_has_begun(shop):
    untouched, begun = released(shop), released(shop)
    begin_operation(operation=operation(begun, "laser"), by=shop.user)
    for order in (untouched, begun):
        cancel_order(order=order, by=shop.user, reason="Wrong customer")

    assert restore_order(order=untouched, by=shop.user).state == "confirmed"
    assert operation(untouched, "saw").state == "waiting"
    with pytest.raises(ProblemError, match="had begun"):
        restore_order(order=begun, by=shop.user)


def test_cancelling_needs_a_reason(shop):
    with pytest.raises(ProblemError, match="No reason"):
        cancel_order(order=released(shop), by=shop.user, reason=" ")
