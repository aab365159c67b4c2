"""What should be changed about receipts on their way, from what the netting needs of them."""

from decimal import Decimal

import pytest

from production.planning.netting.data import Bills, Demand, ItemRule, Receipt, Stock
from production.planning.netting.exceptions import Means, exceptions
from production.planning.netting.net import net_requirements

AXLE = ItemRule("axle", make=False, lead_days=60)


def found(demands, receipts, stock=None, rules=(AXLE,), **means):
    plan = net_requirements(
        [Demand(order, item, Decimal(many), day) for order, item, many, day in demands],
        Bills(),
        rules,
        Stock({item: Decimal(many) for item, many in (stock or {}).items()}),
        [Receipt("axle", Decimal(many), day, name) for name, many, day in receipts],
        today=0,
    )
    costs = {"axle": Decimal(100), "other": Decimal(90)}
    return [
        (
            one.kind.value,
            int(one.quantity),
            one.reference,
            one.wanted_day,
            one.orders,
            one.late_days,
            int(one.money),
        )
        for one in exceptions(plan, Means(costs=costs, **means))
    ]


@pytest.mark.parametrize(
    ("demands", "receipts", "expected"),
    [
        pytest.param([("A", "axle", 2, 10)], [("P1", 2, 10)], [], id="in time"),
        pytest.param([("A", "axle", 2, 14)], [("P1", 2, 10)], [], id="a little early"),
        pytest.param(
            [("A", "axle", 2, 10)], [("P1", 2, 18)], [("forward", 2, "P1", 10, ("A",), 8, 200)], id="late"
        ),
        pytest.param(
            [("A", "axle", 2, 40)], [("P1", 2, 18)], [("back", 2, "P1", 40, (), 0, 200)], id="much too early"
        ),
        pytest.param([], [("P1", 3, 18)], [("cancel", 3, "P1", None, (), 0, 300)], id="not needed"),
        pytest.param(
            [("A", "axle", 2, 18)],
            [("P1", 5, 18)],
            [("cancel", 3, "P1", None, (), 0, 300)],
            id="partly not needed",
        ),
        pytest.param(
            [("A", "axle", 1, 10), ("B", "axle", 4, 18)],
            [("P1", 5, 18)],
            [("split", 1, "P1", 10, ("A",), 8, 100)],
            id="one of five is late",
        ),
        pytest.param(
            [("A", "axle", 1, 18), ("B", "axle", 4, 60)],
            [("P1", 5, 18)],
            [("split", 4, "P1", 60, (), 0, 400)],
            id="four of five are early",
        ),
        pytest.param(
            [("A", "axle", 1, 10), ("B", "axle", 1, 4)],
            [("P1", 2, 18)],
            [("forward", 2, "P1", 4, ("B", "A"), 14, 200)],
            id="who waits longest is named first",
        ),
    ],
)
def test_each_receipt_is_told_what_to_do(demands, receipts, expected):
    assert found(demands, receipts) == expected


def test_what_makes_an_order_late_comes_before_any_money():
    demands = [("A", "axle", 1, 10), ("B", "axle", 50, 90)]
    receipts = [("P1", 1, 12), ("P2", 50, 30)]

    assert [one[0] for one in found(demands, receipts)] == ["forward", "back"]


def test_a_substitute_that_lies_free_is_offered_once():
    demands = [("A", "axle", 2, 10), ("B", "axle", 2, 12)]
    rules = (AXLE, ItemRule("other", make=False))

    offers = found(demands, [], stock={"other": 3}, rules=rules, substitutes={"axle": ["other"]})

    assert offers == [("substitute", 2, "", 10, ("A",), 50, 200)]


def test_a_buffer_before_the_work_stops_is_not_lateness():
    assert found([("A", "axle", 2, 10)], [("P1", 2, 12)], stops_on=lambda day: day + 2) == []
