"""All items of a works as rows, sorted so that every parent stands above its components, for netting in buckets.

Quantities are whole thousandths of the stock unit, quantities per parent whole millionths, both held in doubles, which
are exact for whole numbers below 2^53: sums of quantity × quantity per stay right up to nine million units.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any

import numpy as np
from scipy.sparse import csr_array

from bom.kernel.errors import Problem, ProblemError
from production.planning.netting.data import ItemRule, LotRule

UNIT, PER_UNIT = 1000, 1_000_000
ALWAYS = 1 << 30
Array = Any
"""A numpy array; its shape is said where it is used."""
CUMULATIVE = (LotRule.AS_NEEDED, LotRule.FIXED, LotRule.MULTIPLE, LotRule.ECONOMIC)
STEPPED = (LotRule.MINIMUM, LotRule.PERIODS)


@dataclass(frozen=True)
class Line:
    """So many (above zero) of a component go into one parent that is begun in a bucket from `first` up to `until`."""

    parent: str
    component: str
    quantity: Decimal
    first: int = 0
    until: int = ALWAYS


@dataclass(frozen=True)
class Span:
    """Lines that hold in the same buckets: rows of components × rows of parents, and the same by parent."""

    first: int
    until: int
    by_component: Any
    by_parent: Any


@dataclass(frozen=True)
class Structure:
    """What does not change from run to run. Rows of one level, lead time and lot rule stand together.

    `rows` gives the row of each item. `blocks` are (first row, row after the last) of one level each. Lead times are
    in buckets, sizes and safety stocks in thousandths; `good` is the share of what is begun that is not lost, in
    millionths.
    """

    items: tuple[str, ...]
    rows: Mapping[str, int]
    blocks: tuple[tuple[int, int], ...]
    spans: tuple[Span, ...]
    lead: Array
    size: Array
    safety: Array
    good: Array
    step: Array
    periods: Array
    is_stepped: Array

    @property
    def count(self) -> int:
        return len(self.items)

    def table(self, quantities: Mapping[tuple[str, int], Decimal], buckets: int) -> Array:
        """Quantities by item and bucket as thousandths, items × buckets; those before bucket 0 count in it."""
        found = np.zeros((self.count, buckets))
        for (item, bucket), quantity in quantities.items():
            if bucket < buckets:
                found[self.rows[item], max(0, bucket)] += thousandths(quantity)
        return found

    def column(self, quantities: Mapping[str, Decimal]) -> Array:
        """Quantities by item as thousandths."""
        found = np.zeros(self.count)
        for item, quantity in quantities.items():
            found[self.rows[item]] = thousandths(quantity)
        return found


def thousandths(quantity: Decimal) -> int:
    return int((quantity * UNIT).to_integral_value(ROUND_CEILING))


def structure_of(rules: Sequence[ItemRule], lines: Sequence[Line]) -> Structure:
    """Sort the items by level and number them. A phantom takes no time and no lot: it goes straight through.

    Raises `ProblemError` for rings, unknown items and lot rules that weigh costs, which need every single need.
    """
    _refuse(rules, lines)
    level = _levels([rule.item for rule in rules], lines)
    ordered = sorted(rules, key=lambda rule: (level[rule.item], _is_stepped(rule), _lead(rule), rule.item))
    rows = {rule.item: row for row, rule in enumerate(ordered)}
    levels = [level[rule.item] for rule in ordered]
    starts = [row for row, depth in enumerate(levels) if not row or depth != levels[row - 1]]
    spans: dict[tuple[int, int], list[Line]] = {}
    for line in lines:
        spans.setdefault((line.first, line.until), []).append(line)
    return Structure(
        items=tuple(rows),
        rows=rows,
        blocks=tuple(zip(starts, [*starts[1:], len(rows)], strict=True)),
        spans=tuple(_span(first, until, own, rows) for (first, until), own in sorted(spans.items())),
        lead=np.array([_lead(rule) for rule in ordered], dtype=np.int64),
        size=np.array([float(_size(rule)) for rule in ordered]),
        safety=np.array([0.0 if rule.phantom else thousandths(rule.safety_stock) for rule in ordered]),
        good=np.array([float(round((1 - rule.scrap_fraction) * PER_UNIT)) for rule in ordered]),
        step=np.array([UNIT if rule.whole else 1.0 for rule in ordered]),
        periods=np.array([_periods(rule) for rule in ordered], dtype=np.int64),
        is_stepped=np.array([_is_stepped(rule) for rule in ordered]),
    )


def _span(first: int, until: int, lines: Sequence[Line], rows: Mapping[str, int]) -> Span:
    components = [rows[line.component] for line in lines]
    parents = [rows[line.parent] for line in lines]
    per = [float(int((line.quantity * PER_UNIT).to_integral_value(ROUND_CEILING))) for line in lines]
    by_component = csr_array((per, (components, parents)), shape=(len(rows), len(rows)))
    return Span(first, until, by_component, by_component.T.tocsr())


def _lead(rule: ItemRule) -> int:
    return 0 if rule.phantom else rule.lead_days


def _is_stepped(rule: ItemRule) -> bool:
    return rule.lot_rule in STEPPED and not rule.phantom


def _size(rule: ItemRule) -> int:
    """What begun quantities are rounded up to; for a minimum, the least of them; 1 for as needed."""
    if rule.phantom or rule.lot_rule in (LotRule.AS_NEEDED, LotRule.PERIODS):
        return UNIT if rule.whole else 1
    return thousandths(rule.lot_size)


def _periods(rule: ItemRule) -> int:
    return max(1, int(rule.lot_size)) if rule.lot_rule == LotRule.PERIODS else 1


def _refuse(rules: Sequence[ItemRule], lines: Sequence[Line]) -> None:
    known = {rule.item for rule in rules}
    problems = [
        Problem(
            f"Nothing is known of item {item}", f"bill of {line.parent}", "Give its lead time and lot rule."
        )
        for line in lines
        for item in (line.parent, line.component)
        if item not in known
    ]
    problems += [
        Problem(
            f"The lot rule “{rule.lot_rule}” weighs every single need",
            f"item {rule.item}",
            "Net it need by need, or give another lot rule.",
        )
        for rule in rules
        if rule.lot_rule not in (*CUMULATIVE, *STEPPED)
    ]
    if problems:
        raise ProblemError(*problems)


def _levels(items: Sequence[str], lines: Sequence[Line]) -> dict[str, int]:
    """By item, the longest path down to it."""
    parents_left = dict.fromkeys(items, 0)
    below: dict[str, list[str]] = {item: [] for item in items}
    for line in lines:
        below[line.parent].append(line.component)
        parents_left[line.component] += 1
    level = dict.fromkeys(items, 0)
    ready = [item for item, count in parents_left.items() if not count]
    for item in ready:
        for component in below[item]:
            level[component] = max(level[component], level[item] + 1)
            parents_left[component] -= 1
            if not parents_left[component]:
                ready.append(component)
    if len(ready) < len(items):
        stuck = sorted(item for item, count in parents_left.items() if count)
        raise ProblemError(
            Problem(
                f"Items are made of each other, among them {', '.join(stuck[:5])}",
                "bills",
                "Take one of them out of the other's bill.",
            )
        )
    return level
