"""Bend allowance, deduction and flat length against published formulas and worked values."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.geometry.bending import (
    DIN_RULE,
    bend,
    din_correction_mm,
    din_k,
    flat_length_mm,
    k_from_coupon,
    outside_legs_mm,
)
from bom.kernel.errors import ProblemError


# Formula: https://vedge.org/kfac.html (quoting Machinery's Handbook, 26th edition); the values are computed from
# it, apart from this program. Status: formula found, values computed.
@pytest.mark.parametrize(
    ("angle", "radius", "thickness", "k", "allowance", "setback", "deduction", "legs", "flat"),
    [
        (90, 3, 3, 0.44, 6.7858, 6.0000, 5.2142, (50, 50), 94.7858),
        (90, 2, 2, 0.40, 4.3982, 4.0000, 3.6018, (100, 40), 136.3982),
        (45, 4, 4, 0.42, 4.4611, 3.3137, 2.1664, (80, 60), 137.8336),
    ],
)
def test_allowance_setback_deduction_and_flat(
    angle, radius, thickness, k, allowance, setback, deduction, legs, flat
):
    figures = bend(angle, radius, thickness, k_factor=k)

    assert figures.allowance_mm == pytest.approx(allowance, abs=5e-5)
    assert figures.setback_mm == pytest.approx(setback, abs=5e-5)
    assert figures.deduction_mm == pytest.approx(deduction, abs=1e-4)
    assert flat_length_mm(legs, [figures]) == pytest.approx(flat, abs=1e-4)


# K from a bent strip: https://bendmath.com/sheet-metal/reverse-k-factor-calculator/. Status: formula found.
@settings(max_examples=50)
@given(
    angle=st.floats(5, 170), radius=st.floats(0.1, 20), thickness=st.floats(0.5, 12), k=st.floats(0.2, 0.5)
)
def test_a_test_strip_gives_its_k_factor_back(angle, radius, thickness, k):
    figures = bend(angle, radius, thickness, k_factor=k)

    assert k_from_coupon(angle, radius, thickness, figures.allowance_mm) == pytest.approx(k, abs=1e-6)


# L = c × T + 1.57 × R for 90 degrees (Machinery's Handbook, bending of sheet). Status: from memory. The handbook's
# constants are K × π/2 rounded to two decimals, 1.57 is π/2 rounded.
@pytest.mark.parametrize(
    ("c", "k", "length"), [(0.55, 0.350, 6.36), (0.64, 0.407, 6.63), (0.71, 0.452, 6.84)]
)
def test_the_handbook_rules_for_square_bends(c, k, length):
    assert c * 3 + 1.57 * 3 == pytest.approx(length, abs=0.005)
    assert bend(90, 3, 3, k_factor=k).allowance_mm == pytest.approx(length, abs=0.01)


# DIN 6935: k and v. Status: formula from memory, values computed from it; rounded to one decimal, the first three
# of the square bends are those of workshop tables (from memory).
@pytest.mark.parametrize(
    ("thickness", "radius", "opening", "k", "v"),
    [
        (1, 1, 90, 0.6500, -1.9187),
        (2, 2.5, 90, 0.6985, -3.9759),
        (3, 4, 90, 0.7125, -6.0381),
        (3, 3, 90, 0.6500, -5.7561),
        (4, 6, 90, 0.7380, -8.2566),
        (3, 3, 135, 0.6500, -1.8486),
    ],
)
def test_din_6935_factor_and_correction(thickness, radius, opening, k, v):
    assert din_k(radius, thickness) == pytest.approx(k, abs=5e-5)
    assert din_correction_mm(opening, radius, thickness) == pytest.approx(v, abs=5e-5)


def test_din_6935_flat_of_two_legs_of_fifty():
    """s = r = 3, legs 50 and 50: 94.244. Pages that get 100.41 add where the rule subtracts; a flat sheet can never
    be longer than the outside legs."""
    figures = bend(90, 3, 3, rule=DIN_RULE)

    assert flat_length_mm((50, 50), [figures]) == pytest.approx(94.244, abs=5e-4)


@pytest.mark.parametrize("opening", [166, 170, 179])
def test_din_6935_corrects_nothing_for_a_nearly_flat_bend(opening):
    assert din_correction_mm(opening, 3, 3) == 0
    assert bend(180 - opening, 3, 3, rule=DIN_RULE).deduction_mm == pytest.approx(0, abs=1e-12)


def test_din_6935_factor_is_one_for_a_wide_radius():
    assert din_k(16, 3) == 1
    assert din_k(15, 3) == pytest.approx(0.9995, abs=5e-5)


@settings(max_examples=50)
@given(
    angles=st.lists(st.floats(20, 120), min_size=1, max_size=4),
    radius=st.floats(1, 6),
    thickness=st.floats(1, 6),
    legs=st.lists(st.floats(30, 300), min_size=5, max_size=5),
)
def test_flat_and_folded_legs_lead_to_each_other(angles, radius, thickness, legs):
    bends = [bend(angle, radius, thickness) for angle in angles]
    flat = legs[: len(bends) + 1]

    assert flat_length_mm(outside_legs_mm(flat, bends), bends) == pytest.approx(sum(flat))


@pytest.mark.parametrize(
    ("angle", "radius", "thickness", "k"),
    [(0, 3, 3, 0.4), (180, 3, 3, 0.4), (90, -1, 3, 0.4), (90, 3, 0, 0.4)],
)
def test_a_bend_that_cannot_be_is_refused(angle, radius, thickness, k):
    with pytest.raises(ProblemError):
        bend(angle, radius, thickness, k_factor=k)


def test_din_6935_refuses_a_radius_too_sharp_for_its_factor():
    with pytest.raises(ProblemError, match="DIN 6935 gives no figure"):
        bend(90, 0.1, 6, rule=DIN_RULE)
