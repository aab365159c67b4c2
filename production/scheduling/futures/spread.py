"""How far times stray from what was planned, learned from history and held to sense where there is little of it.

A station's time is the planned minutes times a factor whose logarithm is taken to be normal. With few observations
the mean is drawn towards no bias and the spread towards the usual one (both count like `PRIOR_COUNT` observations),
and a station that is not known yet gets the usual figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

PRIOR_COUNT = 6
USUAL_SIGMA = 0.18
"""Standard deviation of the logarithm: common practice, no source."""
LEAST_RATIO, MOST_RATIO = 0.2, 5.0
"""Beyond these a recorded time is taken for a slip of the hand."""


@dataclass(frozen=True)
class Factor:
    """The logarithm of actual over planned minutes: its mean, its standard deviation, and from how many."""

    mean: float = 0.0
    sigma: float = USUAL_SIGMA
    count: int = 0


@dataclass(frozen=True)
class Spread:
    """What is known: `stations` by code, `material_days` late of past deliveries, `away_days` late of past loads."""

    stations: Mapping[str, Factor] = field(default_factory=dict)
    material_days: tuple[float, ...] = ()
    away_days: tuple[float, ...] = ()

    def factor(self, station: str) -> Factor:
        return self.stations.get(station, Factor())


def learn(
    ratios: Mapping[str, Sequence[float]],
    material_days: Sequence[float] = (),
    away_days: Sequence[float] = (),
) -> Spread:
    """From ratios of actual to planned minutes by station, and days late of deliveries and loads (below 0 is early)."""
    return Spread(
        {station: factor_of(found) for station, found in ratios.items()},
        tuple(material_days),
        tuple(away_days),
    )


def factor_of(ratios: Sequence[float]) -> Factor:
    """One station's factor."""
    kept = np.array([ratio for ratio in ratios if LEAST_RATIO <= ratio <= MOST_RATIO], dtype=float)
    count = len(kept)
    if not count:
        return Factor()
    logs = np.log(kept)
    mean = float(logs.sum() / (count + PRIOR_COUNT))
    squares = float(((logs - mean) ** 2).sum()) + PRIOR_COUNT * USUAL_SIGMA**2
    return Factor(mean, float(np.sqrt(squares / (count + PRIOR_COUNT))), count)
