"""The plan knows the substitutes taken: they fulfil the need of the first item, and are needed themselves."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from inventory.stores.rules import add_substitute
from production.assembly import swapping
from production.assembly.kits import pick_all_available
from production.planning.needs import read_needs
from production.planning.netting.net import net_requirements
from production.planning.netting.plan import NetPlan
from production.scheduling.asked.reading import read_floor
from production.shop.hours import Hours, WorkingDays
from production.works.models import Swap
from tests.production.floor import floor_shop, kit_of, released

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    shop = floor_shop()
    shop.user.is_superuser = True
    shop.user.save()
    return shop


def planned() -> NetPlan:
    today = timezone.localdate()
    days = WorkingDays(Hours(), today - timedelta(days=30), today + timedelta(days=400))
    floor = read_floor()
    needs = read_needs(floor.orders, under_way=floor.under_way, today=today, days=days, galvanising_days=5)
    return net_requirements(
        needs.demands,
        needs.bills,
        needs.rules,
        needs.stock,
        needs.receipts,
        today=needs.today,
        offset=days.before,
    )


def bought(plan: NetPlan, code: str) -> Decimal:
    return sum((supply.quantity for supply in plan.supplies if supply.item == code), Decimal(0))


def take_green(shop, kit) -> None:
    add_substitute(
        item=shop.items["RO-RED"],
        instead=shop.items["RO-GREEN"],
        note="colour agreed",
        both_ways=False,
        by=shop.user,
    )
    line = kit.lines.get(item__code="RO-RED")
    swapping.take_instead(line=line, instead=shop.items["RO-GREEN"], by=shop.user)


def test_a_substitute_taken_is_no_longer_bought_as_the_first_item(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "4")
    assert (bought(planned(), "RO-RED"), bought(planned(), "RO-GREEN")) == (2, 0)

    take_green(shop, kit)

    assert (bought(planned(), "RO-RED"), bought(planned(), "RO-GREEN")) == (0, 0)


def test_what_a_substitute_takes_from_others_is_bought(shop):
    first, second = released(shop), released(shop)
    kit = kit_of(first)
    kit_of(second)
    shop.stock("RO-GREEN", "4")
    take_green(shop, kit)

    plan = planned()

    # Four greens lie there: the first order takes two of its own and two for red; the other one's two are missing.
    assert (bought(plan, "RO-RED"), bought(plan, "RO-GREEN")) == (2, 2)


def test_a_substitute_that_is_picked_is_counted_once(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "4")
    take_green(shop, kit)
    pick_all_available(kit=kit, by=shop.user)
    assert (bought(planned(), "RO-RED"), bought(planned(), "RO-GREEN")) == (0, 0)


def test_a_substitute_given_up_is_needed_as_before(shop):
    kit = kit_of(released(shop))
    shop.stock("RO-GREEN", "4")
    take_green(shop, kit)
    swapping.undo_swap(swap=Swap.objects.get(), by=shop.user)
    assert bought(planned(), "RO-RED") == 2
