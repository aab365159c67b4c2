"""Projected balances and shelf alerts."""

from decimal import Decimal as D

from production.planning.netting.data import Bills, Demand, ItemRule, Receipt, Stock
from production.planning.netting.net import net_requirements
from production.planning.netting.plan import shelf_alerts


def rollers():
    demands = [Demand("A", "roller", D(6), 3), Demand("B", "roller", D(8), 9)]
    receipts = [Receipt("roller", D(4), 6, "PO-3")]
    return net_requirements(
        demands, Bills(), [ItemRule("roller", False, 2)], Stock({"roller": D(10)}), receipts, today=0
    )


def test_a_balance_says_what_changed_it():
    lines = rollers().projected_balance("roller", planned=False)

    assert [(line.day, line.change, line.balance, line.kind, line.reference) for line in lines] == [
        (0, 10, 10, "on hand", ""),
        (3, -6, 4, "need", "A"),
        (6, 4, 8, "receipt", "PO-3"),
        (9, -8, 0, "need", "B"),
    ]


def test_the_shelf_alert_names_the_first_day_under_the_level_and_the_lowest():
    projected = {"roller": rollers().projected_balance("roller", planned=False)}

    [alert] = shelf_alerts({"roller": D(5)}, projected)

    assert (alert.item, alert.day, alert.balance, alert.lowest) == ("roller", 3, 4, 0)


def test_no_alert_while_the_shelf_holds_its_level():
    projected = {"roller": rollers().projected_balance("roller", planned=False)}

    assert shelf_alerts({"roller": D(0)}, projected) == []


def test_a_receipt_and_a_need_of_one_day_are_looked_at_together():
    plan = net_requirements(
        [Demand("A", "roller", D(4), 6)],
        Bills(),
        [ItemRule("roller", False, 2)],
        Stock({"roller": D(3)}),
        [Receipt("roller", D(4), 6, "PO-3")],
        today=0,
    )

    assert shelf_alerts({"roller": D(3)}, {"roller": plan.projected_balance("roller", planned=False)}) == []
