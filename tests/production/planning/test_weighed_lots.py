"""The plan reads an item whose lot rule weighs costs, with its costs and use, and buys by it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.items.models import Item
from inventory.buying.models import Supplier, SupplierItem
from inventory.levels.models import ItemLevel, LevelRules
from production.orders.models import Order
from production.planning.needs import UnderWay, read_needs
from production.planning.netting.data import ItemRule, LotRule
from production.planning.netting.net import net_requirements
from production.shop.hours import Hours, WorkingDays
from production.works.confirming import confirm_order
from tests.production.small_workshop import SmallWorkshop, build

YEARLY_USE = 520


@pytest.fixture
def shop(db) -> SmallWorkshop:
    """Two orders ten days apart, each with two red rollers; ten are used in a week, one costs 5."""
    workshop = build()
    supplier = Supplier.objects.create(code="S1", name="Supplier One")
    SupplierItem.objects.create(supplier=supplier, item=workshop.items["RO-RED"], price=5, lead_days=5)
    ItemLevel.objects.create(item=workshop.items["RO-RED"], yearly_use=YEARLY_USE, daily_mean=2)
    for days in (40, 50):
        order = workshop.draft(asked_for=timezone.localdate() + timedelta(days=days))
        confirm_order(order=order, by=workshop.user)
    return workshop


def planned(rule: str, **costs: str) -> tuple[ItemRule, list[Decimal]]:
    """What the netting is told of the red rollers, and the lots it plans of them."""
    Item.objects.filter(code="RO-RED").update(lot_rule=rule)
    ItemLevel.objects.update(**{name: Decimal(cost) for name, cost in costs.items()})
    today = timezone.localdate()
    days = WorkingDays(Hours(), today - timedelta(days=400), today + timedelta(days=400))
    orders = list(Order.objects.filter(state__in=Order.OPEN).select_related("model__item"))
    needs = read_needs(orders, under_way=UnderWay(), today=today, days=days, galvanising_days=5)
    plan = net_requirements(
        needs.demands,
        needs.bills,
        needs.rules,
        needs.stock,
        needs.receipts,
        today=needs.today,
        offset=needs.days.before,
    )
    told = next(rule for rule in needs.rules if rule.item == "RO-RED")
    return told, [supply.quantity for supply in plan.supplies if supply.item == "RO-RED"]


def test_as_needed_buys_for_each_order(shop):
    assert planned("as_needed")[1] == [2, 2]


def test_the_economic_quantity_is_bought(shop):
    told, lots = planned("economic")
    rules = LevelRules()
    # √(2·520·18/(5·0.25)), up to whole rollers
    best = (2 * YEARLY_USE * rules.order_cost / (5 * rules.holding_rate)).sqrt()

    assert told.lot_rule == LotRule.ECONOMIC
    assert lots == [told.lot_size] == [122 + 1]
    assert 122 < best < 123


@pytest.mark.parametrize("rule", ["least_average", "least_total"])
def test_a_dear_order_is_placed_once_and_a_cheap_one_twice(shop, rule):
    told, lots = planned(rule, order_cost="18", holding_rate="0.25")
    assert (told.order_cost, told.holding_cost) == (18, Decimal("1.25") / 365)
    assert lots == [4]

    # Two rollers kept for ten days cost 2·5·9.9·10/365 = 2.71: more than an order.
    assert planned(rule, order_cost="1", holding_rate="9.9")[1] == [2, 2]


@pytest.mark.parametrize("rule", ["economic", "least_average", "least_total"])
def test_without_known_use_or_price_it_is_bought_as_needed(shop, rule):
    ItemLevel.objects.update(yearly_use=0)
    SupplierItem.objects.update(price=0)

    told, lots = planned(rule)
    assert (told.lot_rule, told.lot_size, lots) == (LotRule.AS_NEEDED, 0, [2, 2])
