"""Where a trailer balances: every line at its own centre, what has no place left out and told."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from bom.costing.masses import Centre, Facts, balance, masses_of_all, surfaces_of_all, zinc_of_galvanised
from bom.structure.conditions import Scope
from bom.structure.expansion import BillLine, Catalogue, Structure, expand

KG = {"RAIL": Decimal(20), "AXLE": Decimal(60), "WINCH": Decimal(10)}


def trailer():
    structures = {
        "TRAILER": Structure("A", (BillLine(10, "FRAME"), BillLine(20, "AXLE"), BillLine(30, "WINCH"))),
        "FRAME": Structure("A", (BillLine(10, "RAIL"), BillLine(20, "RAIL"))),
    }
    return expand(Catalogue(structures, {}), "TRAILER", Scope())


def at(x, y=0, z=500, basis="drawn"):
    return Centre(Decimal(x), Decimal(y), Decimal(z), basis)


def worked_out(centres):
    expansion = trailer()
    return balance(expansion, masses_of_all(expansion.totals, expansion.edges, KG, ()), centres)


def test_the_centre_is_the_mean_of_the_parts_by_mass():
    found = worked_out({("TRAILER", 10): at(3000), ("TRAILER", 20): at(4000), ("TRAILER", 30): at(1000)})

    assert found.x_mm == Decimal(40 * 3000 + 60 * 4000 + 10 * 1000) / 110
    assert (found.mass_kg, found.placed_kg, found.is_estimated) == (110, 110, False)


def test_a_line_without_a_place_is_opened_and_its_parts_are_looked_at():
    found = worked_out(
        {("FRAME", 10): at(3000, -700), ("FRAME", 20): at(3000, 700), ("TRAILER", 20): at(4000)}
    )

    assert (found.placed_kg, found.y_mm) == (100, 0)
    assert found.unplaced == (("WINCH", Decimal(10)),)
    assert found.is_estimated


def test_a_place_of_the_whole_goes_before_the_places_of_its_parts():
    found = worked_out({("TRAILER", 10): at(2000), ("FRAME", 10): at(9000)})

    assert (found.x_mm, found.placed_kg) == (2000, 40)


def test_estimated_mass_is_told_apart():
    found = worked_out({("TRAILER", 20): at(4000, basis="estimated"), ("TRAILER", 10): at(3000)})

    assert found.estimated_kg == 60


def test_nothing_placed_has_no_centre():
    assert worked_out({}).x_mm is None


@given(st.integers(-5000, 5000), st.integers(-5000, 5000))
def test_moving_every_part_moves_the_centre_as_far(first, shift):
    places = {("TRAILER", 10): first, ("TRAILER", 20): 4000, ("TRAILER", 30): 1000}
    here = worked_out({line: at(x) for line, x in places.items()})
    there = worked_out({line: at(x + shift) for line, x in places.items()})

    assert abs(there.x_mm - here.x_mm - shift) < Decimal("1e-18")


def test_zinc_covers_both_sides_of_a_hollow_part_and_plates_by_their_own_thickness():
    expansion = trailer()
    tube = Facts(Decimal(20), Decimal("0.19"), Decimal(3), Decimal(1000), is_hollow=True)
    surfaces = surfaces_of_all(expansion.totals, expansion.edges, {"RAIL": tube, "AXLE": Facts(Decimal(60))})

    inside = Decimal("0.19") - 2 * Decimal("3.14159265358979") * 3 / 1000
    assert surfaces["FRAME"].outside_m2 == Decimal("0.38")
    assert surfaces["FRAME"].inside_m2 == 2 * inside
    zinc = zinc_of_galvanised(expansion, surfaces, {"FRAME"})
    assert zinc == 2 * (Decimal("0.19") + inside) * 395 / 1000
    assert zinc_of_galvanised(expansion, surfaces, ()) == 0
