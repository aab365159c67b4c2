"""From futures to a date: the chance that each day is kept, and the chance to ask for so that what is said holds.

No numpy: what was simulated is read from here on as shares by day.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

FEWEST_KNOWN = 10
PRIOR_KNOWN = 10
"""So many promises kept exactly as often as said are taken for granted before the first one is known."""


@dataclass(frozen=True)
class Point:
    """With the share `share` (0 to 1) of the futures the order is finished by the end of this day."""

    on: date
    share: float


def curve_of(days: Sequence[date]) -> tuple[Point, ...]:
    """The share of futures finished by each day, from the finish in each future; a point for every day one ends on."""
    ordered = sorted(days)
    count = len(ordered)
    return tuple(Point(day, bisect_right(ordered, day) / count) for day in sorted(set(ordered)))


def day_for(curve: Sequence[Point], chance: float) -> date | None:
    """The first day that is kept with at least this chance; None for an empty curve."""
    return next(
        (point.on for point in curve if point.share >= chance - 1e-9), curve[-1].on if curve else None
    )


def chance_of(curve: Sequence[Point], on: date) -> float:
    """The share of futures finished by a day."""
    return max((point.share for point in curve if point.on <= on), default=0.0)


def rank_of(curve: Sequence[Point], finished_on: date) -> float:
    """The share of futures that ended before the day of a finish that happened: 0 no later than the earliest.

    A promise read off the curve at a chance above this rank would have been kept, one at or below it would not.
    """
    return max((point.share for point in curve if point.on < finished_on), default=0.0)


def chance_to_ask(wanted: float, ranks: Sequence[float]) -> float:
    """The chance to read off the curve so that promises are kept with `wanted`.

    It is the quantile of the ranks of past finishes, with evenly spread ones added so that a few promises do not swing
    it (split conformal prediction with a prior, from memory). Where finishes come later than foreseen it is above
    `wanted`; where they come sooner, or days are so coarse that every promise is rounded up, below.
    """
    if len(ranks) < FEWEST_KNOWN:
        return wanted
    even = [(index + 0.5) / PRIOR_KNOWN for index in range(PRIOR_KNOWN)]
    known = sorted([*ranks, *even])
    index = math.ceil(wanted * (len(known) + 1)) - 1
    return min(0.999, known[min(index, len(known) - 1)])
