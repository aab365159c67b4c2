"""How long the netting takes: `python -m tests.benchmarks.bench_netting [orders …]`; `buckets` for the tables alone.

A random order book with a fixed seed: 40 different bills of about 250 lines on four levels, one trailer an order,
stock for some of it, receipts for a third of the bought items. A line is a need of one order for one item.

In tables: 100,000 items on five levels over 52 weeks with lots of every rule, scrap and lines that change by date,
against copying the tables it reads and writes; then single orders changed, netted again alone.
"""

from __future__ import annotations

import random
import sys
import time
from decimal import Decimal

import numpy as np

from production.planning.netting.buckets import BucketPlan, Supply, net_buckets, replan
from production.planning.netting.data import Bills, Components, Demand, ItemRule, LotRule, Receipt, Stock
from production.planning.netting.net import net_requirements
from production.planning.netting.structure import ALWAYS, Array, Line, Structure, structure_of

LEVELS = {"assembly": 12, "weld": 30, "cut": 90}
BOUGHT = [f"bought{number}" for number in range(400)]
DIGESTS = 40


def bill(draw: random.Random, model: str) -> Components:
    """A trailer of assemblies of weldments of cut parts, with bought parts on every level."""
    edges: dict[str, tuple[tuple[str, Decimal], ...]] = {}
    parents = [model]
    for level, count in LEVELS.items():
        children = [f"{level}{number}" for number in draw.sample(range(count * 2), count)]
        for index, parent in enumerate(parents):
            own = children[index :: len(parents)] + draw.sample(BOUGHT, 2)
            edges[parent] = tuple((child, Decimal(draw.randint(1, 6))) for child in own)
        parents = children
    for parent in parents:
        edges[parent] = ((draw.choice(BOUGHT[:20]), Decimal(draw.randint(1, 900)) / 1000),)
    return edges


