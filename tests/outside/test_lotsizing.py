"""Order quantities against stockpyl, published worked examples and every plan there is.

stockpyl's bundled instances follow Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd edition (Wiley, 2019).
"""

from decimal import Decimal
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stockpyl.eoq import economic_order_quantity, economic_order_quantity_with_all_units_discounts
from stockpyl.instances import load_instance
from stockpyl.wagner_whitin import wagner_whitin as theirs

from inventory.levels.lotsizing import (
    Batch,
    Need,
    PriceBreak,
    economic_quantity,
    economic_with_breaks,
    fixed_quantity,
    lot_for_lot,
    periods_of_supply,
    plan_cost,
    silver_meal,
    wagner_whitin,
    yearly_cost,
)


def needs(*quantities):
    return [Need(period, quantity) for period, quantity in enumerate(quantities, 1)]


def exact(value):
    return Decimal(str(value))


@pytest.mark.parametrize("name", ["example_3_1", "problem_3_1"])
def test_the_economic_quantity(name):
    figures = load_instance(name)
    quantity, cost = economic_order_quantity(**figures)
    exactly = {
        "yearly": exact(figures["demand_rate"]),
        "order_cost": exact(figures["fixed_cost"]),
        "holding_cost": exact(figures["holding_cost"]),
    }
    ours = economic_quantity(**exactly)

    assert float(ours) == pytest.approx(quantity, rel=1e-12)
    assert float(yearly_cost(ours, **exactly)) == pytest.approx(cost, rel=1e-12)


def test_the_economic_quantity_with_price_breaks():
    """Snyder and Shen, example 3.5: breaks at 0, 400, 800; prices 0.75, 0.72, 0.68; rate 0.3, order 8, 1300 a year."""
    figures = load_instance("example_3_5")
    quantity, region, cost = economic_order_quantity_with_all_units_discounts(**figures)
    breaks = [
        PriceBreak(exact(least), exact(price))
        for least, price in zip(figures["breakpoints"], figures["unit_costs"], strict=True)
    ]
    ours = economic_with_breaks(
        yearly=exact(figures["demand_rate"]),
        order_cost=exact(figures["fixed_cost"]),
        holding_rate=exact(figures["holding_cost_rate"]),
        breaks=breaks,
    )

    assert (ours.quantity, ours.price) == (quantity, breaks[region].price) == (800, exact("0.68"))
    assert float(ours.yearly_cost) == pytest.approx(cost) == pytest.approx(978.60)


@settings(max_examples=40)
@given(
    yearly=st.integers(10, 5000),
    order_cost=st.integers(1, 200),
    steps=st.lists(st.tuples(st.integers(10, 900), st.integers(1, 15)), max_size=3, unique_by=lambda x: x[0]),
)
def test_price_breaks_against_stockpyl(yearly, order_cost, steps):
    price, breaks = 100, [(0, 100)]
    for least, cheaper in sorted(steps):
        price -= cheaper
        breaks.append((least, price))
    theirs_found = economic_order_quantity_with_all_units_discounts(
        order_cost, 0.25, yearly, [least for least, _ in breaks], [price for _, price in breaks]
    )
    ours = economic_with_breaks(
        yearly=Decimal(yearly),
        order_cost=Decimal(order_cost),
        holding_rate=Decimal("0.25"),
        breaks=[PriceBreak(Decimal(least), Decimal(price)) for least, price in breaks],
    )

    assert float(ours.yearly_cost) == pytest.approx(theirs_found[2])


WAGNER_WHITIN = [
    # Snyder and Shen, example 3.9.
    pytest.param((90, 120, 80, 70), 500, 2, 1380, [(1, 210), (3, 150)], id="Snyder and Shen 3.9"),
    # Example of the kind of Nahmias: solutioninn.com, "3.2 The Silver-Meal heuristic"; plan by stockpyl.
    pytest.param((18, 30, 42, 5, 20), 80, 2, 310, [(1, 48), (3, 47), (5, 20)], id="textbook of five periods"),
    # http://edshare.soton.ac.uk/id/document/4121
    pytest.param((40, 20, 10, 30, 20), 100, 2, 320, [(1, 70), (4, 50)], id="Southampton"),
    pytest.param((40, 20, 10, 30, 60), 100, 2, 380, [(1, 70), (4, 30), (5, 60)], id="Southampton, last 60"),
    # Inputs seen in a stored text (price 50 × 0.02), result computed.
    pytest.param((75, 3, 33, 28, 10), 100, 1, 251, [(1, 78), (3, 71)], id="a price of 50 at 2 %"),
]


