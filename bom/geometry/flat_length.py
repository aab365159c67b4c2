"""A folded strip worked out by itself: outside legs and bends to the flat length with its bend lines, and back.

Lengths in mm, angles in degrees as in `bending`. No Django.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from bom.geometry.bending import DIN_LEAST_TURN_DEG, DIN_RULE, BendFigures, flat_length_mm, outside_legs_mm
from bom.kernel.errors import Problem, ProblemError


@dataclass(frozen=True)
class Step:
    """One line of the working."""

    name: str
    formula: str
    figures: str
    result: str


@dataclass(frozen=True)
class Strip:
    """The strip flat and folded. `bend_lines_mm` are measured from the edge at which the first leg begins."""

    outside_mm: tuple[float, ...]
    flat_legs_mm: tuple[float, ...]
    flat_mm: float
    bend_lines_mm: tuple[float, ...]
    steps: tuple[Step, ...]


def from_outside(outside_mm: Sequence[float], bends: Sequence[BendFigures]) -> Strip:
    """The flat strip that folds to these outside legs.

    Raises:
        ProblemError: the legs do not go with the bends, or one is shorter than its bends take from it.
    """
    flat_length_mm(outside_mm, bends)  # refuses what does not go together
    halves = [0.0, *(one.deduction_mm / 2 for one in bends), 0.0]
    flat = tuple(leg - halves[at] - halves[at + 1] for at, leg in enumerate(outside_mm))
    return _strip(tuple(outside_mm), flat, bends)


def from_flat(flat_legs_mm: Sequence[float], bends: Sequence[BendFigures]) -> Strip:
    """What a flat strip folds to whose bend lines lie so far from the edges and from one another.

    Raises:
        ProblemError: as `from_outside`.
    """
    return _strip(outside_legs_mm(flat_legs_mm, bends), tuple(flat_legs_mm), bends)


def _strip(outside: tuple[float, ...], flat: tuple[float, ...], bends: Sequence[BendFigures]) -> Strip:
    _refuse_short(flat, bends)
    length = sum(flat)
    steps = [step for at, one in enumerate(bends, 1) for step in _bend_steps(at, one)]
    return Strip(
        outside_mm=outside,
        flat_legs_mm=flat,
        flat_mm=length,
        bend_lines_mm=tuple(accumulate(flat[:-1])),
        steps=(*steps, _flat_step(outside, bends, length)),
    )


def _refuse_short(flat: Sequence[float], bends: Sequence[BendFigures]) -> None:
    """A leg must hold half of the arc at each of its bends."""
    halves = [0.0, *(one.allowance_mm / 2 for one in bends), 0.0]
    problems = [
        Problem(
            f"It is {leg:.2f} mm in the flat, and its arcs alone take {halves[at] + halves[at + 1]:.2f} mm",
            f"leg {at + 1}",
            "Make it longer, or the radius smaller.",
        )
        for at, leg in enumerate(flat)
        if leg < halves[at] + halves[at + 1]
    ]
    if problems:
        raise ProblemError(*problems)


def _bend_steps(at: int, one: BendFigures) -> tuple[Step, ...]:
    angle, radius, thickness, k = one.angle_deg, one.inside_radius_mm, one.thickness_mm, one.k_factor
    if angle <= 90:
        setback = ("tan(A ÷ 2) × (R + T)", f"tan({angle / 2:g}°) × ({radius:g} + {thickness:g})")
    else:
        setback = ("R + T, legs end at the tangent", f"{radius:g} + {thickness:g}")
    if one.rule == DIN_RULE and angle < DIN_LEAST_TURN_DEG:
        allowance = ("2 × setback, no correction under 15°", f"2 × {one.setback_mm:.3f}")
    else:
        allowance = (
            "π ÷ 180 × A × (R + K × T)",
            f"π ÷ 180 × {angle:g} × ({radius:g} + {k:.3f} × {thickness:g})",
        )
    return (
        Step(f"Bend {at}, setback", *setback, f"{one.setback_mm:.3f} mm"),
        Step(f"Bend {at}, allowance", *allowance, f"{one.allowance_mm:.3f} mm"),
        Step(
            f"Bend {at}, deduction",
            "2 × setback − allowance",
            f"2 × {one.setback_mm:.3f} − {one.allowance_mm:.3f}",
            f"{one.deduction_mm:.3f} mm",
        ),
    )


def _flat_step(outside: Sequence[float], bends: Sequence[BendFigures], length: float) -> Step:
    figures = " + ".join(f"{leg:.2f}" for leg in outside)
    figures += "".join(f" − {one.deduction_mm:.3f}" for one in bends)
    return Step("Flat length", "outside legs − deductions", figures, f"{length:.2f} mm")
