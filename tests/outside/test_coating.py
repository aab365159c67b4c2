"""Zinc on steel against the standard's table."""

from decimal import Decimal
from math import pi

import pytest

from bom.costing.coating import coating_class, inside_surface_m2, zinc_kg

# ISO 1461:2009, table 3 (articles not centrifuged), as given by https://chienyouvn.com/en/cac-tieu-chuan-do-day-2/
# and https://www.zgp.bg/en/hot-dip-galvanizing/standards/, which agree.
TABLE = [
    # thickness mm, local µm, local g/m², mean µm, mean g/m²
    ("0.8", 35, 250, 45, 325),
    ("1.49", 35, 250, 45, 325),
    ("1.5", 45, 325, 55, 395),
    ("3", 45, 325, 55, 395),
    ("3.01", 55, 395, 70, 505),
    ("6", 55, 395, 70, 505),
    ("6.01", 70, 505, 85, 610),
    ("20", 70, 505, 85, 610),
]
CASTINGS = [("5.9", 60, 430, 70, 505), ("6", 70, 505, 80, 575), ("12", 70, 505, 80, 575)]


@pytest.mark.parametrize(("thickness", "local_um", "local_g", "mean_um", "mean_g"), TABLE)
def test_steel_has_the_standards_coating(thickness, local_um, local_g, mean_um, mean_g):
    found = coating_class(Decimal(thickness))
    assert (found.local_um, found.local_g_m2, found.mean_um, found.mean_g_m2) == (
        local_um,
        local_g,
        mean_um,
        mean_g,
    )


@pytest.mark.parametrize(("thickness", "local_um", "local_g", "mean_um", "mean_g"), CASTINGS)
def test_castings_have_the_standards_coating(thickness, local_um, local_g, mean_um, mean_g):
    found = coating_class(Decimal(thickness), is_casting=True)
    assert (found.local_um, found.local_g_m2, found.mean_um, found.mean_g_m2) == (
        local_um,
        local_g,
        mean_um,
        mean_g,
    )


@pytest.mark.parametrize("thickness", ["0.8", "2", "5", "8"])
def test_mass_is_thickness_times_the_density_of_zinc_rounded_to_five(thickness):
    """The standard's own conversion: 7.2 g/cm³, so 7.2 g/m² for each µm."""
    found = coating_class(Decimal(thickness))
    assert found.mean_g_m2 == 5 * round(found.mean_um * 7.2 / 5)
    assert found.local_g_m2 == 5 * round(found.local_um * 7.2 / 5)


@pytest.mark.parametrize("thickness", ["0", "-1"])
def test_steel_of_no_thickness_is_refused(thickness):
    with pytest.raises(ValueError, match="thick"):
        coating_class(Decimal(thickness))


@pytest.mark.parametrize(
    ("outside", "thickness", "inside"),
    [
        # A round tube, 48.3 × 3.2: π·d outside, π·(d − 2t) inside.
        pytest.param(pi * 48.3 / 1000, "3.2", pi * 41.9 / 1000, id="round tube"),
        # 60 × 40 × 3 to EN 10219-2 with corner radii 2t outside and t inside: the outline of the hole is that of a
        # 54 × 34 rectangle with corners of radius 3.
        pytest.param(
            (200 - (8 - 2 * pi) * 6) / 1000,
            "3",
            (2 * (54 + 34) - (8 - 2 * pi) * 3) / 1000,
            id="hollow section",
        ),
    ],
)
def test_the_inside_is_that_of_the_hole(outside, thickness, inside):
    found = inside_surface_m2(Decimal(repr(outside)), Decimal(thickness), Decimal(1000))
    assert float(found) == pytest.approx(inside, abs=1e-9)


def test_a_metre_of_60_40_3_takes_about_140_g_of_zinc():
    """0.190 m² outside (EN 10219-2) and the inside, 395 g/m² each: both faces count for what a load picks up."""
    outside = Decimal("0.18970")
    both = outside + inside_surface_m2(outside, Decimal(3), Decimal(1000))
    assert float(zinc_kg(both, Decimal(3))) == pytest.approx(
        (0.18970 + 0.18970 - 6 * pi / 1000) * 0.395, rel=1e-9
    )
