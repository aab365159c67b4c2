"""The balance of moments against a statics example worked by hand and against a linear solve by NumPy."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bom.ratings.frame import Aim, Frame, HullFigures
from bom.ratings.moments import (
    Group,
    Mass,
    axle_for_nose_mm,
    front_for_share_mm,
    nose_kg,
    place_for_nose_mm,
    two_supports_kg,
)
from bom.ratings.set_up import set_up

KG = st.floats(min_value=20, max_value=3000)
PLACE = st.floats(min_value=500, max_value=8000)
AXLE = st.floats(min_value=2500, max_value=7000)


def test_the_example_worked_by_hand():
    """Statics, a beam on two supports, worked by hand: coupling at 0, axle at 4.20 m, boat 900 kg at 3.95 m, trailer
    350 kg at 3.60 m. Axle = (900 × 3.95 + 350 × 3.60) ÷ 4.20 = 1146.429 kg, nose 103.571 kg, 8.286 %."""
    masses = (Mass("boat", 900, 3950), Mass("trailer", 350, 3600))

    nose = nose_kg(masses, Group(4200))

    assert nose == pytest.approx(103.571, abs=5e-4)
    assert 1250 - nose == pytest.approx(1146.429, abs=5e-4)
    assert nose / 1250 == pytest.approx(0.08286, abs=5e-6)
    assert axle_for_nose_mm(masses, nose, Group(1)) == pytest.approx(4200)


def test_mass_over_the_axle_or_over_the_coupling():
    assert nose_kg((Mass("m", 500, 4000),), Group(4000)) == pytest.approx(0)
    assert nose_kg((Mass("m", 500, 0),), Group(4000)) == pytest.approx(500)
    assert nose_kg((Mass("m", 500, 4400),), Group(4000)) == pytest.approx(-50)


@settings(max_examples=60)
@given(st.lists(st.tuples(KG, PLACE), min_size=1, max_size=5), AXLE)
def test_one_axle_agrees_with_a_linear_solve(masses, axle):
    """Sum of forces and sum of moments about the coupling as two equations, solved by numpy.linalg.solve."""
    loads = [Mass("m", kg, at) for kg, at in masses]
    equations = np.array([[1.0, 1.0], [0.0, axle]])
    right = np.array([sum(kg for kg, _ in masses), sum(kg * at for kg, at in masses)])
    nose, _ = np.linalg.solve(equations, right)

    assert nose_kg(loads, Group(axle)) == pytest.approx(nose, rel=1e-9, abs=1e-6)


@settings(max_examples=60)
@given(st.lists(st.tuples(KG, PLACE), min_size=1, max_size=5), AXLE, st.floats(min_value=500, max_value=1200))
def test_two_axles_sprung_apart_agree_with_a_linear_solve(masses, axle, spread):
    """Three unknowns (nose, front, rear): forces, moments, and equal springs under a frame that turns about the
    coupling, so that front ÷ rear is as their distances; solved by numpy.linalg.solve."""
    front, rear = axle - spread / 2, axle + spread / 2
    loads = [Mass("m", kg, at) for kg, at in masses]
    equations = np.array([[1.0, 1.0, 1.0], [0.0, front, rear], [0.0, rear, -front]])
    total = sum(kg for kg, _ in masses)
    nose, first, second = np.linalg.solve(
        equations, np.array([total, sum(kg * at for kg, at in masses), 0.0])
    )
    group = Group(axle, spread, shares_equally=False)

    assert nose_kg(loads, group) == pytest.approx(nose, rel=1e-9, abs=1e-6)
    carried = total - nose_kg(loads, group)
    assert [share * carried for share in group.shares] == pytest.approx([first, second], rel=1e-9, abs=1e-6)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(KG, PLACE), min_size=1, max_size=4),
    st.floats(min_value=0.02, max_value=0.3),
    st.sampled_from([(0.0, True), (800.0, True), (800.0, False)]),
)
def test_the_axle_solved_for_gives_the_wanted_nose_load(masses, share, twin):
    loads = [Mass("m", kg, at) for kg, at in masses]
    wanted = share * sum(kg for kg, _ in masses)
    spread, equally = twin
    assume(sum(m.kg * m.at_mm for m in loads) / (sum(m.kg for m in loads) - wanted) > spread + 1)

    axle = axle_for_nose_mm(loads, wanted, Group(1, spread, equally))

    assert nose_kg(loads, Group(axle, spread, equally)) == pytest.approx(wanted, rel=1e-6)


@settings(max_examples=40)
@given(KG, PLACE, KG, AXLE, st.floats(min_value=10, max_value=150))
def test_the_hull_placed_for_a_nose_load_gives_it(body, at, hull, axle, wanted):
    place = place_for_nose_mm((Mass("body", body, at),), hull, wanted, Group(axle))

    assert nose_kg((Mass("body", body, at), Mass("hull", hull, place)), Group(axle)) == pytest.approx(
        wanted, abs=1e-6
    )


@settings(max_examples=40)
@given(KG, st.floats(min_value=0.1, max_value=0.9), st.floats(min_value=3000, max_value=5000))
def test_supports_share_as_asked(kg, share, at):
    front = front_for_share_mm(at, 6000, share)

    on_front, on_rear = two_supports_kg(kg, at, front, 6000)

    assert on_rear == pytest.approx(share * kg)
    assert on_front + on_rear == pytest.approx(kg)


FRAME = Frame(
    body_kg=180,
    body_at_mm=2900,
    running_gear_kg=70,
    axle_from_mm=3300,
    axle_to_mm=4400,
    post_from_mm=700,
    post_to_mm=2000,
    bow_behind_post_mm=150,
    rear_support_mm=5400,
    front_support_from_mm=2050,
    transom_before_mm=150,
    transom_beyond_mm=250,
)


@settings(max_examples=80)
@given(
    st.floats(min_value=150, max_value=600),
    st.floats(min_value=3200, max_value=4900),
    st.floats(min_value=0.3, max_value=0.5),
)
def test_a_set_up_keeps_to_slots_post_and_moments(mass, bow_to_transom, centre):
    hull = HullFigures(mass, bow_to_transom * 1.03, bow_to_transom, centre * bow_to_transom)

    found = set_up(hull, FRAME, Aim(0.06, 0.5))

    equations = np.array([[1.0, 1.0], [0.0, found.axle_mm]])
    right = np.array([180 + mass, 180 * 2900 + mass * found.hull_at_mm])
    nose, axle = np.linalg.solve(equations, right)
    assert found.nose_kg == pytest.approx(nose)
    assert found.on_axles_kg == pytest.approx(axle + 70)
    assert found.nose_kg + found.on_axles_kg == pytest.approx(found.laden_kg)
    assert FRAME.axle_from_mm <= found.axle_mm <= FRAME.axle_to_mm
    assert FRAME.post_from_mm - 0.5 <= found.post_mm <= FRAME.post_to_mm + 0.5
    assert found.transom_mm - found.bow_mm == pytest.approx(bow_to_transom)
    if found.is_wanted_met:
        assert found.nose_kg == pytest.approx(0.06 * found.laden_kg, abs=2)
    else:
        assert found.notes


def test_the_sensitivity_is_the_same_sum_with_the_figure_changed():
    """Worked by hand: moving 400 kg forward by 100 mm over an axle at E adds 400 × 100 ÷ E to the nose."""
    found = set_up(HullFigures(400, 4600, 4500, 1800), FRAME, Aim(0.06, 0.5))
    cases = {case.name: case.nose_kg for case in found.cases}

    assert cases["as set"] == pytest.approx(found.nose_kg)
    assert cases["centre of gravity 100 mm further forward"] - found.nose_kg == pytest.approx(
        400 * 100 / found.axle_mm
    )
    assert found.nose_kg - cases["centre of gravity 100 mm further back"] == pytest.approx(
        400 * 100 / found.axle_mm
    )
    change = 20 * (1 - found.hull_at_mm / found.axle_mm)
    assert cases["hull 5 % heavier"] - found.nose_kg == pytest.approx(change)
