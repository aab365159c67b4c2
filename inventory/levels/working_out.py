"""Working out reorder levels and classes from what the ledger saw."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from inventory.levels import history
from inventory.levels.arithmetic import (
    DAYS_A_WEEK,
    Demand,
    ReorderPoint,
    daily_demand,
    lead_time,
    reorder_point,
    weekly_demand,
)
from inventory.levels.demand import (
    EMPTY,
    OneOff,
    cleaned,
    one_offs,
    regularity,
    shelf_was_empty,
    value_classes,
)
from inventory.levels.history import NOTHING, Seen, Span
from inventory.levels.models import (
    WEEKS_A_YEAR,
    DemandOneOff,
    Forecast,
    ItemClass,
    ItemLevel,
    LevelProposal,
    LevelRules,
)
from inventory.stock import valuing

Tell = Callable[[float, str], object]

FEWEST_WEEKS = 8
"""Fewer whole weeks than this, and the deviation is taken from the single days. House rule."""

COUNTED_UNITS = (Item.Unit.PIECE, Item.Unit.SET)
_AT_ONCE = 1000
_FIGURES = [
    "reorder_point",
    "daily_mean",
    "daily_deviation",
    "yearly_use",
    "days_seen",
    "weeks_seen",
    "method",
    "is_counted",
    "lead_days",
    "lead_deviation_days",
    "deliveries_seen",
    "lead_ends_on",
    "worked_out_on",
]
_CLASS_FIGURES = [
    "value_class",
    "rank",
    "share",
    "yearly_use",
    "unit_cost",
    "cost_basis",
    "yearly_value",
    "regularity",
    "interval_weeks",
    "spread",
    "weeks_seen",
    "computed_on",
]


@dataclass(frozen=True)
class Past:
    """An item's use over its own span: by whole week as it was, the one-offs, the weeks as they count."""

    span: Span
    weeks: Mapping[date, Decimal]
    aside: Sequence[OneOff]
    counted: Mapping[date, Decimal]
    total: Decimal
    days: int

    @property
    def observed(self) -> list[float]:
        """The weeks as they count, without those in which the shelf was empty: what varies is seen in these."""
        empty = {one.week for one in self.aside if one.reason == EMPTY}
        return [float(used) for week, used in self.counted.items() if week not in empty or self.weeks[week]]

    @property
    def yearly(self) -> Decimal:
        """Use of a year at the same rate."""
        return self.total * history.DAYS_LOOKED_BACK / max(1, (self.span.today - self.span.begin).days)


def past_of(seen: Seen, span: Span, put_back: frozenset[date] = frozenset()) -> Past:
    """The item's use since it was first seen, a year at most, with one-offs set aside but for those put back."""
    own = span.of(seen.first_seen)
    weeks = seen.by_week(own)
    empty = shelf_was_empty(weeks, seen.empty_weeks(own))
    missed = {one.week for one in empty}
    aside = [*empty, *one_offs({week: used for week, used in weeks.items() if week not in missed})]
    counted = cleaned(weeks, aside, put_back)
    raw = sum(seen.used.values(), NOTHING)
    total = raw + sum((counted[week] - used for week, used in weeks.items()), NOTHING)
    days = max(own.days.count(own.begin, own.yesterday), len(seen.used))
    return Past(own, weeks, aside, counted, max(NOTHING, total), days)


def demand_of(past: Past, seen: Seen, forecast: Forecast | None = None) -> Demand:
    """Daily use: from the forecast where there is one, else from the whole weeks, else from single days."""
    if forecast is not None:
        return Demand(
            past.days,
            float(forecast.weekly_mean) / DAYS_A_WEEK,
            float(forecast.weekly_deviation) / DAYS_A_WEEK**0.5,
            forecast.weeks_seen,
            forecast.method,
        )
    weeks = past.observed
    if len(weeks) >= FEWEST_WEEKS:
        return weekly_demand(weeks, total=float(past.total), days=past.days)
    used = seen.by_working_day(past.span.days).values()
    return daily_demand([float(max(NOTHING, quantity)) for quantity in used], past.days)


