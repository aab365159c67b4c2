"""Rounds against a published instance and against an independent library."""

from itertools import pairwise
from math import acos, cos

import networkx
import pytest

from production.dispatch.runs import plan, ways_between
from production.dispatch.runs.planner import _turned, best_order

# TSPLIB (Reinelt 1991), instance burma14: latitude and longitude as degrees.minutes; shortest round 3323. From memory.
BURMA = [
    (16.47, 96.10), (16.47, 94.44), (20.09, 92.54), (22.39, 93.37), (25.23, 97.24), (22.00, 96.05), (20.47, 97.02),
    (17.20, 96.29), (16.30, 97.38), (14.05, 98.12), (16.53, 97.38), (21.52, 95.59), (19.41, 97.13), (20.09, 94.55),
]  # fmt: skip
SHORTEST = 3323


def _km(one: tuple[float, float], other: tuple[float, float]) -> int:
    """The library's own rule for geographical distances."""

    def rad(value: float) -> float:
        degrees = int(value)
        return 3.141592 * (degrees + 5 * (value - degrees) / 3) / 180

    (lat, lon), (lat2, lon2) = ((rad(a), rad(b)) for a, b in (one, other))
    q1, q2, q3 = cos(lon - lon2), cos(lat - lat2), cos(lat + lat2)
    return int(6378.388 * acos(0.5 * ((1 + q1) * q2 - (1 - q1) * q3)) + 1)


@pytest.fixture(scope="module")
def burma():
    names = [f"n{index:02d}" for index in range(len(BURMA))]
    km = {
        (one, other): _km(BURMA[i], BURMA[j])
        for i, one in enumerate(names)
        for j, other in enumerate(names)
        if i < j
    }
    return names, ways_between(km), km


def test_the_exact_round_of_a_published_instance_has_the_published_length(burma):
    names, ways, _ = burma
    assert ways.round_km(names[0], best_order(names[1:], names[0], ways)) == SHORTEST


def test_turning_stretches_comes_within_five_per_cent_of_it(burma):
    names, ways, _ = burma
    assert ways.round_km(names[0], _turned(names[1:], names[0], ways)) <= SHORTEST * 1.05


def test_one_lorry_for_all_is_no_longer_than_a_library_of_graphs_finds(burma):
    names, ways, km = burma
    graph = networkx.Graph()
    graph.add_weighted_edges_from((one, other, length) for (one, other), length in km.items())
    theirs = networkx.approximation.christofides(graph)
    length = sum(graph[one][other]["weight"] for one, other in pairwise(theirs))
    assert plan(names[1:], [13], names[0], ways).km <= length


def test_ways_by_way_of_others_are_those_of_a_library_of_graphs():
    written = {("a", "b"): 7.0, ("b", "c"): 2.0, ("a", "c"): 12.0, ("c", "d"): 4.5, ("e", "f"): 1.0}
    graph = networkx.Graph()
    graph.add_weighted_edges_from((one, other, km) for (one, other), km in written.items())
    ways = ways_between(written)
    for one, lengths in networkx.all_pairs_dijkstra_path_length(graph):
        assert {other: ways.km(one, other) for other in lengths} == lengths
    assert ways.km("a", "e") == float("inf")
