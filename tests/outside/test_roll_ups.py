"""Where-used, total requirements and roll-ups against a library of graphs and against plain Decimal recursion."""

from collections import defaultdict
from decimal import Decimal

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from bom.costing.masses import Facts, masses_of_all, surfaces_of_all
from bom.costing.requirements import Requirements, book_lines, total_requirements
from bom.structure.expansion import BillLine, Catalogue, Edge, Structure, low_level_codes
from bom.structure.where_used import totals_above, usages_of, where_used

QUANTITIES = st.sampled_from([Decimal(text) for text in ("1", "2", "3", "0.5", "1.25", "0.001534", "12")])


@st.composite
def graphs(draw, largest=9):
    """A directed graph without circles: an edge leads from a parent to a part, with the quantity in one parent."""
    size = draw(st.integers(2, largest))
    graph = nx.DiGraph()
    graph.add_nodes_from(f"I{at}" for at in range(size))
    for parent in range(size - 1):
        for part in draw(st.sets(st.integers(parent + 1, size - 1), max_size=3)):
            graph.add_edge(f"I{parent}", f"I{part}", quantity=draw(QUANTITIES))
    return graph


def usages(graph):
    structures = {
        parent: Structure(
            "A",
            tuple(
                BillLine(10 * at, part, quantity=str(graph.edges[parent, part]["quantity"]))
                for at, part in enumerate(graph.successors(parent), 1)
            ),
        )
        for parent in graph
        if graph.out_degree(parent)
    }
    return usages_of(Catalogue(structures, {}))


def along(graph, path):
    """The product of the quantities on a path."""
    number = Decimal(1)
    for parent, part in nx.utils.pairwise(path):
        number *= graph.edges[parent, part]["quantity"]
    return number


def in_one(graph, top, item):
    """How many of an item are in one top: every simple path of the library, multiplied and added."""
    return sum((along(graph, path) for path in nx.all_simple_paths(graph, top, item)), Decimal(0))


@settings(max_examples=60)
@given(graphs())
def test_where_used_finds_the_ancestors_and_the_quantities_of_all_paths(graph):
    lines = usages(graph)
    for item in graph:
        found = totals_above(lines, item)
        assert found.keys() == nx.ancestors(graph, item)
        assert all(number == in_one(graph, top, item) for top, number in found.items())


@settings(max_examples=40)
@given(graphs(7))
def test_every_way_up_is_a_simple_path_of_the_library(graph):
    last = "I1"

    def ways(found, path):
        for one in found:
            yield (*path, one.item), one.quantity
            yield from ways(one.above, (*path, one.item))

    up = dict(ways(where_used(usages(graph), last), (last,)))
    expected = {
        tuple(reversed(path)): along(graph, path)
        for top in nx.ancestors(graph, last)
        for path in nx.all_simple_paths(graph, top, last)
    }
    assert up == expected


@settings(max_examples=60)
@given(graphs())
def test_low_level_codes_are_the_longest_paths(graph):
    found = low_level_codes(graph.edges)
    for item, level in found.items():
        above = graph.subgraph(nx.ancestors(graph, item) | {item})
        assert level == nx.dag_longest_path_length(nx.DiGraph(above.edges), weight=None, default_weight=1)


@settings(max_examples=60)
@given(st.lists(st.tuples(graphs(6), st.integers(0, 50)), min_size=1, max_size=5))
def test_total_requirements_are_exactly_those_of_recursion(book):
    bills = {
        f"B{number}": [(parent, part, data["quantity"]) for parent, part, data in graph.edges(data=True)]
        for number, (graph, _) in enumerate(book)
    }
    counts = [count for _, count in book]
    totals: dict[str, Decimal] = defaultdict(Decimal)

    def add(graph, item, quantity):
        totals[item] += quantity
        for part in graph.successors(item):
            add(graph, part, quantity * graph.edges[item, part]["quantity"])

    for graph, count in book:
        add(graph, "I0", Decimal(count))

    try:
        found = Requirements(book_lines(bills, dict.fromkeys(bills, "I0"))).totals(np.array(counts))
    except OverflowError:  # refused, never rounded; see the last test
        reject()

    assert found == {item: number for item, number in totals.items() if number}


@settings(max_examples=60)
@given(graphs(), st.lists(st.decimals("0.1", "99", places=4), min_size=9, max_size=9))
def test_masses_and_surfaces_are_those_of_recursion_over_the_graph(graph, masses):
    own = dict(zip(graph, masses, strict=False))
    edges = [
        Edge(parent, part, at, data["quantity"], "A")
        for at, (parent, part, data) in enumerate(graph.edges(data=True))
    ]
    order = list(nx.lexicographical_topological_sort(graph))
    facts = {item: Facts(surface_m2=mass) for item, mass in own.items()}

    def recursion(item):
        parts = list(graph.successors(item))
        if not parts:
            return own[item]
        return sum((graph.edges[item, part]["quantity"] * recursion(part) for part in parts), Decimal(0))

    mass = masses_of_all(order, edges, own, ())
    surface = surfaces_of_all(order, edges, facts)

    for item in graph:
        assert abs(mass[item] - recursion(item)) < Decimal("1e-12")
        assert abs(surface[item].outside_m2 - recursion(item)) < Decimal("1e-12")


def test_what_does_not_fit_into_whole_numbers_is_refused_and_never_wrong():
    lines = book_lines(
        {"B": [("TOP", "PART", Decimal("0.000001")), ("TOP", "BIG", Decimal(9_000_000))]}, {"B": "TOP"}
    )
    prepared = Requirements(lines)

    assert prepared.totals([10**6])["BIG"] == Decimal(9) * 10**12
    with pytest.raises(OverflowError, match="64 bits"):
        prepared.totals([2**60])


def test_what_does_not_fit_is_still_added_up_bill_by_bill():
    bills = {
        "B": [("TOP", "PART", Decimal("0.000001")), ("TOP", "BIG", Decimal(9_000_000))],
        "C": [("TOP", "BIG", Decimal(2)), ("BIG", "PART", Decimal(3))],
    }

    found = total_requirements(bills, {"B": "TOP", "C": "TOP"}, {"B": 10**18, "C": 1})

    assert found == {
        "TOP": Decimal(10**18 + 1),
        "PART": Decimal(10**12 + 6),
        "BIG": Decimal(9 * 10**24 + 2),
    }
