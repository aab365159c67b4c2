"""What orders and keeping cost, item by item: the item's own figures, the rules of all, the supplier's prices."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal

from bom.items.models import Item
from inventory.levels.arithmetic import WEIGHING
from inventory.levels.lotsizing import PriceBreak
from inventory.levels.models import ForecastWeek, ItemLevel, LevelRules
from inventory.levels.offers import Offer, whole
from inventory.levels.quantities import Costs, Quantities, weigh


def costs_of(
    levels: Iterable[ItemLevel], offers: Mapping[int, Offer], *, today: date, rules: LevelRules | None = None
) -> dict[int, Costs]:
    """By item, what an order and keeping cost. Two queries: the rules, and the price breaks of the offers."""
    rules = rules or LevelRules.current()
    breaks = _breaks(offers, today)
    found = {}
    for level in levels:
        offer = offers.get(level.item_id)
        price = offer.price if offer else level.item.standard_cost
        steps = {Decimal(0): price, **breaks.get(level.item_id, {})}
        found[level.item_id] = Costs(
            rules.order_cost if level.order_cost is None else level.order_cost,
            rules.holding_rate if level.holding_rate is None else level.holding_rate,
            tuple(PriceBreak(least, steps[least]) for least in sorted(steps) if steps[least] > 0),
        )
    return found


def quantities_of(
    levels: Collection[ItemLevel], offers: Mapping[int, Offer], *, today: date
) -> dict[int, Quantities | None]:
    """By item, its quantities by the rules that weigh costs. Levels with `item` at hand; three queries."""
    costs = costs_of(levels, offers, today=today)
    ahead: dict[int, list[Decimal]] = defaultdict(list)
    weeks = ForecastWeek.objects.filter(forecast__item__in=[level.item_id for level in levels])
    for item_id, used in weeks.order_by("forecast", "week").values_list("forecast__item_id", "quantity"):
        ahead[item_id].append(used)
    return {
        level.item_id: weigh(
            weekly=level.weekly_use,
            costs=costs[level.item_id],
            pack=offers[level.item_id].pack if level.item_id in offers else whole(level.item),
            ahead=ahead[level.item_id],
        )
        for level in levels
    }


def weighed_sizes(
    levels: Iterable[ItemLevel], offers: Mapping[int, Offer], *, today: date
) -> dict[int, Decimal]:
    """The order quantity of each item whose lot rule weighs costs. No query where there is none."""
    weighing = [level for level in levels if level.item.lot_rule in WEIGHING]
    if not weighing:
        return {}
    found = quantities_of(weighing, offers, today=today)
    return {
        level.item_id: one.of(level.item.lot_rule)
        for level in weighing
        if (one := found[level.item_id]) is not None
    }


def _breaks(offers: Mapping[int, Offer], today: date) -> dict[int, dict[Decimal, Decimal]]:
    """By item, what its supplier asks from a quantity on, on a day. Buying stands above: reached from the item."""
    rows = (
        Item.objects.filter(pk__in=list(offers), suppliers__breaks__valid_from__lte=today)
        .order_by("suppliers__breaks__valid_from")
        .values_list(
            "pk",
            "suppliers__supplier_id",
            "suppliers__breaks__from_quantity",
            "suppliers__breaks__price",
            "suppliers__breaks__valid_until",
        )
    )
    found: dict[int, dict[Decimal, Decimal]] = defaultdict(dict)
    for item_id, supplier_id, least, price, until in rows:
        if supplier_id == offers[item_id].supplier_id and (until is None or until >= today):
            found[item_id][least] = price
    return found
