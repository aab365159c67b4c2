"""What a bill costs: worked by hand on a small one, against plain recursion on random ones."""

from dataclasses import dataclass, replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.costing.costs import (
    OutsideRate,
    Parts,
    Price,
    Prices,
    Rate,
    Yield,
    cost_tree,
    costs_of_all,
    masses_sent_out,
)
from bom.costing.masses import Facts, masses_of_all
from bom.structure.conditions import Scope
from bom.structure.expansion import BillLine, Catalogue, Structure, expand


@dataclass(frozen=True)
class Work:
    process: str
    setup_minutes: Decimal
    run_minutes: Decimal


FACTS = {
    "SHEET": Facts(Decimal(100), is_raw=True),
    "PLATE": Facts(Decimal(4)),
    "AXLE": Facts(Decimal(50)),
}
WORK = {
    "PLATE": (Work("laser", Decimal(6), Decimal(2)),),
    "CHASSIS": (Work("weld", Decimal(0), Decimal(30)), Work("galvanise", Decimal(0), Decimal(0))),
}
PRICES = Prices(
    prices={"SHEET": Price(Decimal(120), "price list"), "AXLE": Price(Decimal(200), "price list")},
    rates={"laser": Rate(Decimal(30), Decimal(60)), "weld": Rate(Decimal(40))},
    outside={"galvanise": OutsideRate(Decimal("0.7"), Decimal(1000), Decimal(500))},
)


def trailer():
    structures = {
        "TRAILER": Structure("A", (BillLine(10, "CHASSIS"), BillLine(20, "AXLE", quantity="2"))),
        "CHASSIS": Structure("A", (BillLine(10, "PLATE", quantity="3"),)),
        "PLATE": Structure("A", (BillLine(10, "SHEET", quantity="0.06"),)),
    }
    return expand(Catalogue(structures, {}), "TRAILER", Scope())


def costs(prices=PRICES, without=()):
    bill = trailer()
    masses = masses_of_all(
        bill.totals, bill.edges, {code: one.mass_kg for code, one in FACTS.items()}, {"SHEET"}
    )
    sent = masses_sent_out(bill.totals, bill.edges, masses, {"CHASSIS"}, "TRAILER")
    return costs_of_all(bill.totals, bill.edges, FACTS, WORK, prices, sent, without=without)


def test_a_trailer_worked_by_hand():
    found = costs()["TRAILER"].unit

    assert found == Parts(
        material=3 * Decimal("0.06") * 120,
        bought=Decimal(400),
        labour=Decimal(6 + 3 * 2) * 30 / 60 + 20,
        overhead=Decimal(6 + 3 * 2),
        outside=12 * Decimal("0.7") * 2,  # half a load is charged as a whole one
        scrap=Decimal(0),
    )


def test_the_yield_of_real_nests_goes_before_what_the_bill_says():
    found = costs(replace(PRICES, yields={"SHEET": Yield(Decimal("0.8"))}))

    assert found["TRAILER"].unit.material == 3 * Decimal(4) / Decimal(100) / Decimal("0.8") * 120


def test_scrap_is_a_share_of_material_and_own_work_and_not_of_bought_parts():
    plain, allowed = costs(), costs(replace(PRICES, scrap_share=Decimal("0.1")))

    own = plain["TRAILER"].unit
    assert allowed["TRAILER"].unit.scrap == (own.material + own.labour + own.overhead) / 10
    assert allowed["AXLE"].unit == plain["AXLE"].unit


def test_a_process_that_the_finish_does_not_ask_for_costs_nothing():
    assert costs(without={"galvanise"})["TRAILER"].unit.outside == 0


@pytest.mark.parametrize(("load", "per_kg"), [("500", "1.4"), ("1000", "0.7"), ("2000", "0.7"), ("0", "0.7")])
def test_the_minimum_charge_is_shared_over_the_load(load, per_kg):
    assert OutsideRate(Decimal("0.7"), Decimal(1000), Decimal(load)).per_kg == Decimal(per_kg)


def test_the_tree_adds_up_at_every_branch_and_says_how_each_leaf_came_about():
    found = costs()
    tree = cost_tree("TRAILER", trailer().edges, found)

    def check(branch):
        if branch.children:
            assert abs(sum(one.amount for one in branch.children) - branch.amount) < Decimal("1e-20")
            for one in branch.children:
                check(one)
        else:
            assert branch.working

    check(tree)
    assert tree.amount == found["TRAILER"].unit.total
    assert tree.share == 1


@st.composite
def bills(draw):
    """A random bill: item n may only contain items after it."""
    size = draw(st.integers(2, 9))
    structures = {}
    for parent in range(size - 1):
        below = draw(
            st.dictionaries(
                st.integers(parent + 1, size - 1), st.integers(1, 4), min_size=0 if parent else 1, max_size=4
            )
        )
        if below:
            structures[f"I{parent}"] = Structure(
                "A",
                tuple(
                    BillLine(10 * at, f"I{part}", quantity=str(number))
                    for at, (part, number) in enumerate(below.items(), 1)
                ),
            )
    prices = {f"I{at}": Price(Decimal(draw(st.integers(0, 500))) / 4) for at in range(size)}
    run = {f"I{at}": (Work("weld", Decimal(0), Decimal(draw(st.integers(0, 60)))),) for at in range(size)}
    return structures, prices, run


@settings(max_examples=40)
@given(bills())
def test_costs_are_those_of_plain_recursion(bill):
    structures, prices, run = bill
    expansion = expand(Catalogue(structures, {}), "I0", Scope())

    def recursion(item):
        own = run[item][0].run_minutes * 60 / 60
        if item not in structures:
            return own + prices[item].amount
        return own + sum(
            Decimal(line.quantity) * recursion(line.component) for line in structures[item].lines
        )

    found = costs_of_all(
        expansion.totals,
        expansion.edges,
        {},
        run,
        Prices(prices=prices, rates={"weld": Rate(Decimal(60))}),
        {},
    )

    assert abs(found["I0"].unit.total - recursion("I0")) < Decimal("1e-15")
    assert abs(sum(one.own.total for one in found.values()) - recursion("I0")) < Decimal("1e-15")
