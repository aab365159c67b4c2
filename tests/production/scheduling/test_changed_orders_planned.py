"""A confirmed order that was changed: the next plan makes what it asks for now, and nothing built is rewritten."""

from datetime import timedelta

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.stock.models import Movement, Posting
from production.assembly.kits import pick_all_available
from production.assembly.models import Kit
from production.coating.loads import send_load, sign_vents
from production.coating.models import LoadLine, PowderLine
from production.orders.models import FrozenBill, Order
from production.planning.models import Plan
from production.scheduling import planning
from production.site.orders.changing import accept, look_at
from production.works.confirming import confirm_orders
from tests.production.floor import finish
from tests.production.small_workshop import SmallWorkshop

DUPLEX = {"finish": "duplex", "colours": {"port": "red", "starboard": "green", "powder": "blue"}}


@pytest.fixture
def orders(shop: SmallWorkshop) -> list[Order]:
    """A galvanised one and a duplex one."""
    due = timezone.localdate() + timedelta(days=28)
    return confirm_orders(
        orders=[shop.draft(asked_for=due), shop.draft(asked_for=due, **DUPLEX)], by=shop.user
    )


@pytest.fixture
def plan(shop: SmallWorkshop, orders: list[Order]) -> Plan:
    return released(shop)


def made(shop: SmallWorkshop) -> Plan:
    plan = planning.run_plan(planning.start_plan(by=shop.user, seconds=2).pk)
    assert plan.outcome == "succeeded", plan.failure
    return plan


def released(shop: SmallWorkshop) -> Plan:
    plan = made(shop)
    planning.release_plan(plan=plan, by=shop.user)
    return plan


def changed(shop: SmallWorkshop, order: Order, **changes: object) -> Order:
    order.refresh_from_db()
    wish = shop.wish(**{"customer": order.customer, "asked_for": order.asked_for, **changes})
    seen = look_at(order=order, wish=wish).proposal.seen
    accept(order=order, wish=wish, by=shop.user, reason="asked by phone", key=f"change:{order.pk}", seen=seen)
    order.refresh_from_db()
    return order


def needed(plan: Plan, order: Order) -> set[str]:
    return set(plan.pegs.filter(order=order).values_list("item__code", flat=True))


def processes(plan: Plan, order: Order) -> set[str]:
    return set(plan.operations.filter(order=order).values_list("operation__process__code", flat=True))


def test_the_next_plan_buys_coats_and_schedules_what_the_order_asks_for_now(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    first, duplex = orders
    assert "BOX" not in needed(plan, first)
    changed(shop, first, choices={"winch": "electric"}, **DUPLEX)
    changed(shop, duplex)

    second = made(shop)

    assert "BOX" in needed(second, first)
    assert second.suggestions.filter(item__code="BOX", pegs__order=first).exists()
    assert second.book_needs.get(item__code="BOX").quantity == 1
    assert "powder" in processes(second, first)
    assert "powder" not in processes(second, duplex)
    in_oven = PowderLine.objects.filter(batch__plan=second).values_list("order", flat=True)
    assert set(in_oven) == {first.pk}


def test_an_order_leaves_the_oven_and_its_place_when_it_wants_no_colour_any_more(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    duplex = orders[1]
    assert PowderLine.objects.filter(batch__plan=plan, order=duplex).exists()

    changed(shop, duplex)

    assert not PowderLine.objects.filter(order=duplex, batch__state="released").exists()
    assert LoadLine.objects.filter(load__plan=plan, order=duplex).exists(), "it is galvanised as before"


def test_an_order_that_is_painted_instead_leaves_the_lorry(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    shop.model.finishes.create(finish="painted")
    duplex = orders[1]

    changed(shop, duplex, **{**DUPLEX, "finish": "painted"})

    assert not LoadLine.objects.filter(order=duplex, load__state="released").exists()
    assert PowderLine.objects.filter(batch__plan=plan, order=duplex).exists(), "its coat is the same"
    second = made(shop)
    assert "galvanise" not in processes(second, duplex)
    assert not LoadLine.objects.filter(load__plan=second, order=duplex).exists()


def test_another_colour_leaves_the_batch_of_the_old_one(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    duplex = orders[1]

    changed(shop, duplex, finish="duplex", colours={**DUPLEX["colours"], "powder": "red"})

    assert not PowderLine.objects.filter(batch__plan=plan, order=duplex).exists()
    batch = PowderLine.objects.get(batch__plan=made(shop), order=duplex).batch
    assert batch.colour.code == "red"


def test_what_is_at_the_galvaniser_stays_on_its_load_and_the_change_only_adds_after_it(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    first = orders[0]
    shop.stock("PL", "4", "CUT")
    finish(shop, first, "laser", "saw", "weld")
    load = LoadLine.objects.get(order=first, load__plan=plan).load
    load.lines.exclude(order=first).delete()
    for line in load.lines.all():
        sign_vents(line=line, by=shop.user)
    send_load(load=load, by=shop.user)
    postings = list(Posting.objects.order_by("pk").values())
    movements = list(Movement.objects.order_by("pk").values())
    old_bill = FrozenBill.objects.get(pk=first.bill_id)
    old_lines = list(old_bill.lines.order_by("pk").values())

    changed(shop, first, **DUPLEX)

    load.refresh_from_db()
    assert load.state == "away"
    assert load.lines.filter(order=first).exists()
    assert list(Posting.objects.order_by("pk").values())[: len(postings)] == postings
    assert list(Movement.objects.order_by("pk").values())[: len(movements)] == movements
    assert list(old_bill.lines.order_by("pk").values()) == old_lines
    assert first.versions.get().bill == old_bill

    second = made(shop)
    assert processes(second, first) == {"powder", "assemble", "inspect"}
    assert not LoadLine.objects.filter(load__plan=second, order=first).exists()


def test_a_coat_cannot_be_asked_for_any_more_once_the_trailer_is_assembled(
    shop: SmallWorkshop, plan: Plan, orders: list[Order]
) -> None:
    first = orders[0]
    shop.stock("PL", "4", "CUT")
    pick_all_available(kit=Kit.objects.get(order=first), by=shop.user)
    finish(shop, first, "laser", "saw", "weld", "galvanise", "assemble")

    with pytest.raises(ProblemError, match="powder would come before work that has begun"):
        changed(shop, first, **DUPLEX)
    assert not first.versions.exists()
