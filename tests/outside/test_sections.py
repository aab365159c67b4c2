"""Sections against published tables: masses, areas and surfaces a metre."""

import pytest

from bom.geometry.sections import ANGLE, COLD, FLAT, HOT, Profile, figures
from bom.kernel.errors import ProblemError


def _mass(standard, text):
    height, breadth, wall = map(float, text.split("x"))
    return round(figures(Profile(standard, height, breadth, wall)).mass_kg_m + 1e-9, 2)


# EN 10219:2006, http://www.b2bmetal.eu/en/pages/index/index/id/94/: the fourteen rows that can be read there.
# Status: found.
@pytest.mark.parametrize(
    ("size", "mass"),
    [
        ("40x20x2", 1.68),
        ("40x20x2.5", 2.03),
        ("40x20x3", 2.36),
        ("40x30x2", 1.99),
        ("40x30x2.5", 2.42),
        ("40x30x3", 2.83),
        ("50x30x2", 2.31),
        ("50x30x2.5", 2.82),
        ("50x30x3", 3.30),
        ("50x30x4", 4.20),
        ("60x40x2", 2.93),
        ("60x40x2.5", 3.60),
        ("60x40x3", 4.25),
        ("60x40x4", 5.45),
    ],
)
def test_cold_formed_masses_as_printed(size, mass):
    assert _mass(COLD, size) == mass


def test_area_and_surface_as_printed():
    """60×40×3 in the same table: 5.41 cm², 0.190 m²/m. Status: found."""
    found = figures(Profile(COLD, 60, 40, 3))

    assert found.area_mm2 / 100 == pytest.approx(5.41, abs=0.005)
    assert found.surface_m2_m == pytest.approx(0.190, abs=0.0005)


# Status: computed from the formulas of EN 10219-2 and EN 10210-2, apart from this program.
@pytest.mark.parametrize(
    ("size", "cold", "hot"),
    [
        ("40x40x3", 3.30, 3.41),
        ("50x50x3", 4.25, 4.35),
        ("60x60x3", 5.19, 5.29),
        ("60x60x4", 6.71, 6.90),
        ("80x40x3", 5.19, 5.29),
        ("80x40x4", 6.71, 6.90),
        ("80x80x4", 9.22, 9.41),
        ("100x50x3", 6.60, 6.71),
        ("100x50x4", 8.59, 8.78),
        ("100x50x5", 10.48, 10.78),
        ("120x60x4", 10.48, 10.67),
    ],
)
def test_cold_formed_and_hot_finished_masses(size, cold, hot):
    assert (_mass(COLD, size), _mass(HOT, size)) == (cold, hot)


# EN 10058. Status: computed; tables print two to three figures of these.
@pytest.mark.parametrize(
    ("breadth", "thickness", "mass"),
    [
        (30, 5, 1.178),
        (40, 4, 1.256),
        (40, 5, 1.570),
        (50, 5, 1.963),
        (50, 6, 2.355),
        (60, 6, 2.826),
        (80, 8, 5.024),
        (100, 10, 7.850),
    ],
)
def test_flat_bars(breadth, thickness, mass):
    assert figures(Profile(FLAT, breadth, 0, thickness)).mass_kg_m == pytest.approx(mass, abs=6e-4)


# EN 10056-1, equal angles with the root radius in mm. Status: from memory.
@pytest.mark.parametrize(
    ("leg", "thickness", "root", "mass", "area_cm2"), [(50, 5, 7, 3.77, 4.80), (40, 4, 6, 2.42, 3.08)]
)
def test_equal_angles(leg, thickness, root, mass, area_cm2):
    found = figures(Profile(ANGLE, leg, leg, thickness, root))

    assert found.mass_kg_m == pytest.approx(mass, abs=0.006)
    assert found.area_mm2 / 100 == pytest.approx(area_cm2, abs=0.006)


# EN 10219-2, round hollow sections. Status: from memory.
@pytest.mark.parametrize(("diameter", "wall", "mass"), [(48.3, 3.0, 3.35), (60.3, 3.0, 4.24)])
def test_round_hollow_sections(diameter, wall, mass):
    assert figures(Profile(COLD, diameter, 0, wall)).mass_kg_m == pytest.approx(mass, abs=0.006)


def test_a_hollow_section_against_its_drawn_outline():
    """The formula against shapely, an independent library: two rounded rectangles, one within the other."""
    shapely = pytest.importorskip("shapely")
    outer = shapely.box(12, 12, 88, 38).buffer(12, quad_segs=400)
    inner = shapely.box(12, 12, 88, 38).buffer(6, quad_segs=400)
    found = figures(Profile(COLD, 100, 50, 6))

    assert found.area_mm2 == pytest.approx(outer.area - inner.area, rel=1e-5)
    assert found.surface_m2_m * 1000 == pytest.approx(outer.length, rel=1e-5)
    assert found.inside_surface_m2_m * 1000 == pytest.approx(inner.length, rel=1e-5)


@pytest.mark.parametrize(
    "profile",
    [
        Profile(COLD, 40, 40, 20),
        Profile(COLD, 40, -40, 3),
        Profile(FLAT, 40, 0, 0),
        Profile(ANGLE, 40, 40, 40, 6),
    ],
)
def test_a_section_that_cannot_be_is_refused(profile):
    with pytest.raises(ProblemError):
        figures(profile)
