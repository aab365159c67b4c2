"""Polygons that stand for outlines with arcs cover the true part, and hardly more."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from bom.geometry.outlines import Contour, Vertex
from production.cutting.nesting.outside import covering_rings


def disc(radius, turn=1):
    """A circle as two half-round arcs, counter-clockwise for turn 1."""
    return Contour((Vertex(-radius, 0, turn), Vertex(radius, 0, turn)))


def true_disc(radius):
    return Point(0, 0).buffer(radius, quad_segs=4000)


@given(st.floats(2, 2000), st.sampled_from([1, -1]))
def test_a_disc_is_covered_and_stands_out_a_tenth_of_a_millimetre_at_most(radius, turn):
    [ring] = covering_rings([disc(radius, turn)])

    assert Polygon(ring).buffer(1e-6).covers(true_disc(radius))
    assert true_disc(radius + 0.1).buffer(1e-3).covers(Polygon(ring))


@given(st.floats(2, 500), st.sampled_from([1, -1]))
def test_a_round_hole_is_never_larger_than_it_is_cut(radius, turn):
    outside = Contour(
        tuple(Vertex(*corner) for corner in ((-999, -999), (999, -999), (999, 999), (-999, 999)))
    )

    _, hole = covering_rings([outside, disc(radius, turn)])

    assert true_disc(radius).buffer(1e-3).covers(Polygon(hole))
    assert Polygon(hole).buffer(1e-3).covers(true_disc(radius - 0.11))


@pytest.mark.parametrize(("bulge", "area"), [(0.5, "more"), (-0.5, "less")])
def test_a_side_that_bulges_in_is_taken_by_its_chords_and_one_that_bulges_out_by_tangents(bulge, area):
    plate = Contour((Vertex(0, 0, bulge), Vertex(100, 0), Vertex(100, 80), Vertex(0, 80)))

    [ring] = covering_rings([plate])

    assert Polygon(ring).area >= plate.area_mm2
    assert Polygon(ring).area == pytest.approx(plate.area_mm2, abs=0.1 * 130)
    assert (Polygon(ring).area > 8000) == (area == "more")
