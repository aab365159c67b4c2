"""What the pages of the levels show: an item's level with everything it came from, and idle stock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import QuerySet
from django.utils import timezone

from bom.items.models import Item
from inventory.levels import history
from inventory.levels.arithmetic import ReorderPoint
from inventory.levels.costs import quantities_of
from inventory.levels.drawing import Drawing, draw
from inventory.levels.lotsizing import yearly_cost
from inventory.levels.models import (
    DemandOneOff,
    Forecast,
    ForecastTrial,
    ItemClass,
    ItemLevel,
    LevelProposal,
    LevelRules,
)
from inventory.levels.offers import Offer, offers
from inventory.levels.quantities import Quantities
from inventory.levels.queries import working
from inventory.stock.queries import on_hand_balances
from inventory.stock.sums import summed

NOTHING = Decimal(0)


@dataclass(frozen=True)
class RuleLine:
    """One lot rule: the quantity it leads to, how often that is in a year, what orders and keeping then cost."""

    rule: str
    label: str
    quantity: Decimal
    a_year: Decimal | None
    cost: Decimal | None
    is_chosen: bool


@dataclass(frozen=True)
class Card:
    """An item's level page."""

    item: Item
    level: ItemLevel
    item_class: ItemClass | None
    working: ReorderPoint
    weeks: dict[date, Decimal]
    days: list[tuple[date, Decimal]]
    aside: Sequence[DemandOneOff]
    drawing: Drawing
    forecast: Forecast | None
    trials: Sequence[ForecastTrial]
    ahead: list[tuple[date, Decimal]]
    orders_reach_on: date | None
    offer: Offer | None
    quantities: Quantities | None
    rules: list[RuleLine]
    proposals: Sequence[LevelProposal]

    @property
    def waiting(self) -> LevelProposal | None:
        return next((one for one in self.proposals if one.state == LevelProposal.State.WAITING), None)

    @property
    def decided(self) -> list[LevelProposal]:
        return [one for one in self.proposals if one.state != LevelProposal.State.WAITING]

    @property
    def weekly_mean(self) -> Decimal:
        return self.level.weekly_use

    @property
    def counted_weeks(self) -> int:
        return len(self.weeks)

    @property
    def weeks_with_use(self) -> int:
        return sum(1 for used in self.weeks.values() if used > 0)

    @property
    def batches(self) -> list[tuple[str, list[tuple[date, Decimal]]]]:
        """The plans of the rules for dated needs, as dates and quantities; the first few batches."""
        if self.quantities is None:
            return []
        today = self.level.worked_out_on or timezone.localdate()
        return [
            (
                name,
                [
                    (today + timedelta(weeks=batch.period), Decimal(batch.quantity).quantize(Decimal("0.1")))
                    for batch in plan[:6]
                ],
            )
            for name, plan in (
                ("Least average cost", self.quantities.average),
                ("Least total cost", self.quantities.total),
            )
        ]


def card_of(item: Item) -> Card:
    """Everything on an item's level page. The item with `level`, `demand_class` and `forecast` at hand."""
    level = getattr(item, "level", None) or ItemLevel(item=item)
    item_class = getattr(item, "demand_class", None)
    forecast = getattr(item, "forecast", None)
    as_of = level.worked_out_on or timezone.localdate()
    days = history.used_by_day(item.pk, as_of)
    weeks = history.last_weeks(days, as_of, item_class.weeks_seen if item_class else 0)
    aside = list(item.one_offs.select_related("decided_by"))
    ahead = list(forecast.weeks.values_list("week", "quantity")) if forecast else []
    found = offers([item.pk])
    quantities = quantities_of([level], found, today=as_of)[item.pk]
    return Card(
        item=item,
        level=level,
        item_class=item_class,
        working=working(level),
        weeks=weeks,
        days=sorted(days.items(), reverse=True),
        aside=aside,
        drawing=draw(
            weeks,
            ahead,
            aside={one.week: one.instead for one in aside if not one.is_put_back},
            mean=level.weekly_use,
            unit=item.unit,
        ),
        forecast=forecast,
        trials=list(forecast.trials.all()) if forecast else [],
        ahead=ahead,
        orders_reach_on=forecast.orders_reach_on if forecast else history.orders_reach(as_of),
        offer=found.get(item.pk),
        quantities=quantities,
        rules=_rule_lines(item, level, found.get(item.pk), quantities),
        proposals=list(
            item.level_proposals.exclude(state=LevelProposal.State.OVERTAKEN).select_related("decided_by")[:6]
        ),
    )


