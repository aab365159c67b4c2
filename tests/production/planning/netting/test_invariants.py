"""What must hold for any order book."""

from collections import Counter
from decimal import Decimal

import pytest

from production.planning.netting.data import SupplyKind
from production.planning.netting.net import net_requirements

from .shop import random_book

SEEDS = range(40)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_demand_is_covered_exactly(seed):
    demands, bills, rules, stock, receipts = random_book(seed)
    phantoms = {rule.item for rule in rules if rule.phantom}
    plan = net_requirements(demands, bills, rules, stock, receipts, today=0)

    wanted = Counter()
    for demand in demands:
        wanted[demand.order, demand.item] += demand.quantity
    given = Counter()
    for peg in plan.pegs:
        if not peg.parent:
            given[peg.order, peg.item] += peg.quantity
    for key, quantity in wanted.items():
        if key[1] not in phantoms:
            assert given[key] >= quantity, key
    alone = {key: quantity for key, quantity in wanted.items() if not phantoms}
    assert {key: given[key] for key in alone} == alone


@pytest.mark.parametrize("seed", SEEDS)
def test_no_source_gives_more_than_it_holds(seed):
    demands, bills, rules, stock, receipts = random_book(seed)
    plan = net_requirements(demands, bills, rules, stock, receipts, today=0)

    taken = Counter()
    for peg in plan.pegs:
        taken[peg.kind, peg.item, peg.reference] += peg.quantity
    held = Counter({(SupplyKind.RECEIPT, row.item, row.reference): row.quantity for row in receipts})
    held.update({(SupplyKind.PLANNED, row.item, str(row.number)): row.good for row in plan.supplies})
    for item in {rule.item for rule in rules}:
        held[SupplyKind.STOCK, item, ""] = plan.on_hand.get(item, Decimal(0))
    assert {key: quantity for key, quantity in taken.items() if quantity > held[key]} == {}


@pytest.mark.parametrize("seed", SEEDS)
def test_no_balance_falls_below_zero_when_the_plan_is_followed(seed):
    demands, bills, rules, stock, receipts = random_book(seed)
    plan = net_requirements(demands, bills, rules, stock, receipts, today=0)

    for rule in rules:
        assert min(line.balance for line in plan.projected_balance(rule.item)) >= 0, rule.item


@pytest.mark.parametrize("seed", SEEDS)
def test_without_stock_and_lots_the_totals_are_those_of_the_full_explosion(seed):
    demands, bills, rules, stock, receipts = random_book(seed, stocked=False, lots=False)
    plan = net_requirements(demands, bills, rules, stock, receipts, today=0)

    totals = Counter()

    def explode(order, item, quantity):
        totals[order, item] += quantity
        for child, per in bills.edges[bills.digests[order]].get(item, ()):
            explode(order, child, quantity * per)

    for demand in demands:
        explode(demand.order, demand.item, demand.quantity)
    pegged = Counter()
    for peg in plan.pegs:
        pegged[peg.order, peg.item] += peg.quantity
    assert pegged == totals


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_is_ready_before_its_components_and_its_lead_time(seed):
    demands, bills, rules, stock, receipts = random_book(seed)
    lead_days = {rule.item: rule.lead_days for rule in rules}
    plan = net_requirements(demands, bills, rules, stock, receipts, today=0)

    ready = {row.number: row.ready_day for row in plan.supplies}
    assert all(row.ready_day >= row.due_day >= row.release_day + 0 >= 0 for row in plan.supplies)
    made = {(peg.order, peg.item): [] for peg in plan.pegs}
    for peg in plan.pegs:
        if peg.kind == SupplyKind.PLANNED:
            made[peg.order, peg.item].append(peg.available_day)
            assert peg.available_day <= ready[int(peg.reference)]
    for peg in plan.pegs:
        waiting = made.get((peg.order, peg.parent), [])
        if waiting and peg.order:
            assert max(waiting) >= peg.available_day + lead_days[peg.parent]


def test_equal_input_gives_an_equal_plan():
    book = random_book(7)

    assert net_requirements(*book, today=0) == net_requirements(*book, today=0)
