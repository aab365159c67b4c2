"""Total requirements of a large book against plain recursion, one order's tree, and roll-ups of many items.

    python -m tests.benchmarks.bench_roll_ups [orders]

Every answer is compared with the recursion's before its time is printed.
"""

import sys
from collections import defaultdict
from decimal import Decimal
from random import Random
from time import perf_counter

import numpy as np

from bom.costing.costs import Price, Prices, Rate, costs_of_all
from bom.costing.masses import Facts, masses_of_all, surfaces_of_all
from bom.costing.requirements import BookLines, Requirements
from bom.structure.expansion import Edge, tree_from_edges

SUBS, LEAVES, TOP_LINES = 40, 120, 70
QUANTITIES = [Decimal(text) for text in ("1", "2", "4", "8", "0.75", "1.5", "3.9", "0.001534")]
WHOLE = 4
"""So many of them are whole: assemblies are counted, leaves are also metres and shares of a sheet."""


def base_bill(random: Random) -> list[tuple[int, int]]:
    """Parent and component of about 280 lines: item 0 the trailer, then assemblies, then leaves; four levels."""
    first_leaf = 1 + SUBS
    lines = {(0, part) for part in range(1, 1 + SUBS // 2)}
    lines |= {(0, part) for part in random.sample(range(first_leaf, first_leaf + LEAVES), TOP_LINES)}
    for sub in range(1, first_leaf):
        deeper = range(max(sub + 1, 1 + SUBS // 2), first_leaf) if sub <= SUBS // 2 else range(0)
        lines |= {(sub, part) for part in random.sample(list(deeper), min(2, len(deeper)))}
        lines |= {(sub, random.randrange(first_leaf, first_leaf + LEAVES)) for _ in range(4)}
    return sorted(lines)


def configured(orders: int, random: Random):
    """A book in which every order leaves lines out and changes quantities, as columns and as dictionaries."""
    base, size = base_bill(random), 1 + SUBS + LEAVES
    columns: list[list[int]] = [[], [], [], []]
    bills: list[dict[int, list[tuple[int, Decimal]]]] = []
    shared = {(part, which): (part, one) for part in range(size) for which, one in enumerate(QUANTITIES)}
    whole = [int(one.scaleb(6)) for one in QUANTITIES]
    choices = {line: len(QUANTITIES) if line[1] > SUBS else WHOLE for line in base}
    usual = {line: random.randrange(choices[line]) for line in base}
    for number in range(orders):
        bill: dict[int, list[tuple[int, Decimal]]] = defaultdict(list)
        for line in base:
            if random.random() < 0.08:
                continue
            which = random.randrange(choices[line]) if random.random() < 0.05 else usual[line]
            bill[line[0]].append(shared[line[1], which])
            for column, value in zip(columns, (number, *line, whole[which]), strict=True):
                column.append(value)
        bills.append(bill)
    arrays = [np.array(column, dtype=np.int64) for column in columns]
    lines = BookLines([f"I{at}" for at in range(size)], *arrays, np.zeros(orders, dtype=np.int64))
    return lines, bills


def recursion(bills, counts) -> dict[int, Decimal]:
    """Order by order, each line multiplied down: what a person would write first."""
    totals: dict[int, Decimal] = defaultdict(Decimal)

    def add(bill, item, quantity):
        totals[item] += quantity
        for part, per in bill.get(item, ()):
            add(bill, part, quantity * per)

    for bill, count in zip(bills, counts, strict=True):
        add(bill, 0, Decimal(int(count)))
    return dict(totals)


def timed(work, repeats=1):
    """The result, and the best of some runs in seconds."""
    best = float("inf")
    for _ in range(repeats):
        begin = perf_counter()
        result = work()
        best = min(best, perf_counter() - begin)
    return result, best


def bench_requirements(orders: int) -> None:
    lines, bills = configured(orders, Random(1))
    # An order is one trailer, as in the book; the answer is the same for any other number.
    counts = np.ones(orders, dtype=np.int64)
    plain, slow = timed(lambda: recursion(bills, counts))
    prepared, preparing = timed(lambda: Requirements(lines))
    found, fast = timed(lambda: prepared.totals(counts), repeats=7)
    assert found == {f"I{item}": total for item, total in plain.items()}, "not the totals of plain recursion"
    matrices = [*(matrix for _, _, matrix in prepared.products), prepared.last]
    vectors = [np.ones(matrix.shape[1], dtype=np.int64) for matrix in matrices]

    def bare():
        return [matrix @ vector for matrix, vector in zip(matrices, vectors, strict=True)]

    _, product = timed(bare, repeats=7)
    print(f"total requirements of {orders} configured orders, {len(lines.bill) / orders:.0f} lines each")
    print(f"  plain recursion, Decimal, order by order   {slow * 1000:10.1f} ms")
    print(f"  prepared once (sorting, matrices)          {preparing * 1000:10.1f} ms")
    print(
        f"  whole book at once, exactly equal          {fast * 1000:10.1f} ms   {slow / fast:6.0f} times faster"
    )
    print(f"  with the preparing                         {(fast + preparing) * 1000:10.1f} ms   "
          f"{slow / (fast + preparing):6.1f} times faster")  # fmt: skip
    print(
        f"  of it bare SciPy sparse products           {product * 1000:10.1f} ms   {product / fast:6.0%} of it"
    )


def bench_tree() -> None:
    random = Random(2)
    _, bills = configured(1, random)
    edges = [
        Edge(f"I{parent}", f"I{part}", at, quantity, "A")
        for parent, parts in bills[0].items()
        for at, (part, quantity) in enumerate(parts)
    ]

    def count(node):
        return 1 + sum(count(child) for child in node.children)

    root, seconds = timed(lambda: tree_from_edges("I0", edges), repeats=7)
    print(f"one order's tree: {len(edges)} lines, {count(root)} places   {seconds * 1000:10.2f} ms")


def bench_roll_ups(items: int = 100_000) -> None:
    random = Random(3)
    codes = [f"I{at}" for at in range(items)]
    edges = [
        Edge(codes[at], codes[random.randrange(at + 1, at + 5000)], place, random.choice(QUANTITIES), "A")
        for at in range(items * 6 // 10)
        for place in range(3)
    ]  # fmt: skip
    totals = dict.fromkeys(codes, Decimal(1))
    facts = {code: Facts(Decimal("1.25"), Decimal("0.03"), Decimal(3)) for code in codes}
    own = {code: one.mass_kg for code, one in facts.items()}
    prices = Prices(dict.fromkeys(codes, Price(Decimal("2.5"))), {"weld": Rate(Decimal(26), Decimal(16))})

    class Work:
        process, setup_minutes, run_minutes = "weld", Decimal(2), Decimal(5)

    work = dict.fromkeys(codes, (Work(),))
    print(f"roll-ups of {items} items with {len(edges)} lines")
    _, seconds = timed(lambda: masses_of_all(totals, edges, own, ()))
    print(f"  mass                                       {seconds:10.2f} s")
    _, seconds = timed(lambda: surfaces_of_all(totals, edges, facts))
    print(f"  surface and zinc                           {seconds:10.2f} s")
    _, seconds = timed(lambda: costs_of_all(totals, edges, facts, work, prices, {}))
    print(f"  cost by kind, with its working             {seconds:10.2f} s")


if __name__ == "__main__":
    bench_requirements(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
    bench_tree()
    bench_roll_ups()
