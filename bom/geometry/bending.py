"""Bends: allowance, setback and flat length of folded sheet. Lengths in mm, angles in degrees. No Django.

The angle of a bend is the angle through which the sheet is turned: 90 for a square bend, 45 for a shallow one.
Outside legs are measured to the apex of the outside faces for bends up to 90 degrees, and beyond that to the
tangent of the outside radius, because the apex runs away to infinity as the bend nears 180 degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bom.kernel.errors import Problem, ProblemError

K_RULE, DIN_RULE = "k_factor", "din_6935"
RULE_SOURCES = {
    K_RULE: "Bend allowance BA = π/180 × A × (R + K × T), as Machinery's Handbook gives it (vedge.org/kfac.html)",
    DIN_RULE: "DIN 6935, correction v with k = 0.65 + 0.5 lg(r/s) (from memory, not read in the standard)",
}
# DIN 6935 corrects nothing for an opening of more than 165 degrees, and k stops growing where r/s passes 5.
DIN_LEAST_TURN_DEG = 15.0
DIN_WIDE = 5.0


@dataclass(frozen=True)
class BendFigures:
    """One bend worked out: how much sheet the arc takes and how much the outside legs count too much."""

    angle_deg: float
    inside_radius_mm: float
    thickness_mm: float
    k_factor: float
    allowance_mm: float
    setback_mm: float
    rule: str

    @property
    def deduction_mm(self) -> float:
        """What the outside legs together are longer than the flat sheet: BD = 2 × OSSB − BA."""
        return 2 * self.setback_mm - self.allowance_mm


def bend(
    angle_deg: float,
    inside_radius_mm: float,
    thickness_mm: float,
    *,
    k_factor: float = 0.44,
    rule: str = K_RULE,
) -> BendFigures:
    """A bend under one of the two rules; `k_factor` is not looked at under DIN 6935.

    Raises:
        ProblemError: an angle not above 0 and below 180, a thickness not above 0, a radius below 0 (under DIN
            6935: so small against the thickness that its k would fall below 0), or K outside 0 to 1.
    """
    problems = list(_nonsense(angle_deg, inside_radius_mm, thickness_mm, k_factor))
    if problems:
        raise ProblemError(*problems)
    k = k_factor if rule == K_RULE else din_k(inside_radius_mm, thickness_mm) / 2
    setback = setback_mm(angle_deg, inside_radius_mm, thickness_mm)
    allowance = math.radians(angle_deg) * (inside_radius_mm + k * thickness_mm)
    if rule == DIN_RULE and angle_deg < DIN_LEAST_TURN_DEG:
        allowance = 2 * setback
    return BendFigures(angle_deg, inside_radius_mm, thickness_mm, k, allowance, setback, rule)


def setback_mm(angle_deg: float, inside_radius_mm: float, thickness_mm: float) -> float:
    """Outside setback OSSB = tan(A/2) × (R + T) up to 90 degrees; R + T beyond, where legs end at the tangent."""
    return math.tan(math.radians(min(angle_deg, 90.0)) / 2) * (inside_radius_mm + thickness_mm)


def din_k(inside_radius_mm: float, thickness_mm: float) -> float:
    """The factor k of DIN 6935: 0.65 + 0.5 lg(r/s), and 1 for r/s above 5. Half of it is the K factor."""
    share = inside_radius_mm / thickness_mm
    if share > DIN_WIDE:
        return 1.0
    k = 0.65 + 0.5 * math.log10(share) if share > 0 else -1.0
    if k < 0:
        what = (
            f"DIN 6935 gives no figure for an inside radius of {inside_radius_mm:g} mm in {thickness_mm:g} mm"
        )
        raise ProblemError(Problem(what, "inside radius", "Give the radius the tool really makes"))
    return k


def din_correction_mm(opening_deg: float, inside_radius_mm: float, thickness_mm: float) -> float:
    """The correction v of DIN 6935 for an opening angle (180 less the angle of the bend): flat = a + b + v."""
    if opening_deg > 180 - DIN_LEAST_TURN_DEG:
        return 0.0
    return -bend(180 - opening_deg, inside_radius_mm, thickness_mm, rule=DIN_RULE).deduction_mm


def k_from_coupon(
    angle_deg: float, inside_radius_mm: float, thickness_mm: float, allowance_mm: float
) -> float:
    """The K factor that a bent test strip shows: K = (BA / A − R) / T with A in radians."""
    return (allowance_mm / math.radians(angle_deg) - inside_radius_mm) / thickness_mm


def flat_length_mm(outside_legs_mm: Sequence[float], bends: Sequence[BendFigures]) -> float:
    """Length of the flat sheet: the outside legs less the deduction of each bend between them."""
    _refuse_unless_between(outside_legs_mm, bends)
    return sum(outside_legs_mm) - sum(one.deduction_mm for one in bends)


def outside_legs_mm(flat_legs_mm: Sequence[float], bends: Sequence[BendFigures]) -> tuple[float, ...]:
    """The folded outside legs from the flat ones, which run from edge to bend line, or from line to line.

    A bend line lies in the middle of its arc, so half of each deduction goes to either neighbour.
    """
    _refuse_unless_between(flat_legs_mm, bends)
    halves = [0.0, *(one.deduction_mm / 2 for one in bends), 0.0]
    return tuple(leg + halves[at] + halves[at + 1] for at, leg in enumerate(flat_legs_mm))


def _refuse_unless_between(legs: Sequence[float], bends: Sequence[BendFigures]) -> None:
    if len(legs) != len(bends) + 1:
        what = f"{len(legs)} legs do not go with {len(bends)} bends"
        raise ProblemError(Problem(what, "bends", "There is one leg more than there are bends"))


def _nonsense(angle: float, radius: float, thickness: float, k: float) -> list[Problem]:
    found = []
    if not 0 < angle < 180:
        found.append(
            Problem(f"A bend cannot turn by {angle:g}°", "angle", "Give more than 0 and less than 180")
        )
    if not thickness > 0:
        found.append(
            Problem(f"A thickness of {thickness:g} mm cannot be bent", "thickness", "Give more than 0")
        )
    if not radius >= 0 or not math.isfinite(radius):
        found.append(Problem(f"An inside radius of {radius:g} mm", "inside radius", "Give 0 or more"))
    if not 0 <= k <= 1:
        found.append(Problem(f"A K factor of {k:g}", "K factor", "Give 0 to 1; 0.33 to 0.5 is usual"))
    return found
