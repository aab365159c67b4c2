"""Tightening torques of 8.8 bolts: worked out from thread and proof stress, with a range to measure against.

Stress area As = π/4 (d − 0.9382 P)² (ISO 898-1), preload 75 % of the proof load, torque T = K F d with the nut factor
K = 0.2 of dry steel. Friction decides: zinc and oil change the torque by a fifth and more, so the figures are a
starting point and the maker of wheel, axle or coupling has the last word.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

NUT_FACTOR = 0.2
PRELOAD_SHARE = 0.75
SOURCE = "ISO 898-1, class 8.8: 75 % of the proof load, nut factor 0.2 (dry); the part's maker decides"
# Nominal diameter and pitch in mm (ISO 261, coarse).
PITCHES_MM = {6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 16: 2.0, 20: 2.5}
# A wrench and its reader; common practice, no source.
SPREAD = 0.10


@dataclass(frozen=True)
class Torque:
    """One bolt size: stress area (mm²), proof load and preload (kN), torque (N·m)."""

    diameter_mm: int
    area_mm2: float
    proof_kn: float
    preload_kn: float
    torque_nm: float

    @property
    def low_nm(self) -> int:
        return round(self.torque_nm * (1 - SPREAD))

    @property
    def high_nm(self) -> int:
        return round(self.torque_nm * (1 + SPREAD))


def torque_of(diameter_mm: int) -> Torque:
    """The torque of a coarse 8.8 bolt. KeyError for a size that is not in `PITCHES_MM`."""
    area = pi / 4 * (diameter_mm - 0.9382 * PITCHES_MM[diameter_mm]) ** 2
    proof_stress_mpa = 580 if diameter_mm <= 16 else 600
    proof = area * proof_stress_mpa / 1000
    preload = PRELOAD_SHARE * proof
    return Torque(diameter_mm, area, proof, preload, NUT_FACTOR * preload * diameter_mm)


def table() -> list[Torque]:
    """Every size, small to large."""
    return [torque_of(diameter) for diameter in sorted(PITCHES_MM)]
