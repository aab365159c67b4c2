"""Netting against published worked examples."""

import json
from collections import defaultdict
from decimal import Decimal
from pathlib import Path

import pytest

from production.planning.netting.data import Bills, Demand, ItemRule, LotRule, Receipt, Stock, SupplyKind
from production.planning.netting.levels import low_level_codes
from production.planning.netting.net import net_requirements

# Four textbook cases; each names its source in the file. Weeks are counted from 1, the start is week 0.
CASES = json.loads((Path(__file__).parent / "data" / "mrp_examples.json").read_text())


def bill(*edges):
    found = defaultdict(tuple)
    for parent, child, quantity in edges:
        found[parent] += ((child, Decimal(quantity)),)
    return dict(found)


def netted(case):
    lots = {item: Decimal(figures.get("lot", 0)) for item, figures in case["items"].items()}
    return net_requirements(
        [
            Demand("order", item, Decimal(quantity), int(week))
            for item, weeks in case["demand"].items()
            for week, quantity in weeks.items()
        ],
        Bills(standard=bill(*((edge["parent"], edge["child"], edge["qty"]) for edge in case["bom"]))),
        [
            ItemRule(
                item,
                make=True,
                lead_days=figures["lt"],
                lot_rule=LotRule.MULTIPLE if lots[item] > 0 else LotRule.AS_NEEDED,
                lot_size=max(lots[item], Decimal(0)),
            )
            for item, figures in case["items"].items()
        ],
        Stock({item: Decimal(figures.get("oh", 0)) for item, figures in case["items"].items()}),
        [
            Receipt(item, Decimal(quantity), int(week), f"receipt of {item}")
            for item, figures in case["items"].items()
            for week, quantity in figures.get("sr", {}).items()
        ],
        today=0,
    )


def by_week(pairs):
    weeks = defaultdict(int)
    for week, quantity in pairs:
        weeks[str(week)] += quantity
    return dict(weeks)


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_every_cell_of_the_textbook_grids(case):
    plan = netted(case)
    due = {str(supply.number): supply.due_day for supply in plan.supplies}

    for item, grid in case["expected"].items():
        pegs = [peg for peg in plan.pegs if peg.item == item]
        supplies = [supply for supply in plan.supplies if supply.item == item]
        assert by_week((peg.needed_day, peg.quantity) for peg in pegs) == grid["gross"], item
        new = [peg for peg in pegs if peg.kind == SupplyKind.PLANNED and due[peg.reference] == peg.needed_day]
        assert by_week((peg.needed_day, peg.quantity) for peg in new) == grid["net"], item
        assert by_week((supply.due_day, supply.quantity) for supply in supplies) == grid["receipts"], item
        assert by_week((supply.release_day, supply.quantity) for supply in supplies) == grid["releases"], item
        lines = plan.projected_balance(item)
        at_end = [
            [line.balance for line in lines if line.day <= week][-1] for week in range(case["horizon"] + 1)
        ]
        assert at_end == grid["poh"], item
    assert plan.shortages == ()


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_low_level_codes_of_the_textbook_bills(case):
    bills = Bills(standard=bill(*((edge["parent"], edge["child"], edge["qty"]) for edge in case["bom"])))

    assert low_level_codes(bills) == {item: grid["llc"] for item, grid in case["expected"].items()}


EXPLOSIONS = [
    pytest.param(
        # Statement: https://brainmass.com/business/inventory-management/operations-management-91484
        "Z",
        50,
        bill("ZA2", "ZB4", "AC3", "AD4", "DE2"),
        {"Z": 2, "A": 1, "B": 1, "C": 1, "D": 1, "E": 3},
        {"Z": {"8": 50}, "A": {"7": 100}, "B": {"7": 200}, "C": {"6": 300}, "D": {"6": 400}, "E": {"3": 800}},
        id="five-level product Z",
    ),
    pytest.param(
        # Statement: https://tutorsglobe.com/question/product-a-is-an-end-item-and-is-made-from-two-5218400.aspx
        "A",
        100,
        bill("AB2", "AC4", "BD3", "BE2", "CF2", "CE2"),
        {"A": 1, "B": 2, "C": 2, "D": 3, "E": 2, "F": 3},
        {
            "A": {"9": 100},
            "B": {"7": 200},
            "C": {"7": 400},
            "D": {"4": 600},
            "E": {"5": 1200},
            "F": {"4": 800},
        },
        id="end item A",
    ),
]


@pytest.mark.parametrize(("top", "quantity", "edges", "leads", "releases"), EXPLOSIONS)
def test_releases_of_explosions_with_lead_times(top, quantity, edges, leads, releases):
    plan = net_requirements(
        [Demand("order", top, Decimal(quantity), 10)],
        Bills(standard=edges),
        [ItemRule(item, make=item in edges, lead_days=weeks) for item, weeks in leads.items()],
        Stock(),
        [],
        today=0,
    )

    found = defaultdict(list)
    for supply in plan.supplies:
        found[supply.item].append((supply.release_day, supply.quantity))
    assert {item: by_week(pairs) for item, pairs in found.items()} == releases


def test_explosion_totals_of_the_parts_matrix():
    """Vazsonyi's T = (I − N)⁻¹ (method: https://michelbaudin.com/2020/07/09/the-bom-rap-part-ii-the-vazsonyi-procedure/)

    for A = 3B + 1C + 2D, B = 2E + 1D, C = 1B + 2E, E = 1F: row A is A 1, B 4, C 1, D 6, E 10, F 10.
    """
    edges = bill("AB3", "AC1", "AD2", "BE2", "BD1", "CB1", "CE2", "EF1")
    plan = net_requirements(
        [Demand("order", "A", Decimal(30), 100)],
        Bills(standard=edges),
        [ItemRule(item, make=item in edges, lead_days=1) for item in "ABCDEF"],
        Stock(),
        [],
        today=0,
    )

    totals = defaultdict(int)
    for peg in plan.pegs:
        totals[peg.item] += peg.quantity
    assert totals == {"A": 30, "B": 120, "C": 30, "D": 180, "E": 300, "F": 300}
