"""How much of an item to order at once, by its lot rule: every rule worked out, with the numbers put in. Pure.

Quantities are in the stock unit. What a year uses comes from the working of the level; the coming weeks are taken
as alike where no forecast says otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from inventory.levels.lotsizing import (
    Batch,
    EconomicChoice,
    Need,
    PriceBreak,
    economic_with_breaks,
    in_packs,
    silver_meal,
    wagner_whitin,
)

WEEKS_A_YEAR = 52
WEEKS_AHEAD = 26
"""So far ahead needs are weighed. House rule: half a year."""

_PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Costs:
    """What an order costs, what keeping costs (share of the value in a year), and what a unit costs from how many."""

    order_cost: Decimal
    holding_rate: Decimal
    breaks: tuple[PriceBreak, ...]

    @property
    def price(self) -> Decimal:
        return self.breaks[0].price if self.breaks else Decimal(0)

    @property
    def holding_cost_a_year(self) -> Decimal:
        """Keeping one unit for a year, at the first price."""
        return self.price * self.holding_rate

    @property
    def holding_cost_a_week(self) -> Decimal:
        return self.holding_cost_a_year / WEEKS_A_YEAR

    @property
    def holding_cost_a_day(self) -> Decimal:
        """Keeping one unit for a day of the calendar."""
        return self.holding_cost_a_year / 365

    @property
    def can_be_weighed(self) -> bool:
        return self.price > 0 and self.holding_rate > 0 and self.order_cost > 0


@dataclass(frozen=True)
class Quantities:
    """The quantities that weigh costs: economic with all its prices, and the plans of the two rules for dated needs.

    Each is worked out when it is first asked for, because thousands of items are asked for one rule only.
    """

    weekly: Decimal
    weeks: tuple[Decimal, ...]
    costs: Costs
    pack: Decimal

    @property
    def yearly(self) -> Decimal:
        return self.weekly * WEEKS_A_YEAR

    @cached_property
    def economic(self) -> EconomicChoice:
        """The quantity at which a year of orders and keeping costs least, with every price looked at."""
        return economic_with_breaks(
            yearly=self.yearly,
            order_cost=self.costs.order_cost,
            holding_rate=self.costs.holding_rate,
            breaks=self.costs.breaks,
        )

    @cached_property
    def average(self) -> tuple[Batch, ...]:
        """The batches of least average cost a week."""
        return tuple(silver_meal(self._needs, **self._each))

    @cached_property
    def total(self) -> tuple[Batch, ...]:
        """The batches of least total cost."""
        return tuple(wagner_whitin(self._needs, **self._each))

    def of(self, rule: str) -> Decimal:
        """The quantity a rule leads to, up to whole packs; nothing for rules that do not weigh costs."""
        if rule == "economic":
            raw = self.economic.quantity
        elif rule == "least_average":
            raw = Decimal(self.average[0].quantity)
        elif rule == "least_total":
            raw = Decimal(self.total[0].quantity)
        else:
            return Decimal(0)
        return in_packs(raw.quantize(_PLACES), self.pack)

    @property
    def _needs(self) -> list[Need]:
        return [Need(number, used) for number, used in enumerate(self.weeks) if used > 0]

    @property
    def _each(self) -> dict[str, Decimal]:
        return {"order_cost": self.costs.order_cost, "holding_cost": self.costs.holding_cost_a_week}


def weigh(
    *, weekly: Decimal, costs: Costs, pack: Decimal, ahead: Sequence[Decimal] = ()
) -> Quantities | None:
    """Weigh orders against keeping; none where nothing is used or a cost is not known.

    `ahead` is the forecast of the coming weeks; after it, and without it, each week uses `weekly`.
    """
    if weekly <= 0 or not costs.can_be_weighed:
        return None
    weeks = (*ahead[:WEEKS_AHEAD], *[weekly] * max(0, WEEKS_AHEAD - len(ahead)))
    return Quantities(weekly, weeks, costs, pack) if any(weeks) else None
