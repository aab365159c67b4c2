"""What hot-dip galvanising puts on steel: coating mass by thickness class, outside and inside. Plain data only.

Thickness classes and coating masses: ISO 1461:2009, table 3 (articles that are not centrifuged). A bath usually
gives more than the standard asks for, so what is worked out here is the least that a good coating weighs.
"""

from dataclasses import dataclass
from decimal import Decimal

PI = Decimal("3.14159265358979")
G_PER_KG = Decimal(1000)
MM_PER_M = Decimal(1000)


@dataclass(frozen=True)
class CoatingClass:
    """Steel above `over_mm` (or from it on, where `includes_edge`): coating thickness in µm and mass in g/m² of
    one face, at any spot (`local`) and on average (`mean`)."""

    over_mm: Decimal
    includes_edge: bool
    local_um: int
    local_g_m2: int
    mean_um: int
    mean_g_m2: int
    words: str


STEEL = (
    CoatingClass(Decimal(6), False, 70, 505, 85, 610, "steel over 6 mm"),
    CoatingClass(Decimal(3), False, 55, 395, 70, 505, "steel over 3 to 6 mm"),
    CoatingClass(Decimal("1.5"), True, 45, 325, 55, 395, "steel 1.5 to 3 mm"),
    CoatingClass(Decimal(0), False, 35, 250, 45, 325, "steel under 1.5 mm"),
)
CASTINGS = (
    CoatingClass(Decimal(6), True, 70, 505, 80, 575, "casting from 6 mm"),
    CoatingClass(Decimal(0), False, 60, 430, 70, 505, "casting under 6 mm"),
)


def coating_class(thickness_mm: Decimal, *, is_casting: bool = False) -> CoatingClass:
    """The class of a piece by its thickness in mm. ValueError for a thickness of nothing or less."""
    for one in CASTINGS if is_casting else STEEL:
        if thickness_mm > one.over_mm or (one.includes_edge and thickness_mm == one.over_mm):
            return one
    raise ValueError(f"No steel is {thickness_mm} mm thick")


def inside_surface_m2(outside_m2: Decimal, thickness_mm: Decimal, length_mm: Decimal) -> Decimal:
    """Inside surface of a hollow section of this outside surface, wall and length; never below nothing.

    The inside outline runs parallel to the outside one at the wall's thickness. By Steiner's formula for parallel
    curves it is shorter by 2π × thickness, whatever the section's shape and corner radii.
    """
    return max(outside_m2 - 2 * PI * thickness_mm * length_mm / MM_PER_M / MM_PER_M, Decimal(0))


def zinc_kg(surface_m2: Decimal, thickness_mm: Decimal, *, is_casting: bool = False) -> Decimal:
    """kg of zinc on a surface, by the mean coating mass of its class."""
    return surface_m2 * coating_class(thickness_mm, is_casting=is_casting).mean_g_m2 / G_PER_KG
