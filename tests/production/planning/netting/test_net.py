"""Netting: who is served from what, in which lots, how late."""

from decimal import Decimal as D

import pytest

from bom.kernel.errors import ProblemError
from production.planning.netting.data import Bills, Demand, ItemRule, LotRule, Receipt, Stock
from production.planning.netting.net import net_requirements

from .shop import TRAILER, bills, rules, trailer


def one_item(rule, needs, *, free=0, receipts=(), today=0):
    """Net one item wanted by orders A, B, … in turn on the days given."""
    demands = [
        Demand("ABCDE"[index], "axle", D(quantity), day) for index, (day, quantity) in enumerate(needs)
    ]
    stock = Stock({"axle": D(free)})
    return net_requirements(demands, Bills(), [rule], stock, list(receipts), today=today)


def sources(plan, item="axle"):
    return [(peg.order, peg.kind.value, peg.quantity) for peg in plan.pegs if peg.item == item]


def lots(plan, item="axle"):
    return [(row.due_day, row.quantity) for row in plan.supplies if row.item == item]


def test_an_order_is_planned_backwards_through_its_lead_times():
    plan = net_requirements([trailer("A", 60)], bills("A"), rules(), Stock(), [], today=0)

    assert {row.item: (row.release_day, row.due_day, row.quantity) for row in plan.supplies} == {
        "trailer": (58, 60, 1),
        "chassis": (55, 58, 1),
        "axle": (28, 58, 1),
        "rail": (54, 55, 2),
        "tube": (49, 54, 3),
    }
    assert plan.shortages == ()


def test_what_is_reserved_serves_only_its_order():
    stock = Stock(reserved={("B", "axle"): D(1)})
    plan = net_requirements(
        [trailer("A", 60), trailer("B", 61)], bills("A", "B"), rules(), stock, [], today=0
    )

    assert sources(plan) == [("A", "planned", 1), ("B", "stock", 1)]


def test_free_stock_serves_the_earliest_need_then_the_priority():
    demands = [trailer("late", 50), trailer("calm", 40, priority=2), trailer("urgent", 40, priority=1)]
    stock = Stock({"axle": D(2)})
    plan = net_requirements(demands, bills("late", "calm", "urgent"), rules(), stock, [], today=0)

    assert sources(plan) == [("urgent", "stock", 1), ("calm", "stock", 1), ("late", "planned", 1)]


def test_a_receipt_that_comes_late_stops_the_order_and_is_named():
    receipts = [Receipt("axle", D(1), 47, "PO-7")]
    plan = net_requirements([trailer("A", 40)], bills("A"), rules(), Stock(), receipts, today=0)

    [short] = plan.shortages
    assert (short.order, short.item, short.parent, short.reference) == ("A", "axle", "trailer", "PO-7")
    assert (short.needed_day, short.available_day, short.days) == (38, 47, 9)
    assert [row for row in plan.supplies if row.item == "axle"] == []


def test_a_supply_that_should_have_begun_begins_today_and_is_late():
    plan = net_requirements([trailer("A", 20)], bills("A"), rules(), Stock(), [], today=0)

    [axle] = [row for row in plan.supplies if row.item == "axle"]
    assert (axle.release_day, axle.due_day, axle.past_due_days) == (0, 30, 12)
    assert [(row.item, row.needed_day, row.available_day) for row in plan.shortages] == [("axle", 18, 30)]


def test_lateness_is_passed_up_but_only_its_source_is_a_shortage():
    plan = net_requirements([trailer("A", 20)], bills("A"), rules(), Stock(), [], today=0)

    assert plan.availability("A") == {"trailer": 32, "chassis": 18, "axle": 30, "rail": 15, "tube": 14}
    assert [row.ready_day for row in plan.supplies if row.item == "trailer"] == [32]


def test_an_overdue_receipt_counts_as_here_today():
    plan = one_item(ItemRule("axle", False, 30), [(5, 1)], receipts=[Receipt("axle", D(1), -9, "PO-1")])

    assert plan.pegs[0].available_day == 0
    assert plan.shortages == ()


