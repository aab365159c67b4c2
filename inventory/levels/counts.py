"""Use in a lead time where few pieces are used: counted, not measured. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

FEW = 10.0
"""Below this mean use in a lead time the normal distribution is too rough. Axsäter, Inventory Control (2nd edition,
2006), takes the normal distribution for means above about 10; from memory."""

MOST_COUNTED = 100_000


@dataclass(frozen=True)
class Counted:
    """Use in a lead time as whole pieces: `point` is the least number that lasts with at least the chance asked for,
    `chance` the chance it really gives."""

    distribution: str
    mean: float
    variance: float
    point: int
    chance: float


def counted_point(*, mean: float, variance: float, service_level: float) -> Counted:
    """The least whole R with P(use ≤ R) at least the service level.

    Poisson where the variance is not above the mean, else the negative binomial with that mean and variance:
    p = mean/variance, r = mean²/(variance − mean), P(0) = p^r, P(k+1) = P(k)·(r + k)·(1 − p)/(k + 1). Textbook
    formulas; checked against scipy in tests/outside/test_levels.py.

    Raises:
        ValueError: a service level not strictly between 0 and 1, or figures below zero.
    """
    if not 0 < service_level < 1:
        raise ValueError(f"A service level lies between 0 and 1; {service_level} does not.")
    if mean < 0 or variance < 0:
        raise ValueError("Mean and variance cannot be negative.")
    wide = variance > mean * (1 + 1e-9) and mean > 0
    p = mean / variance if wide else 1.0
    r = mean * mean / (variance - mean) if wide else 0.0
    share = math.exp(r * math.log(p)) if wide else math.exp(-mean)
    total, count = share, 0
    while total < service_level and count < MOST_COUNTED:
        share *= (r + count) * (1 - p) / (count + 1) if wide else mean / (count + 1)
        count += 1
        total += share
    return Counted("negative binomial" if wide else "Poisson", mean, variance, count, min(1.0, total))