@pytest.mark.parametrize(("quantities", "order", "keep", "cost", "batches"), WAGNER_WHITIN)
def test_the_best_plan(quantities, order, keep, cost, batches):
    rows = needs(*quantities)
    ours = wagner_whitin(rows, order_cost=order, holding_cost=keep)
    _, their_cost, _, _ = theirs(len(quantities), keep, order, list(quantities))

    assert plan_cost(ours, rows, order_cost=order, holding_cost=keep) == cost == their_cost
    assert [tuple(batch) for batch in ours] == batches


def test_silver_and_meal():
    """The example of five periods (solutioninn.com, "3.2 The Silver-Meal heuristic"): averages 80, 70, 102.67; then
    80, 45, 56.67; batches of 48, 47 and 20."""
    rows = needs(18, 30, 42, 5, 20)
    found = silver_meal(rows, order_cost=80, holding_cost=2)

    assert found == [Batch(1, 48), Batch(3, 47), Batch(5, 20)]
    assert plan_cost(found, rows, order_cost=80, holding_cost=2) == 310


def test_silver_and_meal_is_not_always_best():
    """Snyder and Shen, example 3.9: Silver and Meal brings 290 and 70 for 1560, the best plan costs 1380."""
    rows = needs(90, 120, 80, 70)
    found = silver_meal(rows, order_cost=500, holding_cost=2)

    assert found == [Batch(1, 290), Batch(4, 70)]
    assert plan_cost(found, rows, order_cost=500, holding_cost=2) == 1560


quantities = st.lists(st.integers(0, 60), min_size=1, max_size=8).filter(any)
costs = {"order": st.integers(0, 200), "keep": st.integers(1, 5)}


@settings(max_examples=60)
@given(quantities=quantities, **costs)
def test_the_best_plan_is_the_best_of_all_plans(quantities, order, keep):
    rows = [row for row in needs(*quantities) if row.quantity]
    ours = wagner_whitin(rows, order_cost=order, holding_cost=keep)
    cheapest = min(
        plan_cost(_runs(rows, cuts), rows, order_cost=order, holding_cost=keep)
        for count in range(len(rows))
        for cuts in combinations(range(1, len(rows)), count)
    )

    assert plan_cost(ours, rows, order_cost=order, holding_cost=keep) == cheapest
    assert sum(batch.quantity for batch in ours) == sum(quantities)


def _runs(rows, cuts):
    """The plan that begins a batch at the first need and at each cut."""
    edges = [0, *cuts, len(rows)]
    return [
        Batch(rows[first].period, sum(row.quantity for row in rows[first:end]))
        for first, end in pairwise(edges)
    ]


@settings(max_examples=60)
@given(quantities=st.lists(st.integers(0, 60), min_size=1, max_size=30).filter(any), **costs)
def test_no_rule_costs_less_than_the_best_plan(quantities, order, keep):
    rows = needs(*quantities)
    best = plan_cost(
        wagner_whitin(rows, order_cost=order, holding_cost=keep), rows, order_cost=order, holding_cost=keep
    )
    others = [
        lot_for_lot(rows),
        periods_of_supply(rows, 3),
        fixed_quantity(rows, 25),
        silver_meal(rows, order_cost=order, holding_cost=keep),
    ]

    for other in others:
        assert best <= plan_cost(other, rows, order_cost=order, holding_cost=keep)


@settings(max_examples=20)
@given(quantities=st.lists(st.integers(0, 60), min_size=1, max_size=12).filter(any), **costs)
def test_the_best_plan_against_stockpyl(quantities, order, keep):
    rows = needs(*quantities)
    _, cost, _, _ = theirs(len(quantities), keep, order, list(quantities))
    ours = wagner_whitin(rows, order_cost=order, holding_cost=keep)
    # stockpyl pays for an order even in a first period in which nothing is needed.
    assert plan_cost(ours, rows, order_cost=order, holding_cost=keep) == cost or not quantities[0]
