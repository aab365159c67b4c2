"""Steel sections from their dimensions: area, mass and surface a metre. Lengths in mm. No Django.

Nominal corner radii, outside and inside, as multiples of the wall t: cold formed hollow sections (EN 10219-2)
2.0 and 1.0 up to 6 mm, 2.5 and 1.5 up to 10 mm, 3.0 and 2.0 above; hot finished ones (EN 10210-2) 1.5 and 1.0.
The outside radii were found in a published table, the inside ones are from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bom.kernel.errors import Problem, ProblemError

STEEL_KG_M3 = 7850.0
COLD, HOT, FLAT, ANGLE = "en_10219", "en_10210", "en_10058", "en_10056"
SOURCES = {
    COLD: "EN 10219-2, cold formed hollow sections",
    HOT: "EN 10210-2, hot finished hollow sections",
    FLAT: "EN 10058, flat bars",
    ANGLE: "EN 10056-1, angles (formula from memory)",
}


@dataclass(frozen=True)
class Profile:
    """A section by its dimensions. A round hollow section has breadth 0; a flat bar is height × wall.

    `root_radius_mm` is only for angles; their toe radius is half of it.
    """

    standard: str
    height_mm: float
    breadth_mm: float
    wall_mm: float
    root_radius_mm: float = 0.0

    @property
    def is_hollow(self) -> bool:
        return self.standard in (COLD, HOT)

    @property
    def is_round(self) -> bool:
        return self.is_hollow and not self.breadth_mm

    @property
    def size(self) -> str:
        if self.is_round:
            return f"Ø{self.height_mm:g}×{self.wall_mm:g}"
        sides = (self.height_mm, self.wall_mm) if self.standard == FLAT else None
        return "×".join(f"{side:g}" for side in sides or (self.height_mm, self.breadth_mm, self.wall_mm))


@dataclass(frozen=True)
class SectionFigures:
    """Figures of one metre, and how each was worked out, in words. Inside surface is 0 for what is not hollow."""

    area_mm2: float
    mass_kg_m: float
    surface_m2_m: float
    inside_surface_m2_m: float
    working: tuple[str, ...]
    source: str


def figures(profile: Profile) -> SectionFigures:
    """Area, mass a metre and surface a metre.

    Raises:
        ProblemError: a dimension not above 0, or walls that meet in the middle.
    """
    _refuse_nonsense(profile)
    if profile.standard == FLAT:
        return _flat(profile)
    if profile.standard == ANGLE:
        return _angle(profile)
    return _round(profile) if profile.is_round else _hollow(profile)


def table_mass_kg_m(profile: Profile) -> float:
    """Mass a metre as tables print it: two decimals for hollow sections, three for others."""
    return round(figures(profile).mass_kg_m + 1e-9, 2 if profile.is_hollow else 3)


def corner_radii_mm(standard: str, wall_mm: float) -> tuple[float, float]:
    """Outside and inside radius of the corners of a square or rectangular hollow section."""
    if standard == HOT:
        return 1.5 * wall_mm, 1.0 * wall_mm
    outside, inside = (2.0, 1.0) if wall_mm <= 6 else (2.5, 1.5) if wall_mm <= 10 else (3.0, 2.0)
    return outside * wall_mm, inside * wall_mm


def _hollow(profile: Profile) -> SectionFigures:
    h, b, t = profile.height_mm, profile.breadth_mm, profile.wall_mm
    out, within = corner_radii_mm(profile.standard, t)
    area = 2 * t * (h + b - 2 * t) - (4 - math.pi) * (out**2 - within**2)
    round_outside = 2 * (h + b) - (8 - 2 * math.pi) * out
    round_inside = 2 * (h + b - 4 * t) - (8 - 2 * math.pi) * within
    working = (
        f"Corner radii: outside {out:g} mm, inside {within:g} mm for a wall of {t:g} mm",
        f"Area = 2 × {t:g} × ({h:g} + {b:g} − 2 × {t:g}) − (4 − π) × ({out:g}² − {within:g}²) = {area:.1f} mm²",
        f"Round the outside: 2 × ({h:g} + {b:g}) − (8 − 2π) × {out:g} = {round_outside:.1f} mm",
        f"Round the inside: {round_inside:.1f} mm; the zinc bath coats it too",
    )
    return _answer(profile, area, round_outside, round_inside, working)


def _round(profile: Profile) -> SectionFigures:
    d, t = profile.height_mm, profile.wall_mm
    area = math.pi * t * (d - t)
    working = (f"Area = π × {t:g} × ({d:g} − {t:g}) = {area:.1f} mm²",)
    return _answer(profile, area, math.pi * d, math.pi * (d - 2 * t), working)


def _flat(profile: Profile) -> SectionFigures:
    b, t = profile.height_mm, profile.wall_mm
    working = (
        f"Area = {b:g} × {t:g} = {b * t:.1f} mm²",
        f"Round it: 2 × ({b:g} + {t:g}) = {2 * (b + t):g} mm",
    )
    return _answer(profile, b * t, 2 * (b + t), 0.0, working)


def _angle(profile: Profile) -> SectionFigures:
    h, b, t, root = profile.height_mm, profile.breadth_mm, profile.wall_mm, profile.root_radius_mm
    toe = root / 2
    area = t * (h + b - t) + (1 - math.pi / 4) * (root**2 - 2 * toe**2)
    around = 2 * (h + b) - (2 - math.pi / 2) * (root + 2 * toe)
    working = (
        f"Root radius {root:g} mm, toe radius {toe:g} mm",
        f"Area = {t:g} × ({h:g} + {b:g} − {t:g}) + (1 − π/4) × ({root:g}² − 2 × {toe:g}²) = {area:.1f} mm²",
    )
    return _answer(profile, area, around, 0.0, working)


def _answer(
    profile: Profile, area: float, around: float, inside: float, working: tuple[str, ...]
) -> SectionFigures:
    mass = area * STEEL_KG_M3 / 1e6
    last = (
        f"Mass = {area:.1f} mm² × {STEEL_KG_M3:g} kg/m³ = {mass:.3f} kg/m",
        f"Surface = {around / 1000:.4f} m²/m",
    )
    return SectionFigures(
        area, mass, around / 1000, inside / 1000, (*working, *last), SOURCES[profile.standard]
    )


def _refuse_nonsense(profile: Profile) -> None:
    sides = [profile.height_mm, profile.wall_mm]
    if profile.standard == ANGLE or (profile.is_hollow and not profile.is_round):
        sides.append(profile.breadth_mm)
    place = f"section {profile.size}"
    if not all(math.isfinite(side) and side > 0 for side in sides):
        raise ProblemError(
            Problem("A dimension is not above 0", place, "Give height, breadth and wall in mm")
        )
    if profile.is_hollow and 2 * profile.wall_mm >= min(profile.height_mm, profile.breadth_mm or math.inf):
        raise ProblemError(Problem("The walls meet in the middle", place, "Give a thinner wall"))
    if profile.standard == ANGLE and profile.wall_mm >= min(profile.height_mm, profile.breadth_mm):
        raise ProblemError(Problem("The leg is thicker than it is long", place, "Give a thinner leg"))