@dataclass(frozen=True)
class Ground:
    """Everything read before anything is worked out."""

    today: date
    span: Span
    items: Mapping[int, Item]
    seen: Mapping[int, Seen]
    stated: Mapping[int, int]
    pasts: Mapping[int, Past]

    def lead_days(self, item_id: int) -> float:
        return lead_time(self.seen[item_id].deliveries, self.promised(item_id)).mean

    def lead_ends_on(self, item_id: int) -> date:
        """The day on which what is ordered today is there."""
        return self.span.days.after(self.today, math.ceil(self.lead_days(item_id)))

    def promised(self, item_id: int) -> int:
        return self.stated.get(item_id, self.items[item_id].lead_days)


def read_ground(today: date) -> Ground:
    """A year of use and deliveries of every active item that is bought in. Queries do not grow with the items."""
    span = history.year_until(today)
    items = Item.objects.filter(is_active=True, is_phantom=False).exclude(kind=Item.Kind.MADE)
    by_id = {item.pk: item for item in items}
    seen = history.seen(span)
    put_back: dict[int, set[date]] = defaultdict(set)
    for item_id, week in DemandOneOff.objects.filter(is_put_back=True).values_list("item_id", "week"):
        put_back[item_id].add(week)
    every = {item_id: seen.get(item_id) or Seen() for item_id in by_id}
    pasts = {
        item_id: past_of(one, span, frozenset(put_back.get(item_id, ()))) for item_id, one in every.items()
    }
    return Ground(today, span, by_id, every, history.stated_lead_days(), pasts)


def work_out_levels(*, today: date | None = None, propose: bool = False, ground: Ground | None = None) -> int:
    """Work out level and classes of every active item that is bought in, from a year of use and deliveries.

    Levels set by a person keep their reorder point; only the figures beside it are renewed. With `propose`, so does
    every level that was worked out before: where the new one differs by more than the share in `LevelRules`, a
    proposal waits for a person. Returns how many levels were written. The number of queries does not depend on the
    number of items.
    """
    ground = ground or read_ground(today or timezone.localdate())
    rules = LevelRules.current()
    forecasts = {row.item_id: row for row in Forecast.objects.all()}
    costs = valuing.unit_cost(ground.items)
    levels = {level.item_id: level for level in ItemLevel.objects.all()}
    fresh: list[ItemLevel] = []
    proposals: list[LevelProposal] = []
    for item_id, item in ground.items.items():
        level = levels.get(item_id) or ItemLevel(item=item)
        found = _working(level, item, ground, forecasts.get(item_id))
        is_first = level.worked_out_on is None
        _fill(level, found, ground.today)
        level.lead_ends_on = ground.lead_ends_on(item_id)
        level.yearly_use = _yearly(ground.pasts[item_id], forecasts.get(item_id))
        wanted = found.point_rounded
        if not level.is_manual and (is_first or not propose):
            level.reorder_point = wanted
        elif propose and _differs(level.reorder_point, wanted, rules.propose_share):
            proposals.append(_proposal(level, wanted, ground.today))
        fresh.append(level)
    with transaction.atomic():
        _keep_levels(fresh)
        _keep_one_offs(ground)
        _keep_classes(ground, rules, costs)
        _keep_proposals(proposals, ground, replace=propose)
    return len(fresh)


def _working(level: ItemLevel, item: Item, ground: Ground, forecast: Forecast | None) -> ReorderPoint:
    seen = ground.seen[item.pk]
    return reorder_point(
        demand=demand_of(ground.pasts[item.pk], seen, forecast),
        lead=lead_time(seen.deliveries, ground.promised(item.pk)),
        service_level=float(level.service_level),
        in_pieces=item.unit in COUNTED_UNITS,
    )


def _yearly(past: Past, forecast: Forecast | None) -> Decimal:
    yearly = past.yearly if forecast is None else forecast.weekly_mean * WEEKS_A_YEAR
    return yearly.quantize(Decimal("0.0001"))


def _fill(level: ItemLevel, found: ReorderPoint, today: date) -> None:
    level.daily_mean = Decimal(found.demand.mean).quantize(Decimal("0.000001"))
    level.daily_deviation = Decimal(found.demand.deviation).quantize(Decimal("0.000001"))
    level.days_seen = found.demand.days
    level.weeks_seen = found.demand.weeks
    level.method = found.demand.method
    level.is_counted = found.counted is not None
    level.lead_days = Decimal(found.lead.mean).quantize(Decimal("0.01"))
    level.lead_deviation_days = Decimal(found.lead.deviation).quantize(Decimal("0.01"))
    level.deliveries_seen = found.lead.deliveries
    level.worked_out_on = today


