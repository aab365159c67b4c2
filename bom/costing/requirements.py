"""Total requirements of a whole order book at once, exactly: bills as sparse matrices, quantities as whole numbers.

For background work only: it imports NumPy and SciPy, which the web process does not load.

What is made of something in a bill is a node of that bill; nodes are put in low-level order, and the quantities of one
level follow from all levels above it by one sparse product. What is made of nothing further needs no node: one last
product adds its quantities up over all bills. An item's quantities are kept as whole numbers of 10^-e of its unit,
with the smallest e that holds every product of quantities on the way down to it, so that nothing is ever rounded.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import numpy as np
from scipy import sparse

from bom.structure.expansion import low_level_codes

Lines = Sequence[tuple[str, str, Decimal]]
"""A bill: (parent, component, quantity of it in one parent, with at most six decimals)."""

PLACES = 6
LIMIT = 2.0**62


@dataclass(frozen=True)
class BookLines:
    """The lines of many bills as columns of one length. `bill`, `parent` and `component` are indices from 0,
    `millionths` the quantity of the component in one parent, in millionths of its unit. `tops`: the top item of each
    bill."""

    items: Sequence[str]
    bill: np.ndarray
    parent: np.ndarray
    component: np.ndarray
    millionths: np.ndarray
    tops: np.ndarray


class Requirements:
    """Prepared once for a book of bills; then answers for any number of each of them.

    Raises:
        ProblemError: an item contains itself.
    """

    def __init__(self, lines: BookLines) -> None:
        self.items = lines.items
        pairs = np.unique(lines.parent.astype(np.int64) * len(lines.items) + lines.component)
        parents, components = np.divmod(pairs, len(lines.items))
        level = _levels(len(lines.items), parents, components)
        decimals = _decimals(lines.millionths)
        self.exponent = _exponents(len(lines.items), lines, level, decimals)
        self._prepare(lines, level)

    def _prepare(self, lines: BookLines, level: np.ndarray) -> None:
        size = len(lines.items)
        top_keys = np.arange(len(lines.tops), dtype=np.int64) * size + lines.tops
        parent_keys = lines.bill.astype(np.int64) * size + lines.parent
        component_keys = lines.bill.astype(np.int64) * size + lines.component
        keys = np.unique(np.concatenate([top_keys, parent_keys]))
        item = keys % size
        order = np.lexsort((item, level[item]))
        rank = np.empty(len(keys), dtype=np.int64)
        rank[order] = np.arange(len(keys))
        node_item = item[order]
        self.size = len(keys)
        self.tops = rank[np.searchsorted(keys, top_keys)]
        self.first = np.flatnonzero(np.r_[True, node_item[1:] != node_item[:-1]])
        self.item_of_first = node_item[self.first]
        starts = np.searchsorted(level[node_item], np.arange(level.max(initial=0) + 2))
        whole = _scaled(lines.millionths, self.exponent[lines.component] - self.exponent[lines.parent])
        parent = rank[np.searchsorted(keys, parent_keys)]
        at = np.searchsorted(keys, component_keys)
        is_node = keys[np.minimum(at, len(keys) - 1)] == component_keys if len(keys) else at > 0
        self.products = _products(whole[is_node], parent[is_node], rank[at[is_node]], starts)
        is_last = ~is_node
        self.last_items, row = np.unique(lines.component[is_last], return_inverse=True)
        self.last = _matrix(whole[is_last], row, parent[is_last], (len(self.last_items), self.size))
        # The largest whole number that one of each bill leads to; a float, only to see that it fits.
        self.most = float(self._whole(np.ones(len(self.tops)), np.float64).max(initial=0.0))

    def _whole(self, counts: np.ndarray, kind: type) -> np.ndarray:
        """Total of each item, in whole numbers of 10^-exponent."""
        totals: np.ndarray = np.zeros(len(self.items), dtype=kind)
        if not self.size:
            return totals
        amounts: np.ndarray = np.zeros(self.size, dtype=kind)
        amounts[self.tops] = counts
        for begin, end, matrix in self.products:
            amounts[begin:end] += matrix @ amounts[:begin]
        totals[self.item_of_first] = np.add.reduceat(amounts, self.first)
        totals[self.last_items] += self.last @ amounts
        return totals

    def whole_totals(self, counts: np.ndarray) -> np.ndarray:
        """Totals in the order of the items, as whole numbers of 10^-exponent.

        Raises:
            OverflowError: they would not fit into 64 bits.
        """
        if self.most * float(counts.max(initial=0)) >= LIMIT:
            raise OverflowError("These quantities do not fit into whole numbers of 64 bits")
        return self._whole(counts.astype(np.int64), np.int64)

    def totals(self, counts: Sequence[int] | np.ndarray) -> dict[str, Decimal]:
        """How many of each item so many of each bill need in all, the top items themselves included; exact.
        What is not wanted at all is left out."""
        whole = self.whole_totals(np.asarray(counts))
        return {
            self.items[item]: Decimal(int(whole[item])).scaleb(-int(self.exponent[item]))
            for item in np.flatnonzero(whole).tolist()
        }


def book_lines(bills: Mapping[str, Lines], tops: Mapping[str, str]) -> BookLines:
    """Columns from bills by name."""
    index: dict[str, int] = {}
    columns: list[tuple[int, int, int, int]] = []
    for number, name in enumerate(bills):
        index.setdefault(tops[name], len(index))
        for parent, component, quantity in bills[name]:
            at = index.setdefault(parent, len(index)), index.setdefault(component, len(index))
            columns.append((number, *at, int(quantity.scaleb(PLACES))))
    table = np.array(columns, dtype=np.int64).reshape(-1, 4)
    top_items = np.array([index[tops[name]] for name in bills], dtype=np.int64)
    return BookLines(list(index), table[:, 0], table[:, 1], table[:, 2], table[:, 3], top_items)


def total_requirements(
    bills: Mapping[str, Lines], tops: Mapping[str, str], counts: Mapping[str, int]
) -> dict[str, Decimal]:
    """How many of each item so many of each bill need in all, their top items included.

    Exact; only figures of more than 62 bits are worked out bill by bill, to 28 digits.

    Raises:
        ProblemError: an item contains itself.
    """
    try:
        return Requirements(book_lines(bills, tops)).totals([counts[name] for name in bills])
    except OverflowError:
        return _bill_by_bill(bills, tops, counts)


def _bill_by_bill(
    bills: Mapping[str, Lines], tops: Mapping[str, str], counts: Mapping[str, int]
) -> dict[str, Decimal]:
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for name, lines in bills.items():
        level = low_level_codes((parent, component) for parent, component, _ in lines)
        amounts: dict[str, Decimal] = defaultdict(Decimal, {tops[name]: Decimal(counts[name])})
        for parent, component, quantity in sorted(lines, key=lambda line: level[line[0]]):
            amounts[component] += amounts[parent] * quantity
        for item, amount in amounts.items():
            totals[item] += amount
    return {item: amount for item, amount in totals.items() if amount}


def _levels(size: int, parents: np.ndarray, components: np.ndarray) -> np.ndarray:
    """Low-level code of each item over all bills together."""
    codes = low_level_codes((str(one), str(other)) for one, other in zip(parents, components, strict=True))
    level = np.zeros(size, dtype=np.int64)
    for item, code in codes.items():
        level[int(item)] = code
    return level


def _products(
    whole: np.ndarray, parent: np.ndarray, component: np.ndarray, starts: np.ndarray
) -> list[tuple[int, int, sparse.csr_matrix]]:
    """For each level below the first: where it begins and ends, and the matrix that brings it from above."""
    products = []
    for begin, end in pairwise(starts[1:]):
        chosen = (component >= begin) & (component < end)
        if chosen.any():
            shape = (end - begin, begin)
            matrix = _matrix(whole[chosen], component[chosen] - begin, parent[chosen], shape)
            products.append((int(begin), int(end), matrix))
    return products


def _matrix(
    whole: np.ndarray, row: np.ndarray, column: np.ndarray, shape: tuple[int, int]
) -> sparse.csr_matrix:
    return sparse.csr_matrix((whole, (row, column)), shape=shape, dtype=np.int64)


def _decimals(millionths: np.ndarray) -> np.ndarray:
    """How many decimals each quantity really has."""
    decimals = np.full(len(millionths), PLACES, dtype=np.int64)
    for places in range(PLACES - 1, -1, -1):
        decimals[millionths % 10 ** (PLACES - places) == 0] = places
    return decimals


def _exponents(size: int, lines: BookLines, level: np.ndarray, decimals: np.ndarray) -> np.ndarray:
    """For each item the decimals that its quantities may need, from the top down."""
    exponent = np.zeros(size, dtype=np.int64)
    component_level = level[lines.component]
    for depth in range(1, int(level.max(initial=0)) + 1):
        chosen = component_level == depth
        needed = exponent[lines.parent[chosen]] + decimals[chosen]
        np.maximum.at(exponent, lines.component[chosen], needed)
    return exponent


def _scaled(millionths: np.ndarray, power: np.ndarray) -> np.ndarray:
    """millionths × 10^(power - 6), exactly. OverflowError where a factor does not fit."""
    if (millionths * 10.0 ** (power - PLACES)).max(initial=0) >= LIMIT:
        raise OverflowError("These quantities do not fit into whole numbers of 64 bits")
    up = 10 ** np.maximum(power - PLACES, 0)
    down = 10 ** np.maximum(PLACES - power, 0)
    scaled: np.ndarray = millionths * up // down
    return scaled
