"""Contacts of trailer plugs against what is published of ISO 1724 and ISO 11446-1."""

import pytest

from production.assembly.wiring import contacts

# ISO 11446-1:2012 as a maker of plugs publishes its contact allocation (functions, areas in mm², core colours); the
# first seven are those of ISO 1724 (the encyclopaedia's article on trailer connectors in Europe lists them the same).
PUBLISHED = [
    (1, "left direction", 1.5, "yellow"),
    (2, "rear fog", 1.5, "blue"),
    (3, "return of contacts 1 to 8", 2.5, "white"),
    (4, "right direction", 1.5, "green"),
    (5, "right position", 1.5, "brown"),
    (6, "stop", 1.5, "red"),
    (7, "left position", 1.5, "black"),
    (8, "reversing", 1.5, "pink"),
    (9, "at all times", 2.5, "orange"),
    (10, "ignition", 2.5, "grey"),
    (11, "return of contact 10", 2.5, "white/black"),
    (12, "not allotted", None, "no core"),
    (13, "return of contact 9", 2.5, "white/red"),
]


@pytest.mark.parametrize(("number", "words", "area", "colour"), PUBLISHED)
def test_thirteen_contacts_as_published(number, words, area, colour):
    found = contacts(13, ())[number - 1]

    assert (found.number, found.area_mm2, found.colour) == (number, area, colour)
    assert words in found.carries


def test_seven_contacts_are_the_first_seven_and_know_no_reversing_lamp():
    seven, thirteen = contacts(7, {"rear_lamp"}), contacts(13, {"rear_lamp"})
    assert [(one.number, one.colour) for one in seven] == [(one.number, one.colour) for one in thirteen[:7]]
    assert not any("reversing" in one.carries for one in seven)


def test_a_contact_is_needed_where_a_lamp_hangs_on_it():
    needed = {
        one.number for one in contacts(13, {"rear_lamp", "fog_lamp", "reversing_lamp"}) if one.is_needed
    }
    assert needed == {1, 2, 3, 4, 5, 6, 7, 8}
    assert {one.number for one in contacts(7, {"rear_lamp"}) if one.is_needed} == {1, 3, 4, 5, 6, 7}
