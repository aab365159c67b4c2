"""From a configured trailer to its exact bill."""

from dataclasses import replace
from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from bom.structure.expansion import (
    BillLine,
    Catalogue,
    Configuration,
    Structure,
    expand,
    find_cycle,
    low_level_codes,
    tree_from_edges,
)


def _catalogue(structures, members=None, phantoms=()):
    return Catalogue(
        {item: Structure("A", tuple(lines)) for item, lines in structures.items()},
        members or {},
        frozenset(phantoms),
    )


TRAILER = _catalogue(
    {
        "T1": [
            BillLine(10, "CHASSIS"),
            BillLine(20, "HUB-KIT", quantity="model.axles * 2"),
            BillLine(30, family="ROLLER", colour="colour.port", hand="'L'", quantity="4"),
            BillLine(40, family="ROLLER", colour="colour.starboard", hand="'R'", quantity="4"),
            BillLine(50, "WINCH-M", condition="option.winch == 'manual'"),
            BillLine(60, "WINCH-E", condition="option.winch == 'electric'"),
            BillLine(70, "STRAP", quantity="hull.length_mm / 1000"),
            BillLine(80, "SPARE", quantity="option.spare == 'yes' ? 1 : 0"),
        ],
        "CHASSIS": [BillLine(10, "GUSSET", quantity="4"), BillLine(20, "BOLT", quantity="8")],
        "HUB-KIT": [
            BillLine(10, "BOLT", quantity="5"),
            BillLine(20, "CAP"),
            BillLine(30, "BOLT", quantity="1"),
        ],
    },
    {
        ("ROLLER", "red", "L"): "ROLLER-RED-L",
        ("ROLLER", "red", "R"): "ROLLER-RED-R",
        ("ROLLER", "blue", "R"): "ROLLER-BLUE-R",
    },
    ["HUB-KIT"],
)
ORDER = Configuration(
    option={"winch": "manual"},
    colour={"port": "red", "starboard": "blue"},
    model={"axles": 1},
    hull={"length_mm": 5200},
)


def test_totals_count_what_one_trailer_needs():
    assert dict(expand(TRAILER, "T1", ORDER).totals) == {
        "T1": 1,
        "CHASSIS": 1,
        "GUSSET": 4,
        "BOLT": 8 + 2 * 6,
        "CAP": 2,
        "ROLLER-RED-L": 4,
        "ROLLER-BLUE-R": 4,
        "WINCH-M": 1,
        "STRAP": Decimal("5.2"),
    }


def test_a_phantom_gives_its_parts_to_its_parent_at_its_own_position():
    edges = [(e.component, e.quantity_per) for e in expand(TRAILER, "T1", ORDER).edges if e.position == 20]

    assert edges == [("BOLT", 12), ("CAP", 2), ("BOLT", 8)]


def test_position_and_component_are_unique_within_a_parent():
    edges = expand(TRAILER, "T1", ORDER).edges

    assert len({(edge.parent, edge.component, edge.position) for edge in edges}) == len(edges)


def test_nested_phantoms_multiply():
    nested = _catalogue(
        {
            "A": [BillLine(10, "P", quantity="2")],
            "P": [BillLine(10, "Q", quantity="3"), BillLine(20, "R")],
            "Q": [BillLine(10, "R", quantity="0.5")],
        },
        phantoms=["P", "Q"],
    )

    assert dict(expand(nested, "A", Configuration()).totals) == {"A": 1, "R": 5}


def test_the_tree_carries_totals_and_revisions():
    root = expand(TRAILER, "T1", ORDER).root
    chassis = root.children[0]

    assert (root.item, root.quantity, root.revision) == ("T1", 1, "A")
    assert (chassis.item, chassis.position, chassis.revision) == ("CHASSIS", 10, "A")
    assert [(child.item, child.quantity_per, child.revision) for child in chassis.children] == [
        ("GUSSET", 4, ""),
        ("BOLT", 8, ""),
    ]


def test_a_tree_multiplies_down_each_branch():
    shared = _catalogue(
        {
            "A": [BillLine(10, "B", quantity="2"), BillLine(20, "C", quantity="3")],
            "B": [BillLine(10, "C", quantity="0.5")],
            "C": [BillLine(10, "D", quantity="4")],
        }
    )
    root = expand(shared, "A", Configuration()).root

    assert root.children[0].children[0].children[0].quantity == 4
    assert root.children[1].children[0].quantity == 12


def test_a_tree_comes_back_from_stored_edges_in_any_order():
    expansion = expand(TRAILER, "T1", ORDER)

    assert tree_from_edges("T1", reversed(expansion.edges)) == expansion.root