def _rule_lines(
    item: Item, level: ItemLevel, offer: Offer | None, quantities: Quantities | None
) -> list[RuleLine]:
    """What each lot rule would order when the shelf has just fallen under its level."""
    yearly = level.yearly_use
    pack = offer.pack if offer else NOTHING
    sizes = {
        Item.LotRule.PERIODS: level.daily_mean * item.lot_size,
        Item.LotRule.FIXED: item.lot_size,
        Item.LotRule.MULTIPLE: item.lot_size or pack,
        Item.LotRule.MINIMUM: item.lot_size,
    }
    lines = []
    for rule, label in Item.LotRule.choices:
        is_chosen = item.lot_rule == rule
        size = quantities.of(rule) if quantities else NOTHING
        size = size or (sizes.get(Item.LotRule(rule), NOTHING) if is_chosen else NOTHING)
        if not is_chosen and not size:
            continue
        cost = None
        if quantities and size > 0 and yearly > 0:
            costs = quantities.costs
            price = max((one for one in costs.breaks if one.least <= size), key=lambda one: one.least).price
            cost = yearly_cost(
                size,
                yearly=yearly,
                order_cost=costs.order_cost,
                holding_cost=price * costs.holding_rate,
                price=price,
            )
        a_year = yearly / size if size > 0 else None
        lines.append(RuleLine(rule, str(label), size, a_year, cost, is_chosen))
    return lines


def classes() -> QuerySet[ItemClass]:
    """Items with their classes, level and forecast, in one question."""
    return ItemClass.objects.select_related("item__level", "item__forecast", "item__colour")


@dataclass(frozen=True)
class Cell:
    """How many items of a value class and a regularity there are, and their yearly value."""

    value_class: str
    regularity: str
    items: int
    value: Decimal


def matrix() -> list[tuple[str, list[Cell]]]:
    """Value classes down, regularity across. One query."""
    rows = list(ItemClass.objects.values_list("value_class", "regularity", "yearly_value"))
    return [
        (
            str(value_class),
            [
                Cell(str(value_class), str(steady), len(values), sum(values, NOTHING))
                for steady in ItemClass.Regularity
                for values in [[value for a, b, value in rows if (a, b) == (value_class, steady)]]
            ],
        )
        for value_class in ItemClass.Value
    ]


@dataclass(frozen=True)
class Idle:
    """Stock that nobody uses: how many, what it is worth, since when, slow or dead."""

    code: str
    name: str
    group: str
    unit: str
    on_hand: Decimal
    unit_cost: Decimal
    value: Decimal
    last_used: date | None
    last_moved: date
    days: int
    state: str


def idle_stock(*, today: date | None = None) -> list[Idle]:
    """Items on hand not used for longer than the rules allow, the most valuable first. Five queries.

    Counted from the last use, or where there was none from the first time anything came. The value is at the cost
    kept with the class, else at standard cost.
    """
    today = today or timezone.localdate()
    rules = LevelRules.current()
    on_hand = dict(on_hand_balances().order_by().values_list("item_id").annotate(total=summed()))
    lying = {item_id: quantity for item_id, quantity in on_hand.items() if quantity > 0}
    used, moved = history.last_used(), history.first_and_last_moved()
    items = Item.objects.filter(is_active=True).select_related("demand_class")
    found = []
    for item in items:
        if item.pk not in lying:
            continue
        last = used.get(item.pk)
        since = timezone.localdate(last or moved[item.pk][0])
        days = (today - since).days
        if days < rules.slow_days:
            continue
        known = getattr(item, "demand_class", None)
        cost = known.unit_cost if known else item.standard_cost
        found.append(
            Idle(
                code=item.code,
                name=item.name,
                group=item.group,
                unit=item.unit,
                on_hand=lying[item.pk],
                unit_cost=cost,
                value=(lying[item.pk] * cost).quantize(Decimal("0.01")),
                last_used=timezone.localdate(last) if last else None,
                last_moved=timezone.localdate(moved[item.pk][1]),
                days=days,
                state="dead" if days >= rules.dead_days else "slow",
            )
        )
    return sorted(found, key=lambda one: (-one.value, one.code))
