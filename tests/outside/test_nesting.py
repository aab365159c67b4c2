"""Nesting against published strip-packing sets."""

import json
import math
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from production.cutting.nesting.check import check_nest
from production.cutting.nesting.job import NestSettings, PartShape, SheetStock
from production.cutting.nesting.nest import nest

# EURO Special Interest Group on Cutting and Packing (ESICUP), Cutting & Packing Datasets, 2025, CC0-1.0.
SETS = json.loads((Path(__file__).parent / "data" / "irregular_strip_cc0.json").read_text())["instances"]


def parts_of(name: str) -> list[PartShape]:
    case = SETS[name]
    return [
        PartShape(
            code=f"{name}-{number}",
            outer=tuple((float(x), float(y)) for x, y in piece["points"]),
            holes=(),
            quantity=piece["qty"],
            rotations_deg=tuple(float(angle) for angle in case["rotations"]),
        )
        for number, piece in enumerate(case["pieces"])
    ]


def total_area(parts: list[PartShape]) -> float:
    return sum(Polygon(part.outer).area * part.quantity for part in parts)


@pytest.mark.parametrize(
    ("name", "area", "pieces"),
    [
        ("albano", 42_656_785, 24),
        ("trousers", 17_206.5, 64),
        ("shirts", 2_160, 99),
        ("fu", 1_083, 12),
        ("jakobs1", 392, 25),
        ("shapes2_blaz", 324, 28),
        ("dighe1", 10_000, 16),
    ],
)
def test_areas_of_the_published_sets_come_out(name, area, pieces):
    """Areas as published with Math. Probl. Eng. 2021, 5054916, Table 3 (CC BY), from density × length × width."""
    parts = parts_of(name)

    assert math.isclose(total_area(parts), area, rel_tol=1e-4)
    assert sum(part.quantity for part in parts) == pieces


@pytest.mark.parametrize(
    ("name", "published_length", "published_density"),
    [("albano", 10280.1, 84.68), ("trousers", 244.68, 89.01), ("fu", 32.70, 87.15), ("dighe1", 122.0, 81.97)],
)
def test_published_length_gives_the_published_density(name, published_length, published_density):
    """Math. Probl. Eng. 2021, 5054916, Table 3: mean results of two heuristics."""
    width = SETS[name]["strip_width"]

    density = 100 * total_area(parts_of(name)) / (width * published_length)

    assert abs(density - published_density) < 0.05


@pytest.mark.parametrize(("name", "length"), [("fu", 60.0), ("shapes2_blaz", 50.0), ("albano", 17_000.0)])
def test_open_sets_lie_on_one_roomy_sheet_and_pass_the_checker(name, length):
    """Sheets about 1.8 times the best known strip length: everything must go on one, short of its end."""
    parts = parts_of(name)
    stocks = [SheetStock("strip", length, SETS[name]["strip_width"], None, 1.0)]
    settings = NestSettings(gap_mm=0.0, margin_mm=0.0, seconds=2.0, workers=1)

    result = nest(parts, stocks, settings)

    assert check_nest(parts, stocks, settings, result) == []
    assert len(result.sheets) == 1
    assert result.unplaced == ()
    assert result.sheets[0].used_length_mm < 0.85 * length


def test_a_jigsaw_of_one_sheet_never_claims_less_than_its_area():
    """dighe1 fills 100 × 100 without a gap (jigsaw, optimum length 100)."""
    parts = parts_of("dighe1")
    stocks = [SheetStock("strip", 200.0, 100.0, None, 1.0)]

    result = nest(parts, stocks, NestSettings(gap_mm=0.0, margin_mm=0.0, seconds=2.0, workers=1))

    assert result.area_bound_sheets == pytest.approx(0.5)
    assert result.sheet_equivalents >= 0.5 - 1e-9
