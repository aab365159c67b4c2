"""The flat length of a strip worked out from legs and angles, and back."""

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from bom.geometry.bending import DIN_RULE, K_RULE, bend
from bom.geometry.flat_length import from_flat, from_outside
from bom.geometry.models import BendValue
from bom.kernel.errors import ProblemError
from bom.people.models import User

ADDRESS = "/items/flat-length/"


@given(
    legs=st.lists(st.floats(80, 900), min_size=1, max_size=6),
    angle=st.floats(5, 170),
    radius=st.floats(1, 8),
    thickness=st.floats(1, 8),
    rule=st.sampled_from([K_RULE, DIN_RULE]),
)
def test_out_and_back_gives_the_legs_again(legs, angle, radius, thickness, rule):
    try:
        bends = [bend(angle, radius, thickness, rule=rule)] * (len(legs) - 1)
    except ProblemError:  # DIN 6935 has no figure for so sharp a bend
        return
    strip = from_outside(legs, bends)

    assert from_flat(strip.flat_legs_mm, bends).outside_mm == pytest.approx(legs)
    assert strip.flat_mm == pytest.approx(sum(strip.flat_legs_mm))
    assert list(strip.bend_lines_mm) == sorted(strip.bend_lines_mm)


# The bend of the first example in tests/outside/test_bends.py, twice: 50 + 50 + 50 − 2 × 5.2142.
def test_each_bend_line_lies_in_the_middle_of_its_arc():
    strip = from_outside([50, 50, 50], [bend(90, 3, 3, k_factor=0.44)] * 2)

    assert strip.flat_mm == pytest.approx(139.5716, abs=1e-3)
    assert strip.bend_lines_mm == pytest.approx([47.3929, 92.1787], abs=1e-3)


def test_a_leg_shorter_than_its_arcs_is_refused_by_its_number():
    with pytest.raises(ProblemError, match=r"leg 2.*arcs alone take"):
        from_outside([50, 6, 50], [bend(90, 3, 3)] * 2)


@pytest.fixture
def desk(db) -> Client:
    client = Client()
    client.force_login(User.objects.create_user("somebody"))
    return client


def asked(client, **changes):
    figures = {
        "given": "outside",
        "legs": "50 50",
        "angles": "90",
        "thickness_mm": "3",
        "inside_radius_mm": "3",
        "k_factor": "0.44",
        "rule": "k_factor",
    }
    return client.get(ADDRESS, {**figures, **changes})


def test_the_page_shows_length_bend_line_working_and_source(desk):
    text = asked(desk).content.decode()

    assert "Flat 94.79" in text
    assert "<b>47.39</b>" in text
    assert "π ÷ 180 × 90 × (3 + 0.440 × 3)" in text
    assert "Machinery" in text


def test_back_from_the_flat(desk):
    assert "50.00" in asked(desk, given="flat", legs="47.3929 47.3929").content.decode()


def test_a_flange_that_the_die_cannot_hold_is_said(desk):
    BendValue.objects.create(
        thickness_mm=3,
        inside_radius_mm=3,
        k_factor="0.42",
        die_opening_mm=24,
        least_flange_mm=17,
        source="a test strip",
    )

    text = asked(desk, legs="12 50").content.decode()

    assert "17.0 mm: too short" in text
    assert "Before it is folded" in text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"legs": "fifty"}, "with blanks between them"),
        ({"legs": "50 50 50", "angles": "90 90 90"}, "2 bends between them"),
        ({"angles": "200"}, "cannot turn by 200"),
        ({"legs": "50 4"}, "arcs alone take"),
        ({"thickness_mm": ""}, "required"),
    ],
)
def test_what_cannot_be_worked_out_is_said_where_it_is(desk, changes, words):
    answer = asked(desk, **changes)

    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_the_bare_page_takes_the_row_of_the_press_brake_it_came_from(desk):
    text = desk.get(ADDRESS, {"thickness_mm": "5.00", "k_factor": "0.4300"}).content.decode()

    assert 'value="5.00"' in text
    assert 'value="0.4300"' in text
