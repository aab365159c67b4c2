"""Distances between all places from those that somebody wrote down: a pair without one goes by way of others."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from itertools import combinations, pairwise, product
from math import inf

Pair = tuple[str, str]


class Ways:
    """The shortest way between any two places, in km; infinite where none is known."""

    def __init__(self, km: Mapping[Pair, float]) -> None:
        self._km = dict(km)

    def km(self, one: str, other: str) -> float:
        return 0.0 if one == other else self._km.get((one, other), inf)

    def round_km(self, works: str, places: Collection[str]) -> float:
        """From the works through the places as they stand, and home."""
        stops = [works, *places, works]
        return sum(self.km(one, other) for one, other in pairwise(stops))


def ways_between(written: Mapping[Pair, float]) -> Ways:
    """Every pair by its shortest known way (Floyd 1962, Warshall 1962). Written pairs count both ways."""
    km: dict[Pair, float] = {}
    for (one, other), length in written.items():
        for pair in ((one, other), (other, one)):
            km[pair] = min(length, km.get(pair, inf))
    places = sorted({place for pair in km for place in pair})
    for through, one, other in product(places, places, places):
        if one != other:
            by_way = km.get((one, through), inf) + km.get((through, other), inf)
            if by_way < km.get((one, other), inf):
                km[one, other] = by_way
    return Ways(km)


def lacking(ways: Ways, places: Collection[str]) -> list[Pair]:
    """Pairs of these places between which no way is known."""
    return [pair for pair in combinations(sorted(set(places)), 2) if ways.km(*pair) == inf]