def test_each_order_explodes_by_its_own_bill():
    own = {**TRAILER, "trailer": (("chassis", D(1)), ("axle", D(2)))}
    two = Bills({"A": "one axle", "B": "two axles"}, {"one axle": TRAILER, "two axles": own}, TRAILER)
    plan = net_requirements([trailer("A", 60), trailer("B", 60)], two, rules(), Stock(), [], today=0)

    assert sources(plan) == [("A", "planned", 1), ("B", "planned", 2)]
    assert lots(plan) == [(58, 3)]


def test_what_a_lot_makes_beyond_its_orders_explodes_by_the_standard_bill():
    fixed = ItemRule("chassis", True, 3, LotRule.FIXED, D(5))
    plan = net_requirements([trailer("A", 60)], bills("A"), rules(chassis=fixed), Stock(), [], today=0)

    assert [(peg.order, peg.quantity) for peg in plan.pegs if peg.item == "rail"] == [("A", 2), ("", 8)]


@pytest.mark.parametrize(
    ("rule", "size", "expected"),
    [
        pytest.param(LotRule.AS_NEEDED, 0, [(10, 3), (11, 4), (19, 5)], id="as needed"),
        pytest.param(LotRule.FIXED, 2, [(10, 2), (10, 2), (11, 2), (11, 2), (19, 2), (19, 2)], id="fixed"),
        pytest.param(LotRule.MULTIPLE, 2, [(10, 4), (11, 4), (19, 4)], id="multiple"),
        pytest.param(LotRule.MINIMUM, 6, [(10, 6), (11, 6)], id="minimum"),
        pytest.param(LotRule.PERIODS, 5, [(10, 7), (19, 5)], id="periods"),
        pytest.param(LotRule.ECONOMIC, 6, [(10, 6), (11, 6)], id="economic"),
    ],
)
def test_lot_rules(rule, size, expected):
    plan = one_item(ItemRule("axle", False, 4, rule, D(size)), [(10, 3), (11, 4), (19, 5)])

    assert lots(plan) == expected


# The example of five periods of tests/outside/test_lotsizing.py.
FIVE_DAYS = [(11, 18), (12, 30), (13, 42), (14, 5), (15, 20)]


def weighed(rule, **changes):
    return ItemRule("axle", False, 4, rule, order_cost=D(80), holding_cost=D(2), **changes)


@pytest.mark.parametrize("rule", [LotRule.LEAST_AVERAGE, LotRule.LEAST_TOTAL])
def test_lot_rules_that_weigh_costs(rule):
    assert lots(one_item(weighed(rule), FIVE_DAYS)) == [(11, 48), (13, 47), (15, 20)]


def test_the_least_total_sees_all_needs_and_the_least_average_only_the_next():
    needs = [(11, 90), (12, 120), (13, 80), (14, 70)]
    costs = {"order_cost": D(500), "holding_cost": D(2)}

    average = ItemRule("axle", False, 4, LotRule.LEAST_AVERAGE, **costs)
    total = ItemRule("axle", False, 4, LotRule.LEAST_TOTAL, **costs)
    assert lots(one_item(average, needs)) == [(11, 290), (14, 70)]
    assert lots(one_item(total, needs)) == [(11, 210), (13, 150)]


def test_batches_come_in_whole_packs_and_what_is_over_serves_the_next():
    plan = one_item(weighed(LotRule.LEAST_TOTAL, lot_size=D(25)), FIVE_DAYS)

    assert lots(plan) == [(11, 50), (13, 50), (15, 25)]
    assert sum(peg.quantity for peg in plan.pegs) == 115


def test_needs_that_are_late_share_the_first_possible_batch():
    plan = one_item(weighed(LotRule.LEAST_AVERAGE), [(1, 3), (2, 4), (40, 5)])

    assert lots(plan) == [(4, 7), (40, 5)]
    assert {short.quantity for short in plan.shortages} == {3, 4}


def test_a_batch_for_several_orders_explodes_by_their_own_bills():
    rule = ItemRule("chassis", True, 3, LotRule.LEAST_TOTAL, order_cost=D(80), holding_cost=D("0.1"))
    demands = [trailer("A", 60), trailer("B", 62)]
    plan = net_requirements(demands, bills("A", "B"), rules(chassis=rule), Stock(), [], today=0)

    assert [supply.quantity for supply in plan.supplies if supply.item == "chassis"] == [2]
    assert [(peg.order, peg.quantity) for peg in plan.pegs if peg.item == "rail"] == [("A", 2), ("B", 2)]


