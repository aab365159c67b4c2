"""Order quantities that weigh the cost of an order against the cost of keeping stock. Pure, on exact numbers.

Quantities are in the stock unit, money in the workshop's currency. Needs come by period (any whole count of days or
weeks, rising); the cost of keeping is for one unit over one period and is paid from one period to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

ZERO = Decimal(0)


class Need(NamedTuple):
    """So much is needed in a period."""

    period: int
    quantity: Decimal | int


class Batch(NamedTuple):
    """So much is brought in a period; it serves needs from that period on."""

    period: int
    quantity: Decimal | int


@dataclass(frozen=True)
class PriceBreak:
    """From so much on, a unit costs so much (all units of the order)."""

    least: Decimal
    price: Decimal


@dataclass(frozen=True)
class Candidate:
    """A quantity at one price: what a year costs with it, in goods, orders and keeping. None where it is no choice:
    the quantity that would be best at this price is past the price's range."""

    price: Decimal
    least: Decimal
    best: Decimal
    quantity: Decimal
    yearly_cost: Decimal | None


@dataclass(frozen=True)
class EconomicChoice:
    """The chosen quantity and price, what a year costs, and every price looked at."""

    quantity: Decimal
    price: Decimal
    yearly_cost: Decimal
    candidates: tuple[Candidate, ...]


def economic_quantity(*, yearly: Decimal, order_cost: Decimal, holding_cost: Decimal) -> Decimal:
    """Q = √(2·D·K/h): the order quantity whose yearly order and keeping costs are least.

    `holding_cost` is for one unit over a year. Harris (1913); worked examples in tests/outside/test_lotsizing.py.
    Nothing used or an order that costs nothing gives 0.

    Raises:
        ValueError: a figure below zero, or keeping costs nothing.
    """
    if yearly < 0 or order_cost < 0 or holding_cost <= 0:
        raise ValueError("Use and order cost cannot be below zero; keeping a unit must cost something.")
    return (2 * yearly * order_cost / holding_cost).sqrt()


def yearly_cost(
    quantity: Decimal, *, yearly: Decimal, order_cost: Decimal, holding_cost: Decimal, price: Decimal = ZERO
) -> Decimal:
    """D·c + D·K/Q + h·Q/2: goods, orders and keeping over a year for orders of `quantity` (above zero)."""
    return yearly * price + yearly * order_cost / quantity + holding_cost * quantity / 2


def economic_with_breaks(
    *, yearly: Decimal, order_cost: Decimal, holding_rate: Decimal, breaks: Sequence[PriceBreak]
) -> EconomicChoice:
    """The best quantity where larger orders are cheaper for all their units.

    At every price the economic quantity with h = rate × price, raised to the least quantity of that price; one that
    lies past the next break is no choice, because the next price is lower there. Of what remains the least yearly
    cost, at equal cost the smaller order. Textbook method (Snyder and Shen, Fundamentals of Supply Chain Theory,
    section 3.3).

    Raises:
        ValueError: no break, a price or rate not above zero, or nothing used.
    """
    rising = sorted(breaks, key=lambda one: one.least)
    if not rising or yearly <= 0 or holding_rate <= 0 or any(one.price <= 0 for one in rising):
        raise ValueError("Use, keeping rate and every price must be above zero, and there must be a price.")
    candidates = []
    for place, one in enumerate(rising):
        best = economic_quantity(yearly=yearly, order_cost=order_cost, holding_cost=holding_rate * one.price)
        quantity = max(best, one.least)
        until = rising[place + 1].least if place + 1 < len(rising) else None
        fits = quantity > 0 and (until is None or quantity < until)
        cost = (
            yearly_cost(
                quantity,
                yearly=yearly,
                order_cost=order_cost,
                holding_cost=holding_rate * one.price,
                price=one.price,
            )
            if fits
            else None
        )
        candidates.append(Candidate(one.price, one.least, best, quantity, cost))
    chosen = min(
        (one for one in candidates if one.yearly_cost is not None),
        key=lambda one: (one.yearly_cost, one.quantity),
        default=None,
    )
    if chosen is None or chosen.yearly_cost is None:
        raise ValueError("An order that costs nothing has no economic quantity; begin the breaks above zero.")
    return EconomicChoice(chosen.quantity, chosen.price, chosen.yearly_cost, tuple(candidates))


def lot_for_lot(needs: Sequence[Need]) -> list[Batch]:
    """As needed: a batch for every need."""
    return [Batch(*need) for need in _by_period(needs)]


def periods_of_supply(needs: Sequence[Need], periods: int) -> list[Batch]:
    """A batch for all that is needed within `periods` periods of the first need it serves."""
    batches: list[Batch] = []
    for period, quantity in _by_period(needs):
        if batches and period < batches[-1].period + periods:
            batches[-1] = Batch(batches[-1].period, batches[-1].quantity + quantity)
        else:
            batches.append(Batch(period, quantity))
    return batches


