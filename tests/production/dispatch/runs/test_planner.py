"""Rounds of lorries: pure, against every possible share for small days, and by their own checker for all."""

from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from production.dispatch.runs import Plan, Round, Ways, faults, lacking, plan, ways_between
from production.dispatch.runs.planner import EXACT, best_order

WORKS = "works"


def on_a_map(points: list[tuple[int, int]]) -> tuple[list[str], Ways]:
    """Places with straight ways between them; the works stand at 0, 0."""
    at = {WORKS: (0, 0)} | {f"p{index}": point for index, point in enumerate(points)}
    km = {
        (one, other): ((at[one][0] - at[other][0]) ** 2 + (at[one][1] - at[other][1]) ** 2) ** 0.5
        for one in at
        for other in at
        if one != other
    }
    return [f"p{index}" for index in range(len(points))], ways_between(km)


def shortest_by_trying(places: list[str], carries: list[int], ways: Ways) -> float:
    """Every way to give trailers to lorries, each lorry's in every order."""
    best = float("inf")
    for share in product(range(len(carries)), repeat=len(places)):
        loads = [
            [places[one] for one in range(len(places)) if share[one] == lorry]
            for lorry in range(len(carries))
        ]
        if all(len(load) <= room for load, room in zip(loads, carries, strict=True)):
            km = sum(
                min(ways.round_km(WORKS, order) for order in permutations(load)) for load in loads if load
            )
            best = min(best, km)
    return best


points = st.lists(st.tuples(st.integers(-90, 90), st.integers(-90, 90)), min_size=1, max_size=5)


@settings(max_examples=40)
@given(points, st.lists(st.integers(1, 3), min_size=1, max_size=3))
def test_a_small_day_is_shared_out_as_short_as_trying_everything(at, carries):
    places, ways = on_a_map(at)
    if len(places) > sum(carries):
        with pytest.raises(ValueError, match="room for"):
            plan(places, carries, WORKS, ways)
        return
    found = plan(places, carries, WORKS, ways)

    assert faults(found, places, carries, WORKS, ways) == []
    assert found.is_shortest
    assert found.km == pytest.approx(shortest_by_trying(places, carries, ways))


@settings(max_examples=15)
@given(
    st.lists(st.tuples(st.integers(-90, 90), st.integers(-90, 90)), min_size=EXACT + 1, max_size=16),
    st.lists(st.integers(3, 5), min_size=5, max_size=6),
)
def test_a_large_day_passes_the_checker_and_is_no_longer_than_a_lorry_for_each_in_turn(at, carries):
    places, ways = on_a_map(at)
    if len(places) > sum(carries):
        places = places[: sum(carries)]
    found = plan(places, carries, WORKS, ways)

    in_turn, left = 0.0, list(places)
    for room in carries:
        in_turn += ways.round_km(WORKS, left[:room]) if left else 0.0
        left = left[room:]
    assert faults(found, places, carries, WORKS, ways) == []
    assert not found.is_shortest
    assert found.km <= in_turn + 1e-6


def test_a_place_with_more_trailers_than_a_lorry_carries_is_served_by_two():
    _, ways = on_a_map([(10, 0)])
    found = plan(["p0"] * 5, [3, 3], WORKS, ways)
    assert sorted(len(one.trailers) for one in found.rounds) == [2, 3]
    assert found.km == pytest.approx(40)


def test_a_lorry_that_is_not_needed_stays_at_home():
    places, ways = on_a_map([(10, 0), (20, 0)])
    assert len(plan(places, [4, 4], WORKS, ways).rounds) == 1


def test_a_pair_without_a_distance_goes_by_way_of_others_and_an_island_is_named():
    ways = ways_between({(WORKS, "a"): 10, ("a", "b"): 5, ("c", "d"): 1})
    assert ways.km("b", WORKS) == 15
    assert lacking(ways, ["a", "b", "c"]) == [("a", "c"), ("b", "c")]
    with pytest.raises(ValueError, match="without a way"):
        plan(["c"], [1], WORKS, ways)


@pytest.mark.parametrize(
    ("rounds", "km", "says"),
    [
        ((Round(0, (0,), 20.0),), 20.0, "trailer 1 is not taken"),
        ((Round(0, (0, 1), 40.0), Round(1, (0,), 20.0)), 60.0, "trailer 0 is not taken exactly once"),
        ((Round(0, (0, 1, 2), 40.0),), 40.0, "trailer 2 does not exist"),
        ((Round(0, (0,), 20.0), Round(0, (1,), 40.0)), 60.0, "sent 2 times"),
        ((Round(1, (0, 1), 40.0),), 40.0, "lorry 1 cannot take 2"),
        ((Round(0, (0, 1), 39.0),), 39.0, "not 39.0 km"),
        ((Round(0, (0, 1), 40.0),), 41.0, "together are not 41.0 km"),
    ],
)
def test_the_checker_finds_each_fault(rounds, km, says):
    places, ways = on_a_map([(10, 0), (20, 0)])
    assert any(says in one for one in faults(Plan(rounds, km, True), places, [2, 1], WORKS, ways))


def test_the_best_order_of_one_lorry_does_not_depend_on_how_its_places_are_named():
    places, ways = on_a_map([(0, 10), (10, 10), (10, 0), (5, 15), (15, 5), (3, 3)])
    lengths = {
        round(ways.round_km(WORKS, best_order(list(order), WORKS, ways)), 6) for order in permutations(places)
    }
    assert len(lengths) == 1