def _differs(in_force: Decimal, wanted: Decimal, share: Decimal) -> bool:
    return abs(wanted - in_force) > share * max(in_force, wanted)


def _proposal(level: ItemLevel, wanted: Decimal, today: date) -> LevelProposal:
    return LevelProposal(
        item_id=level.item_id,
        made_on=today,
        in_force=level.reorder_point,
        proposed=wanted,
        was_manual=level.is_manual,
    )


def _keep_levels(fresh: Sequence[ItemLevel]) -> None:
    """Written over by item in few statements: what a person entered beside the figures stays."""
    for level in fresh:
        level.pk = None
    ItemLevel.objects.bulk_create(
        fresh,
        update_conflicts=True,
        unique_fields=["item"],
        update_fields=_FIGURES,
        batch_size=_AT_ONCE,
    )


def _keep_one_offs(ground: Ground) -> None:
    """The one-offs found, but for those that a person decided on: these stay as they are while in the span."""
    DemandOneOff.objects.filter(is_put_back=False).delete()
    DemandOneOff.objects.bulk_create(
        [
            DemandOneOff(
                item_id=item_id,
                week=one.week,
                quantity=one.quantity,
                instead=one.instead,
                reason=one.reason[:200],
            )
            for item_id, past in ground.pasts.items()
            for one in past.aside
        ],
        ignore_conflicts=True,
        batch_size=_AT_ONCE,
    )


def _keep_classes(ground: Ground, rules: LevelRules, costs: Mapping[int, valuing.UnitCost]) -> None:
    yearly = {item_id: past.yearly for item_id, past in ground.pasts.items()}
    worth = {item_id: use * costs[item_id].cost for item_id, use in yearly.items()}
    classes = value_classes(worth, a_share=rules.a_share, b_share=rules.b_share)
    rows = []
    for item_id, found in classes.items():
        past = ground.pasts[item_id]
        steady = regularity(past.observed)
        rows.append(
            ItemClass(
                item_id=item_id,
                value_class=found.name,
                rank=found.rank,
                share=found.share.quantize(Decimal("0.000001")),
                yearly_use=yearly[item_id].quantize(Decimal("0.0001")),
                unit_cost=costs[item_id].cost.quantize(Decimal("0.0001")),
                cost_basis=costs[item_id].basis[:40],
                yearly_value=worth[item_id].quantize(Decimal("0.01")),
                regularity=steady.name,
                interval_weeks=Decimal(steady.interval).quantize(Decimal("0.001")),
                spread=Decimal(steady.spread).quantize(Decimal("0.0001")),
                weeks_seen=len(past.counted),
                computed_on=ground.today,
            )
        )
    ItemClass.objects.exclude(item__is_active=True, item__is_phantom=False).delete()
    ItemClass.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["item"],
        update_fields=_CLASS_FIGURES,
        batch_size=_AT_ONCE,
    )


def _keep_proposals(proposals: Sequence[LevelProposal], ground: Ground, *, replace: bool) -> None:
    """New proposals overtake those that wait; what a person kept lately is not proposed again unchanged."""
    if not replace:
        return
    state = LevelProposal.State
    still = {(one.item_id, one.in_force, one.proposed) for one in proposals}
    waiting = list(LevelProposal.objects.filter(state=state.WAITING))
    same = {one.item_id for one in waiting if (one.item_id, one.in_force, one.proposed) in still}
    overtaken = [one for one in waiting if one.item_id not in same]
    for one in overtaken:
        one.state = state.OVERTAKEN
    LevelProposal.objects.bulk_update(overtaken, ["state"], batch_size=_AT_ONCE)
    kept = set(LevelProposal.objects.filter(state=state.KEPT).values_list("item_id", "proposed"))
    LevelProposal.objects.bulk_create(
        [one for one in proposals if one.item_id not in same and (one.item_id, one.proposed) not in kept],
        batch_size=_AT_ONCE,
    )
