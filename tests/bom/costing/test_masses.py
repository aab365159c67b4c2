"""Masses are sums of parts; what goes to the galvaniser is counted once."""

from decimal import Decimal

from bom.costing.masses import mass_to_galvanise, unit_masses
from bom.structure.conditions import Scope
from bom.structure.expansion import BillLine, Catalogue, Structure, expand

OWN = {"PLATE": Decimal(4), "SHEET": Decimal(100), "AXLE": Decimal(50), "TRAILER": Decimal(999)}


def trailer():
    structures = {
        "TRAILER": Structure(
            "A", (BillLine(10, "CHASSIS"), BillLine(20, "AXLE"), BillLine(30, "ARM", quantity="2"))
        ),
        "CHASSIS": Structure("A", (BillLine(10, "PLATE", quantity="3"), BillLine(20, "ARM"))),
        "ARM": Structure("A", (BillLine(10, "PLATE"),)),
        "PLATE": Structure("A", (BillLine(10, "SHEET", quantity="0.05"),)),
    }
    return expand(Catalogue(structures, {}), "TRAILER", Scope())


def test_a_cut_part_weighs_what_is_left_and_not_what_was_taken_from_the_sheet():
    assert unit_masses(trailer(), OWN, {"SHEET"})["PLATE"] == 4


def test_a_cut_part_without_a_mass_of_its_own_weighs_what_it_is_made_of():
    assert unit_masses(trailer(), {"SHEET": Decimal(100)}, {"SHEET"})["PLATE"] == 5


def test_an_assembly_is_the_sum_of_its_parts_whatever_its_card_says():
    assert unit_masses(trailer(), OWN, {"SHEET"})["TRAILER"] == (3 * 4 + 4) + 50 + 2 * 4


def test_a_galvanised_part_inside_a_galvanised_assembly_counts_once():
    expansion = trailer()
    masses = unit_masses(expansion, OWN, {"SHEET"})

    assert mass_to_galvanise(expansion, masses, {"CHASSIS", "ARM"}) == 16 + 2 * 4
