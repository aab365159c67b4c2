"""All patterns that a plan within a cost can use."""

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from production.cutting.bars.columns import Master
from production.cutting.bars.complete import columns_within
from production.cutting.bars.firstfit import first_fit
from production.cutting.bars.job import BarStock, Piece
from production.cutting.bars.plan import cut_bars
from production.cutting.bars.whole import Column, in_whole_numbers, next_cost

BARS = (BarStock("long", 20.0, None, 21.0), BarStock("short", 13.0, None, 14.0))
LISTS = st.dictionaries(st.integers(3, 13), st.integers(1, 3), min_size=1, max_size=4)


def job(lengths):
    return [Piece(f"L{length}", float(length), number) for length, number in lengths.items()]


def all_maximal(whole):
    """Every maximal pattern by trying all numbers."""
    found = set()
    for stock in whole.stocks:
        for numbers in itertools.product(*(range(kind.demand + 1) for kind in whole.kinds)):
            room = stock.capacity - sum(k.size * n for k, n in zip(whole.kinds, numbers, strict=True))
            more = any(k.size <= room and n < k.demand for k, n in zip(whole.kinds, numbers, strict=True))
            if room >= 0 and any(numbers) and not more:
                found.add(Column(stock.index, numbers))
    return found


def cheapest(whole, columns):
    """The least cost by dynamic programming over what is still wanted."""
    best = {whole.demands: 0}
    frontier = [whole.demands]
    while frontier:
        rest = min(frontier, key=best.get)
        frontier.remove(rest)
        if not any(rest):
            return best[rest]
        for column in columns:
            after = tuple(max(0, want - n) for want, n in zip(rest, column.numbers, strict=True))
            cost = best[rest] + whole.stocks[column.stock].cost
            if after != rest and cost < best.get(after, cost + 1):
                best[after] = cost
                frontier.append(after)
    raise AssertionError("no plan")


@given(LISTS)
@settings(max_examples=25, deadline=None)
def test_within_a_generous_cost_every_maximal_pattern_is_listed(lengths):
    whole = in_whole_numbers(job(lengths), BARS, 0.0, 0.0)
    master = Master(whole)
    master.add(first_fit(whole))

    relaxed = master.solve(whole.demands, lambda: True)
    found = columns_within(whole, relaxed, 10**7, lambda: True)

    assert set(found or ()) == all_maximal(whole)


@given(LISTS)
@settings(max_examples=25, deadline=None)
def test_plans_cost_what_trying_everything_costs(lengths):
    whole = in_whole_numbers(job(lengths), BARS, 0.0, 0.0)

    plan = cut_bars(job(lengths), BARS, kerf_mm=0.0, seconds=10.0)

    assert plan.proven
    assert round(plan.cost * 100) == cheapest(whole, all_maximal(whole))


@given(LISTS, st.integers(0, 14_000))
def test_the_next_possible_cost_is_one_that_bars_can_have_and_passes_none_over(lengths, least):
    whole = in_whole_numbers(job(lengths), BARS, 0.0, 0.0)
    total = sum(kind.size * kind.demand for kind in whole.kinds)
    one, other = whole.stocks
    possible = {
        a * one.cost + b * other.cost
        for a in range(20)
        for b in range(20)
        if a * one.capacity + b * other.capacity >= total
    }

    found = next_cost(whole, least)

    assert found >= least
    assert found == min(cost for cost in possible if cost >= least)
