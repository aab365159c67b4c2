"""Parts explosion against a published example and two methods of other libraries."""

from decimal import Decimal

import networkx
import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import sparse

from bom.structure.expansion import BillLine, Catalogue, Configuration, Structure, expand, low_level_codes


def _totals(quantities, top):
    structures = {}
    for (parent, component), quantity in quantities.items():
        structures.setdefault(parent, []).append(
            BillLine(10 * (len(structures.get(parent, ())) + 1), component, quantity=f"{quantity}")
        )
    catalogue = Catalogue({item: Structure("A", tuple(lines)) for item, lines in structures.items()}, {})
    return expand(catalogue, top, Configuration()).totals


# Method: A. Vazsonyi, T = (I - N)^-1, as told at
# https://michelbaudin.com/2020/07/09/the-bom-rap-part-ii-the-vazsonyi-procedure/
# Structure (six items with shared parts): Chase and Jacobs problem, statement at
# https://quesba.com/questions/note-problems-5-10-simplify-data-handling-include-receipt-orders-605407
SIX_ITEMS = {
    ("A", "B"): 3,
    ("A", "C"): 1,
    ("A", "D"): 2,
    ("B", "E"): 2,
    ("B", "D"): 1,
    ("C", "B"): 1,
    ("C", "E"): 2,
    ("E", "F"): 1,
}


@pytest.mark.parametrize(
    ("top", "row"),
    [
        ("A", {"A": 1, "B": 4, "C": 1, "D": 6, "E": 10, "F": 10}),
        ("B", {"B": 1, "D": 1, "E": 2, "F": 2}),
        ("C", {"C": 1, "B": 1, "D": 1, "E": 4, "F": 4}),
    ],
)
def test_the_six_item_example_gives_the_rows_of_the_inverse(top, row):
    assert dict(_totals(SIX_ITEMS, top)) == row


def test_thirty_of_the_six_item_example_need_the_published_quantities():
    totals = _totals(SIX_ITEMS, "A")

    assert {item: 30 * totals[item] for item in "BCDEF"} == {"B": 120, "C": 30, "D": 180, "E": 300, "F": 300}
    assert low_level_codes(SIX_ITEMS) == {"A": 0, "C": 1, "B": 2, "D": 3, "E": 3, "F": 4}


@st.composite
def structures(draw):
    """A structure of up to 12 items in which every item only contains later ones, so it is never circular."""
    size = draw(st.integers(2, 12))
    pairs = [(low, high) for low in range(size) for high in range(low + 1, size)]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=30))
    return {pair: draw(st.sampled_from(["1", "2", "3", "0.5", "1.25", "4"])) for pair in {(0, 1), *chosen}}


def _named(quantities):
    return {(f"I{low}", f"I{high}"): quantity for (low, high), quantity in quantities.items()}


@given(structures())
def test_totals_are_the_sums_over_all_paths(quantities):
    graph = networkx.DiGraph()
    for (parent, component), quantity in _named(quantities).items():
        graph.add_edge(parent, component, quantity=Decimal(quantity))
    totals = _totals(_named(quantities), "I0")

    for item in graph.nodes - {"I0"}:
        expected = Decimal(0)
        for path in networkx.all_simple_edge_paths(graph, "I0", item):
            product = Decimal(1)
            for edge in path:
                product *= graph.edges[edge]["quantity"]
            expected += product
        assert abs(totals.get(item, Decimal(0)) - expected) <= Decimal("0.0000005")


def test_totals_of_a_large_random_structure_are_the_row_of_the_inverse():
    rng, size = numpy.random.default_rng(20), 400
    low, high = numpy.sort(rng.integers(0, size, (2, 1600)), axis=0)
    quantities = {(0, 1): 1} | {
        (int(a), int(b)): int(q)
        for a, b, q in zip(low, high, rng.integers(1, 3, 1600), strict=True)
        if b - a > 25
    }
    rows, columns = zip(*quantities, strict=True)
    contained = sparse.csc_matrix(
        (list(quantities.values()), (rows, columns)), shape=(size, size), dtype=float
    )
    unit = numpy.zeros(size)
    unit[0] = 1.0
    expected = sparse.linalg.spsolve((sparse.eye(size, format="csc") - contained).T.tocsc(), unit)
    totals = _totals(_named(quantities), "I0")

    assert len(totals) == numpy.count_nonzero(expected > 0.5)
    for item, total in totals.items():
        assert float(total) == pytest.approx(expected[int(item[1:])], rel=1e-9)