def test_scrap_is_added_and_whole_items_stay_whole():
    rule = ItemRule("axle", False, 4, scrap_fraction=D("0.1"))
    whole = ItemRule("axle", False, 4, scrap_fraction=D("0.1"), whole=True)

    assert lots(one_item(rule, [(10, 9)])) == [(10, 10)]
    assert lots(one_item(rule, [(10, 1)])) == [(10, D("1.111112"))]
    assert lots(one_item(whole, [(10, 1)])) == [(10, 2)]


def test_safety_stock_is_held_back_and_filled_up():
    plan = one_item(ItemRule("axle", False, 4, safety_stock=D(5)), [(10, 2)], free=4)

    assert sources(plan) == [("A", "planned", 2), ("", "planned", 5 - 4)]
    assert plan.shortages == ()


def test_safety_stock_is_lent_rather_than_stopping_an_order():
    plan = one_item(ItemRule("axle", False, 30, safety_stock=D(5)), [(10, 2)], free=5)

    assert sources(plan) == [("A", "stock", 2), ("", "planned", 2)]
    assert plan.shortages == ()


def test_a_phantom_passes_its_needs_through_on_the_same_day():
    phantom = ItemRule("chassis", True, 3, phantom=True)
    plan = net_requirements([trailer("A", 60)], bills("A"), rules(chassis=phantom), Stock(), [], today=0)

    [rail] = [peg for peg in plan.pegs if peg.item == "rail"]
    assert (rail.needed_day, rail.parent, rail.quantity) == (58, "trailer", 2)
    assert [row for row in plan.supplies if row.item == "chassis"] == []


def test_lead_times_follow_the_calendar_given():
    """Only every second day is worked, so a lead time of two days takes four."""
    demand, rule = Demand("A", "axle", D(1), 10), ItemRule("axle", False, 2)
    plan = net_requirements(
        [demand], Bills(), [rule], Stock(), [], today=0, offset=lambda day, lead: day - 2 * lead
    )

    assert [(row.release_day, row.due_day) for row in plan.supplies] == [(6, 10)]


def test_the_scheduler_is_told_when_the_parts_of_each_stage_are_there():
    stock = Stock({"tube": D(3)})
    plan = net_requirements([trailer("A", 20)], bills("A"), rules(), stock, [], today=0)

    assert plan.stage_days("A") == {"trailer": 30, "rail": 0}
    assert plan.stage_waits("A")["trailer"].item == "axle"
    assert plan.earliest_material_day("A") == 30


def test_a_ring_in_the_bills_is_refused_and_named():
    ring = Bills(standard={"a": (("b", D(1)),), "b": (("c", D(1)),), "c": (("a", D(1)),)})

    with pytest.raises(ProblemError, match="made of each other: a in c in b in a"):
        net_requirements([], ring, [ItemRule(item, True) for item in "abc"], Stock(), [], today=0)


def test_an_item_that_nothing_is_known_of_is_refused():
    known = [rule for rule in rules() if rule.item != "tube"]

    with pytest.raises(ProblemError, match="bill usual, rail: Nothing is known of item tube"):
        net_requirements([trailer("A", 60)], bills("A"), known, Stock(), [], today=0)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        pytest.param(ItemRule("axle", False, -1), "lead time is below zero", id="lead time"),
        pytest.param(ItemRule("axle", False, 1, LotRule.FIXED), "has no lot size", id="lot size"),
        pytest.param(ItemRule("axle", False, 1, LotRule.LEAST_TOTAL), "keeping cost", id="costs"),
        pytest.param(ItemRule("axle", False, 1, scrap_fraction=D(1)), "scrap fraction 1", id="scrap"),
        pytest.param(ItemRule("axle", False, 1, safety_stock=D(-1)), "cannot be below zero", id="safety"),
    ],
)
def test_rules_that_make_no_sense_are_refused(rule, words):
    with pytest.raises(ProblemError, match=words):
        one_item(rule, [(10, 1)])