def fixed_quantity(needs: Sequence[Need], size: Decimal | int) -> list[Batch]:
    """Batches of whole multiples of `size` (above zero), each as late as can be."""
    if size <= 0:
        raise ValueError("A fixed quantity must be above zero.")
    spare: Decimal | int = 0
    batches = []
    for period, quantity in _by_period(needs):
        short = quantity - spare
        if short > 0:
            whole, rest = divmod(short, size)
            count = whole + (1 if rest else 0)
            batches.append(Batch(period, count * size))
            spare += count * size
        spare -= quantity
    return batches


def silver_meal(
    needs: Sequence[Need], *, order_cost: Decimal | int, holding_cost: Decimal | int
) -> list[Batch]:
    """Silver and Meal's rule: a batch takes in need after need while the cost per period covered does not rise.

    The cost of a batch is one order and the keeping of each need from the batch's period to its own; periods
    without need between two needs are covered at no cost. Silver and Meal (1973); worked example in
    tests/outside/test_lotsizing.py. Near the best plan, and unlike it not upset by needs far away.
    """
    batches: list[Batch] = []
    cost: Decimal | int = 0
    for period, quantity in _by_period(needs):
        if batches:
            start = batches[-1].period
            grown = cost + holding_cost * (period - start) * quantity
            # cost per period up to the period before this need, against that with this need
            if grown * (period - start) <= cost * (period - start + 1):
                batches[-1] = Batch(start, batches[-1].quantity + quantity)
                cost = grown
                continue
        batches.append(Batch(period, quantity))
        cost = order_cost
    return batches


def wagner_whitin(
    needs: Sequence[Need], *, order_cost: Decimal | int, holding_cost: Decimal | int
) -> list[Batch]:
    """The plan whose orders and keeping together cost least, for needs that are known.

    Best plans bring whole runs of needs (Wagner and Whitin, Dynamic version of the economic lot size model,
    Management Science 5 (1958)); the least cost up to each need is found from that of the ones before. Of equal
    plans the one whose last batch begins latest.
    """
    rows = _by_period(needs)
    best: list[Decimal | int] = [0]
    begins: list[int] = []
    for last in range(len(rows)):
        keeping: Decimal | int = 0
        after: Decimal | int = 0
        found: tuple[Decimal | int, int] | None = None
        for first in range(last, -1, -1):
            if first < last:
                after += rows[first + 1].quantity
                keeping += holding_cost * (rows[first + 1].period - rows[first].period) * after
            cost = best[first] + order_cost + keeping
            if found is None or cost < found[0]:
                found = (cost, first)
        assert found is not None
        best.append(found[0])
        begins.append(found[1])
    return _batches(rows, begins)


def plan_cost(
    batches: Sequence[Batch],
    needs: Sequence[Need],
    *,
    order_cost: Decimal | int,
    holding_cost: Decimal | int,
) -> Decimal | int:
    """What a plan costs: an order for each batch, and what is left over kept from each event to the next.

    What is left after the last need is not counted.

    Raises:
        ValueError: a need comes before what serves it.
    """
    rows = _by_period(needs)
    stock: Decimal | int = 0
    cost: Decimal | int = order_cost * len(batches)
    events = sorted(
        [(one.period, 0, one.quantity) for one in batches] + [(one[0], 1, -one[1]) for one in rows]
    )
    last = rows[-1].period if rows else 0
    before = events[0][0] if events else 0
    for period, _, change in events:
        if period <= last:
            cost += holding_cost * (period - before) * stock
        stock += change
        before = period
        if stock < 0:
            raise ValueError(f"Nothing is left in period {period}.")
    return cost


def in_packs(quantity: Decimal, pack: Decimal) -> Decimal:
    """Up to whole packs; a pack of nothing leaves it as it is."""
    return (quantity / pack).to_integral_value(ROUND_CEILING) * pack if pack > 0 else quantity


def _by_period(needs: Sequence[Need]) -> list[Need]:
    """Needs above zero in order, those of one period put together."""
    rows: list[Need] = []
    for period, quantity in sorted(needs):
        if quantity < 0:
            raise ValueError("A need cannot be below zero.")
        if rows and rows[-1].period == period:
            rows[-1] = Need(period, rows[-1].quantity + quantity)
        elif quantity:
            rows.append(Need(period, quantity))
    return rows


def _batches(rows: Sequence[Need], begins: Sequence[int]) -> list[Batch]:
    batches: list[Batch] = []
    end = len(rows)
    while end:
        first = begins[end - 1]
        total: Decimal | int = 0
        for row in rows[first:end]:
            total += row.quantity
        batches.append(Batch(rows[first].period, total))
        end = first
    return batches[::-1]