def book(orders: int, seed: int = 1) -> tuple[list[Demand], Bills, list[ItemRule], Stock, list[Receipt]]:
    draw = random.Random(seed)
    models = [f"trailer{number}" for number in range(DIGESTS)]
    edges = {model: bill(draw, model) for model in models}
    chosen = [models[draw.randrange(DIGESTS)] for _ in range(orders)]
    days = max(60, orders // 4)
    demands = [Demand(f"O{n}", model, Decimal(1), draw.randint(20, days)) for n, model in enumerate(chosen)]
    bills = Bills({f"O{n}": model for n, model in enumerate(chosen)}, edges, {})
    made = [item for one in edges.values() for item in one]
    rules = [ItemRule(item, True, draw.randint(1, 3)) for item in dict.fromkeys(made)]
    for item in BOUGHT:
        rule = draw.choice([LotRule.AS_NEEDED, LotRule.MULTIPLE, LotRule.PERIODS])
        rules.append(ItemRule(item, False, draw.randint(2, 40), rule, Decimal(10)))
    stock = Stock({item: Decimal(draw.randint(0, 100)) for item in BOUGHT})
    receipts = [
        Receipt(item, Decimal(draw.randint(10, 100)), draw.randint(1, 60), f"PO-{item}")
        for item in BOUGHT[::3]
    ]
    return demands, bills, rules, stock, receipts


ITEMS, WEEKS, CHANGES = 100_000, 52, 20
ROOTS = 2_000
"""Trailers, each of them a bill of its own above shared assemblies."""
RULES = (
    LotRule.AS_NEEDED,
    LotRule.AS_NEEDED,
    LotRule.MULTIPLE,
    LotRule.FIXED,
    LotRule.MINIMUM,
    LotRule.PERIODS,
)


def works(seed: int = 1) -> tuple[Structure, Supply, Array]:
    """Items on five levels with about 170,000 lines, one in fifty of which changes half-way."""
    draw = random.Random(seed)
    edges = [0, ROOTS, 12_000, 35_000, 65_000, ITEMS]
    rules = []
    for number in range(ITEMS):
        rule = draw.choice(RULES) if number >= ROOTS else LotRule.AS_NEEDED
        size = Decimal(draw.randint(2, 6) if rule == LotRule.PERIODS else draw.choice((5, 10, 25, 100)))
        scrap = Decimal("0.02") if draw.random() < 0.1 else Decimal(0)
        safety = Decimal(draw.choice((0, 0, 0, 5)))
        rules.append(ItemRule(str(number), True, draw.randint(0, 6), rule, size, safety, scrap))
    lines = []
    for level in range(1, 5):
        for number in range(edges[level], edges[level + 1]):
            for parent in {
                draw.randrange(edges[level - 1], edges[level]) for _ in range(draw.choice((1, 1, 2, 3)))
            }:
                per = Decimal(draw.choice((1, 1, 2, 4, 8))) if draw.random() < 0.9 else Decimal("0.125")
                until = WEEKS // 2 if draw.random() < 0.02 else ALWAYS
                lines.append(Line(str(parent), str(number), per, 0, until))
                if until != ALWAYS:
                    lines.append(Line(str(parent), str(number), per + 1, until))
    structure = structure_of(rules, lines)
    numbers = np.random.default_rng(seed)
    demand = np.zeros((ITEMS, WEEKS))
    roots = [structure.rows[str(number)] for number in range(ROOTS)]
    demand[roots] = numbers.integers(0, 2, (ROOTS, WEEKS)) * 1000.0
    receipts = np.where(numbers.random((ITEMS, WEEKS)) < 0.01, 20_000.0, 0.0)
    on_hand = numbers.integers(0, 30, ITEMS) * 1000.0
    return structure, Supply(on_hand, receipts), demand


def copying(plan: BucketPlan) -> float:
    """Seconds that copying the tables takes, the best of five."""
    tables = (plan.demand, plan.supply.receipts, plan.gross, plan.planned, plan.released, plan.balance)
    others = [np.empty_like(table) for table in tables]
    best = float("inf")
    for _ in range(5):
        begun = time.perf_counter()
        for table, other in zip(tables, others, strict=True):
            np.copyto(other, table)
        best = min(best, time.perf_counter() - begun)
    return best


def in_tables() -> None:
    structure, supply, demand = works()
    seconds = []
    for _ in range(5):
        begun = time.perf_counter()
        plan = net_buckets(structure, supply, demand.copy())
        seconds.append(time.perf_counter() - begun)
    whole, floor = min(seconds), copying(plan)
    lines = sum(span.by_component.nnz for span in structure.spans)
    print(
        f"{ITEMS} items × {WEEKS} weeks, {lines} lines: {whole * 1000:.0f} ms (median {sorted(seconds)[2] * 1000:.0f});"
    )
    print(f"copying its six tables {floor * 1000:.1f} ms: {whole / floor:.1f} times")
    draw, times, counts = random.Random(2), [], []
    for _ in range(CHANGES):
        row = structure.rows[str(draw.randrange(ROOTS))]
        wanted = plan.demand[[row]]
        wanted[0, draw.randrange(WEEKS)] += 1000.0
        begun = time.perf_counter()
        counts.append(len(replan(plan, np.array([row]), wanted)))
        times.append(time.perf_counter() - begun)
    again = net_buckets(structure, supply, plan.demand)
    equal = all(
        np.array_equal(getattr(plan, name), getattr(again, name))
        for name in ("gross", "planned", "released", "balance")
    )
    one = sorted(times)[CHANGES // 2]
    print(
        f"one changed order: {one * 1000:.2f} ms for {sorted(counts)[CHANGES // 2]} items (medians of {CHANGES}),"
        f" {whole / one:.0f} times faster than the full run; equal to it: {'yes' if equal else 'NO'}"
    )


def main() -> None:
    words = sys.argv[1:]
    in_tables()
    if words == ["buckets"]:
        return
    print(f"{'orders':>7} {'lines':>9} {'pegs':>9} {'supplies':>9} {'shortages':>9} {'seconds':>8}")
    for orders in [int(word) for word in words] or [60, 600]:
        inputs = book(orders)
        begun = time.perf_counter()
        plan = net_requirements(*inputs, today=0)
        seconds = time.perf_counter() - begun
        lines = len({(peg.order, peg.item, peg.parent, peg.needed_day) for peg in plan.pegs})
        print(
            f"{orders:>7} {lines:>9} {len(plan.pegs):>9} {len(plan.supplies):>9}"
            f" {len(plan.shortages):>9} {seconds:>8.2f}"
        )


if __name__ == "__main__":
    main()
