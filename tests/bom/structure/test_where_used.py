"""Where an item is used, and what differs between two bills."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from bom.structure.differing import line_changes, quantity_changes
from bom.structure.expansion import BillLine, Catalogue, Structure
from bom.structure.where_used import totals_above, usages_of, where_used


def book(**bills):
    structures = {code: Structure("A", tuple(lines)) for code, lines in bills.items()}
    members = {
        ("ROLLER", "red", ""): "RED",
        ("ROLLER", "blue", ""): "BLUE",
        ("ARM", "", "L"): "ARM-L",
        ("ARM", "", "R"): "ARM-R",
    }
    return usages_of(Catalogue(structures, members))


def test_quantities_multiply_upwards_and_add_up_over_several_ways():
    usages = book(
        TRAILER=[BillLine(10, "CHASSIS"), BillLine(20, "BOLT", quantity="3")],
        CHASSIS=[BillLine(10, "PLATE", quantity="2"), BillLine(20, "BOLT", quantity="1")],
        PLATE=[BillLine(10, "BOLT", quantity="4")],
    )

    assert totals_above(usages, "BOLT") == {"PLATE": 4, "CHASSIS": 9, "TRAILER": 12}
    ways = where_used(usages, "BOLT")
    assert [(one.item, one.quantity) for one in ways] == [("CHASSIS", 1), ("PLATE", 4), ("TRAILER", 3)]
    assert ways[1].above[0].above[0].quantity == 8


@pytest.mark.parametrize(
    "line",
    [
        BillLine(10, "BOLT", condition="finish == 'painted'"),
        BillLine(10, "BOLT", quantity="model.axles"),
    ],
)
def test_what_an_order_decides_is_said_to_be_unknown(line):
    assert totals_above(book(TRAILER=[line]), "BOLT") == {"TRAILER": None}


def test_a_family_brings_each_member_that_its_colour_and_hand_may_pick():
    usages = book(
        TRAILER=[
            BillLine(10, family="ARM", hand="'L'", quantity="2"),
            BillLine(20, family="ROLLER", colour="colour.port"),
        ]
    )

    assert totals_above(usages, "ARM-L") == {"TRAILER": 2}
    assert totals_above(usages, "ARM-R") == {}
    assert totals_above(usages, "RED") == {"TRAILER": None}


def test_an_item_that_contains_itself_is_refused_with_its_chain():
    usages = book(A=[BillLine(10, "B")], B=[BillLine(10, "A")])

    with pytest.raises(ProblemError, match=r"A → B → A|B → A → B"):
        where_used(usages, "A")


def test_lines_are_compared_by_what_they_bring_and_not_by_where_they_stand():
    before = [BillLine(10, "A"), BillLine(20, "B", quantity="2"), BillLine(30, "C")]
    after = [BillLine(10, "B", quantity="3"), BillLine(20, "A"), BillLine(40, "D")]

    found = [(one.word, one.line.component, one.fields) for one in line_changes(before, after)]

    assert found == [("changed", "B", ("quantity",)), ("taken off", "C", ()), ("added", "D", ())]


def test_only_quantities_that_differ_are_changes():
    found = quantity_changes({"A": Decimal(1), "B": Decimal(2)}, {"B": Decimal("2.0"), "C": Decimal(3)})

    assert [(one.code, one.more) for one in found] == [("A", -1), ("C", 3)]
