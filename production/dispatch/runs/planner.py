"""The shortest rounds for one day's lorries, each making one.

Few trailers (`EXACT`) are shared out exactly: the length of the best round of every set of them by dynamic
programming (Held and Karp 1962), then the best way to give a set to each lorry. More are begun by joining rounds
where most is saved (Clarke and Wright 1964) and bettered by turning stretches round and by moving and swapping
trailers until nothing is gained. Trailers are planned one by one, so that a place may be served by two lorries.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import inf

from production.dispatch.runs.ways import Ways

EXACT = 9
SMALL_ROUND = 7
_SMALLEST_GAIN_KM = 1e-9


@dataclass(frozen=True)
class Round:
    """What one lorry takes: trailers by their index in the order in which they are handed over, and the km."""

    lorry: int
    trailers: tuple[int, ...]
    km: float


@dataclass(frozen=True)
class Plan:
    """The rounds of a day (lorries without one are left out), km in all, and whether no shorter way exists."""

    rounds: tuple[Round, ...]
    km: float
    is_shortest: bool


def plan(places: Sequence[str], carries: Sequence[int], works: str, ways: Ways) -> Plan:
    """Share trailers, each with its place, out among lorries that carry so many.

    Raises:
        ValueError: more trailers than the lorries carry together, or no way known to a place.
    """
    if len(places) > sum(carries):
        raise ValueError(f"{len(places)} trailers, room for {sum(carries)}")
    if any(ways.km(works, place) == inf for place in places):
        raise ValueError("a place without a way to it")
    is_exact = len(places) <= EXACT
    shared = (_exactly if is_exact else _nearly)(places, carries, works, ways)
    rounds = tuple(
        Round(lorry, tuple(trailers), ways.round_km(works, [places[one] for one in trailers]))
        for lorry, trailers in enumerate(shared)
        if trailers
    )
    return Plan(rounds, sum(one.km for one in rounds), is_exact)


def _exactly(places: Sequence[str], carries: Sequence[int], works: str, ways: Ways) -> list[list[int]]:
    """The best share by dynamic programming over sets, written as bits."""
    count = len(places)
    most = max(carries, default=0)
    sets = [mask for mask in range(1 << count) if mask.bit_count() <= most]
    best = {mask: _best_round(mask, places, works, ways) for mask in sets}

    @cache
    def share(lorry: int, left: int) -> tuple[float, tuple[int, ...]]:
        if lorry == len(carries):
            return (inf if left else 0.0), ()
        found: tuple[float, tuple[int, ...]] = (inf, ())
        taken = left
        while True:
            if taken.bit_count() <= carries[lorry]:
                rest, others = share(lorry + 1, left ^ taken)
                if best[taken][0] + rest < found[0] - _SMALLEST_GAIN_KM:
                    found = best[taken][0] + rest, (taken, *others)
            if not taken:
                return found
            taken = (taken - 1) & left

    return [list(best[mask][1]) for mask in share(0, (1 << count) - 1)[1]]


def _best_round(mask: int, places: Sequence[str], works: str, ways: Ways) -> tuple[float, tuple[int, ...]]:
    """Length and order of the best round of a set; trailers for one place stand together."""
    members = [one for one in range(len(places)) if mask >> one & 1]
    order = best_order(sorted({places[one] for one in members}), works, ways)
    trailers = tuple(one for place in order for one in members if places[one] == place)
    return ways.round_km(works, order), trailers


def best_order(stops: Sequence[str], works: str, ways: Ways) -> list[str]:
    """The shortest order of these places, from the works and home again (Held and Karp)."""
    if len(stops) <= 2:
        return list(stops)
    count = len(stops)
    costs = {(1 << one, one): (ways.km(works, stops[one]), -1) for one in range(count)}
    for mask in range(1, 1 << count):
        for last in range(count):
            if not mask >> last & 1 or mask == 1 << last:
                continue
            before = mask ^ (1 << last)
            costs[mask, last] = min(
                (costs[before, one][0] + ways.km(stops[one], stops[last]), one)
                for one in range(count)
                if before >> one & 1
            )
    mask = (1 << count) - 1
    last = min(range(count), key=lambda one: costs[mask, one][0] + ways.km(stops[one], works))
    order = []
    while last >= 0:
        order.append(stops[last])
        mask, last = mask ^ (1 << last), costs[mask, last][1]
    return order[::-1]


def _nearly(places: Sequence[str], carries: Sequence[int], works: str, ways: Ways) -> list[list[int]]:
    rounds = _filled(_joined(places, carries, works, ways), carries)
    better = True
    while better:
        better = _moved(rounds, places, carries, works, ways)
        rounds = [_in_order(one, places, works, ways) for one in rounds]
    return rounds


def _joined(places: Sequence[str], carries: Sequence[int], works: str, ways: Ways) -> list[list[int]]:
    """Rounds of one trailer each, joined end to end where most is saved, while a lorry can carry them."""
    rounds = [[one] for one in range(len(places))]
    most = max(carries)
    while True:
        joins = [
            (
                ways.km(places[one[-1]], works)
                + ways.km(works, places[other[0]])
                - ways.km(places[one[-1]], places[other[0]]),
                i,
                j,
            )
            for i, one in enumerate(rounds)
            for j, other in enumerate(rounds)
            if i != j and len(one) + len(other) <= most
        ]
        if not joins:
            return rounds
        saved, i, j = max(joins)
        if saved <= _SMALLEST_GAIN_KM:
            return rounds
        rounds[i] += rounds[j]
        del rounds[j]


def _filled(rounds: Sequence[list[int]], carries: Sequence[int]) -> list[list[int]]:
    """Give each round to a lorry, the longest first; what finds no room is put where there is some."""
    lorries = sorted(range(len(carries)), key=lambda lorry: -carries[lorry])
    shared: list[list[int]] = [[] for _ in carries]
    over: list[int] = []
    for at, one in enumerate(sorted(rounds, key=len, reverse=True)):
        if at < len(lorries):
            room = carries[lorries[at]]
            shared[lorries[at]] = list(one[:room])
            over += one[room:]
        else:
            over += one
    for trailer in over:
        lorry = next(lorry for lorry in lorries if len(shared[lorry]) < carries[lorry])
        shared[lorry].append(trailer)
    return shared


def _moved(
    rounds: list[list[int]], places: Sequence[str], carries: Sequence[int], works: str, ways: Ways
) -> bool:
    """Make the best move of one trailer to another lorry, or swap of two; whether anything was gained."""

    def km(trailers: Sequence[int]) -> float:
        return ways.round_km(works, [places[one] for one in _in_order(trailers, places, works, ways)])

    now = [km(one) for one in rounds]
    best: tuple[float, int, int, list[int], list[int]] | None = None
    for i, one in enumerate(rounds):
        for j, other in enumerate(rounds):
            if i == j:
                continue
            for mine, theirs in _trades(one, other, carries[j], i < j):
                gain = now[i] + now[j] - km(mine) - km(theirs)
                if gain > _SMALLEST_GAIN_KM and (best is None or gain > best[0]):
                    best = gain, i, j, mine, theirs
    if best is None:
        return False
    _, i, j, rounds[i], rounds[j] = best
    return True


def _trades(
    one: list[int], other: list[int], room: int, with_swaps: bool
) -> list[tuple[list[int], list[int]]]:
    """What two lorries carry after one trailer went over, or two changed places."""
    found = []
    for mine in one:
        rest = [trailer for trailer in one if trailer != mine]
        if len(other) < room:
            found.append((rest, [*other, mine]))
        if with_swaps:
            found += [
                ([*rest, theirs], [*(trailer for trailer in other if trailer != theirs), mine])
                for theirs in other
            ]
    return found


def _in_order(trailers: Sequence[int], places: Sequence[str], works: str, ways: Ways) -> list[int]:
    """The trailers of one lorry as they are handed over: exactly for few places, else by turning stretches round."""
    stops = list(dict.fromkeys(places[one] for one in trailers))
    order = (
        best_order(sorted(stops), works, ways) if len(stops) <= SMALL_ROUND else _turned(stops, works, ways)
    )
    return [one for place in order for one in trailers if places[one] == place]


def _turned(stops: Sequence[str], works: str, ways: Ways) -> list[str]:
    """2-opt (Croes 1958): a stretch is turned round as long as that shortens the round."""
    order = list(stops)
    gained = True
    while gained:
        gained = False
        for first in range(len(order) - 1):
            for last in range(first + 1, len(order)):
                turned = [*order[:first], *reversed(order[first : last + 1]), *order[last + 1 :]]
                if ways.round_km(works, turned) < ways.round_km(works, order) - _SMALLEST_GAIN_KM:
                    order, gained = turned, True
    return order
