"""Netting in buckets: equal to the textbook with Decimals, and a changed row equal to a full run."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from production.planning.netting.buckets import Supply, net_buckets, replan
from production.planning.netting.data import ItemRule, LotRule
from production.planning.netting.structure import UNIT, Line, structure_of

from . import reference

BUCKETS = 9
RULES = [
    LotRule.AS_NEEDED,
    LotRule.FIXED,
    LotRule.MULTIPLE,
    LotRule.ECONOMIC,
    LotRule.MINIMUM,
    LotRule.PERIODS,
]


def quantities(most):
    return st.integers(0, most * 1000).map(lambda number: Decimal(number) / 1000)


@st.composite
def rules(draw, item):
    lot_rule = draw(st.sampled_from(RULES))
    whole = draw(st.booleans())
    size = (
        draw(st.integers(1, 6)) if whole or lot_rule == LotRule.PERIODS else draw(st.integers(1, 6000)) / 1000
    )
    return ItemRule(
        item,
        make=True,
        lead_days=draw(st.integers(0, 4)),
        lot_rule=lot_rule,
        lot_size=Decimal(str(size)),
        safety_stock=draw(st.sampled_from([Decimal(0), Decimal(3)])),
        scrap_fraction=draw(st.sampled_from([Decimal(0), Decimal(0), Decimal("0.04"), Decimal("0.125")])),
        phantom=draw(st.integers(0, 5)) == 0,
        whole=whole,
    )


@st.composite
def books(draw):
    items = [f"item{number}" for number in range(draw(st.integers(1, 7)))]
    lines = []
    for above, parent in enumerate(items):
        for component in items[above + 1 :]:
            if draw(st.integers(0, 2)) == 0:
                change = draw(st.integers(0, BUCKETS))
                per = draw(st.integers(1, 4_000_000)) / Decimal(1_000_000)
                lines.append(Line(parent, component, per, 0, change))
                if draw(st.booleans()):
                    lines.append(Line(parent, component, per + 1, change))
    cells = st.dictionaries(st.tuples(st.sampled_from(items), st.integers(0, BUCKETS - 1)), quantities(20))
    return {
        "rules": [draw(rules(item)) for item in items],
        "lines": lines,
        "on_hand": draw(st.dictionaries(st.sampled_from(items), quantities(30))),
        "receipts": draw(cells),
        "demand": draw(cells),
    }


def netted(book):
    structure = structure_of(book["rules"], book["lines"])
    supply = Supply(structure.column(book["on_hand"]), structure.table(book["receipts"], BUCKETS))
    return net_buckets(structure, supply, structure.table(book["demand"], BUCKETS))


def as_decimals(table):
    return [[Decimal(int(cell)) / UNIT for cell in row] for row in table]


@given(books())
@settings(max_examples=150, deadline=None)
def test_it_equals_the_textbook_with_decimals(book):
    plan = netted(book)

    expected = reference.net(**book, buckets=BUCKETS)

    for name in ("gross", "planned", "released", "balance"):
        rows = as_decimals(getattr(plan, name))
        assert {item: rows[row] for item, row in plan.structure.rows.items()} == {
            item: one[name] for item, one in expected.items()
        }, name


@given(books(), st.data())
@settings(max_examples=150, deadline=None)
def test_a_changed_demand_netted_alone_equals_the_full_run(book, data):
    plan = netted(book)
    items = list(plan.structure.rows)
    changed = data.draw(st.lists(st.sampled_from(items), min_size=1, unique=True))
    other = {(item, bucket): data.draw(quantities(20)) for item in changed for bucket in range(BUCKETS)}
    rows = np.array([plan.structure.rows[item] for item in changed])

    replan(plan, rows, plan.structure.table(other, BUCKETS)[rows])

    kept = {key: amount for key, amount in book["demand"].items() if key[0] not in changed}
    whole = netted({**book, "demand": {**kept, **other}})
    for name in ("demand", "gross", "planned", "released", "balance"):
        assert np.array_equal(getattr(plan, name), getattr(whole, name)), name


@given(books())
@settings(max_examples=60, deadline=None)
def test_no_balance_falls_below_the_safety_stock(book):
    plan = netted(book)

    assert (plan.balance >= plan.structure.safety[:, None]).all()


def test_an_untouched_branch_is_not_netted_again():
    rules = [ItemRule(item, make=True) for item in ("trailer", "frame", "boat stand", "leg")]
    lines = [Line("trailer", "frame", Decimal(1)), Line("boat stand", "leg", Decimal(4))]
    plan = netted({"rules": rules, "lines": lines, "on_hand": {}, "receipts": {}, "demand": {}})
    row = plan.structure.rows["trailer"]

    touched = replan(
        plan, np.array([row]), plan.structure.table({("trailer", 3): Decimal(2)}, BUCKETS)[[row]]
    )

    assert {plan.structure.items[row] for row in touched} == {"trailer", "frame"}


def test_a_change_that_the_shelf_swallows_goes_no_further():
    rules = [ItemRule(item, make=True) for item in ("trailer", "frame")]
    book = {
        "rules": rules,
        "lines": [Line("trailer", "frame", Decimal(1))],
        "on_hand": {"trailer": Decimal(5)},
        "receipts": {},
        "demand": {},
    }
    plan = netted(book)
    row = plan.structure.rows["trailer"]

    touched = replan(
        plan, np.array([row]), plan.structure.table({("trailer", 3): Decimal(2)}, BUCKETS)[[row]]
    )

    assert [plan.structure.items[row] for row in touched] == ["trailer"]


@pytest.mark.parametrize(
    ("rules", "lines", "words"),
    [
        pytest.param(
            [ItemRule("a", True), ItemRule("b", True)],
            [Line("a", "b", Decimal(1)), Line("b", "a", Decimal(1))],
            "made of each other, among them a, b",
            id="ring",
        ),
        pytest.param(
            [ItemRule("a", True)], [Line("a", "b", Decimal(1))], "Nothing is known of item b", id="unknown"
        ),
        pytest.param(
            [
                ItemRule(
                    "a", True, lot_rule=LotRule.LEAST_TOTAL, order_cost=Decimal(1), holding_cost=Decimal(1)
                )
            ],
            [],
            "weighs every single need",
            id="weighing rule",
        ),
    ],
)
def test_what_cannot_be_netted_is_said(rules, lines, words):
    with pytest.raises(ProblemError, match=words):
        structure_of(rules, lines)


def test_a_need_too_large_to_be_exact_is_refused():
    book = {
        "rules": [ItemRule("a", True)],
        "lines": [],
        "on_hand": {},
        "receipts": {},
        "demand": {("a", 0): Decimal(10_000_000)},
    }

    with pytest.raises(ProblemError, match="too large"):
        netted(book)