def test_equal_bills_share_a_digest_and_others_do_not():
    bill = expand(TRAILER, "T1", ORDER)
    same_bill = expand(TRAILER, "T1", replace(ORDER, finish="duplex"))
    other = expand(TRAILER, "T1", replace(ORDER, colour={"port": "red", "starboard": "red"}))
    revised = replace(
        TRAILER,
        structures={**TRAILER.structures, "CHASSIS": replace(TRAILER.structures["CHASSIS"], revision="B")},
    )

    assert same_bill.digest == bill.digest
    assert len({bill.digest, other.digest, expand(revised, "T1", ORDER).digest}) == 3


def test_revisions_name_every_made_item():
    assert expand(TRAILER, "T1", ORDER).revisions == {"T1": "A", "CHASSIS": "A"}


def test_totals_of_a_deep_shared_structure_need_no_tree():
    deep = _catalogue({f"L{n}": [BillLine(10, f"L{n + 1}"), BillLine(20, f"L{n + 1}")] for n in range(40)})

    assert expand(deep, "L0", Configuration()).totals["L40"] == 2**40


def _refusal(catalogue, top_item="A", configuration=ORDER):
    with pytest.raises(ProblemError) as refusal:
        expand(catalogue, top_item, configuration)
    return refusal.value.problems


def test_a_circular_bill_is_refused_with_its_chain():
    round_about = _catalogue({"A": [BillLine(10, "B")], "B": [BillLine(10, "C")], "C": [BillLine(10, "B")]})
    (problem,) = _refusal(round_about)

    assert "B → C → B" in problem.what
    assert problem.where == "bill of C"
    assert problem.mend == "Take B off the bill of C, or break the chain at another link"


def test_phantoms_that_contain_each_other_are_refused_too():
    round_about = _catalogue(
        {"A": [BillLine(10, "P")], "P": [BillLine(10, "Q")], "Q": [BillLine(10, "P")]}, phantoms=["P", "Q"]
    )

    assert "P → Q → P" in _refusal(round_about)[0].what


def test_a_circle_behind_a_line_that_does_not_apply_is_no_circle():
    harmless = _catalogue({"A": [BillLine(10, "B")], "B": [BillLine(10, "A", condition="finish == 'none'")]})

    assert dict(expand(harmless, "A", ORDER).totals) == {"A": 1, "B": 1}


def test_every_missing_member_is_told_with_its_line_and_the_choice():
    problems = _refusal(TRAILER, "T1", replace(ORDER, colour={"port": "green"}))

    assert [problem.where for problem in problems] == [
        "bill of T1, revision A, line 30",
        "bill of T1, revision A, line 40",
    ]
    assert problems[0].what == "Family ROLLER has no item of colour green and hand L"
    assert problems[1].what == "Family ROLLER has no item of hand R"
    assert "blue R, red L, red R" in problems[0].mend


def test_a_wrong_expression_is_told_with_bill_line_field_and_column():
    wrong = _catalogue({"A": [BillLine(20, "B", quantity="2 * hull.beam_mm")]})

    assert _refusal(wrong)[0].where == "bill of A, revision A, line 20, quantity, line 1, column 5"


def test_a_top_item_and_a_phantom_need_a_bill():
    assert _refusal(TRAILER, "T9")[0].what == "T9 has no released bill"
    assert "P is never stocked" in _refusal(_catalogue({"A": [BillLine(10, "P")]}, phantoms=["P"]))[0].what


@pytest.mark.parametrize(
    ("edges", "cycle"),
    [
        pytest.param([], None, id="nothing"),
        pytest.param([("A", "B"), ("A", "C"), ("B", "C")], None, id="shared is not circular"),
        pytest.param([("A", "A")], ("A", "A"), id="itself"),
        pytest.param([("A", "B"), ("B", "C"), ("C", "A")], ("A", "B", "C", "A"), id="three"),
        pytest.param([("A", "B"), ("B", "C"), ("C", "B")], ("B", "C", "B"), id="only the circle is named"),
    ],
)
def test_finding_a_cycle(edges, cycle):
    assert find_cycle(edges) == cycle


def test_a_chain_longer_than_any_recursion_is_walked():
    chain = [(f"{n}", f"{n + 1}") for n in range(5000)]

    assert find_cycle(chain) is None
    assert low_level_codes(chain)["5000"] == 5000


def test_low_level_codes_are_the_longest_chains():
    assert low_level_codes([("A", "B"), ("A", "C"), ("B", "C"), ("A", "C")]) == {"A": 0, "B": 1, "C": 2}
    with pytest.raises(ProblemError, match="A → B → A"):
        low_level_codes([("A", "B"), ("B", "A")])
