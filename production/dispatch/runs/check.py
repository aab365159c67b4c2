"""What is wrong with a plan of rounds, seen by itself: nothing here knows how it was made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from production.dispatch.runs.planner import Plan
    from production.dispatch.runs.ways import Ways


def faults(found: Plan, places: Sequence[str], carries: Sequence[int], works: str, ways: Ways) -> list[str]:
    """In words, every trailer not taken once, every lorry overfull or sent twice, every km that does not add up."""
    told = []
    taken = Counter(one for round_ in found.rounds for one in round_.trailers)
    for trailer in range(len(places)):
        if taken.pop(trailer, 0) != 1:
            told.append(f"trailer {trailer} is not taken exactly once")
    told += [f"trailer {trailer} does not exist" for trailer in taken]
    sent = Counter(round_.lorry for round_ in found.rounds)
    told += [f"lorry {lorry} is sent {times} times" for lorry, times in sent.items() if times > 1]
    for round_ in found.rounds:
        if not 0 <= round_.lorry < len(carries) or len(round_.trailers) > carries[round_.lorry]:
            told.append(f"lorry {round_.lorry} cannot take {len(round_.trailers)}")
            continue
        at, km = works, 0.0
        for trailer in round_.trailers:
            km, at = km + ways.km(at, places[trailer]), places[trailer]
        if abs(km + ways.km(at, works) - round_.km) > 1e-6:
            told.append(f"the round of lorry {round_.lorry} is not {round_.km} km")
    if abs(sum(round_.km for round_ in found.rounds) - found.km) > 1e-6:
        told.append(f"the rounds together are not {found.km} km")
    return told
