"""Bend lines on a flat, and the folded part seen from its edge."""

import math

import pytest

from bom.geometry.bending import bend, outside_legs_mm
from bom.geometry.drawing import checked, circle, rectangle, rounded
from bom.geometry.outlines import Contour, FlatOutline, Vertex
from bom.geometry.strips import Line, distance_to_holes_mm, runs_across, side_view, strips

PLATE = checked(rounded(rectangle(180, 110), 4), [circle(90, 55, 20)])


def _upright(x):
    return Line((x, 0), (x, 110))


def test_legs_run_from_edge_to_bend_to_edge():
    found = strips(PLATE, [_upright(120), _upright(50)])

    assert found.order == (1, 0)
    assert found.legs_mm == pytest.approx((50, 70, 60))


def test_legs_are_measured_where_the_bend_lines_are():
    """An L-shaped flat: the tab is 40 long where the bend is, though the part reaches further elsewhere."""
    ell = FlatOutline(
        Contour(tuple(Vertex(*at) for at in ((0, 0), (100, 0), (100, 30), (60, 30), (60, 90), (0, 90))))
    )

    found = strips(ell, [Line((20, 40), (20, 90))])

    assert found.legs_mm == pytest.approx((20, 40))


@pytest.mark.parametrize(
    "lines",
    [
        pytest.param([], id="no bend"),
        pytest.param([_upright(50), Line((0, 50), (180, 50))], id="not the same way"),
        pytest.param([_upright(50), _upright(50)], id="on one line"),
        pytest.param([_upright(-5)], id="beside the part"),
    ],
)
def test_no_strips_where_a_folded_sketch_would_mislead(lines):
    assert strips(PLATE, lines) is None


def test_a_channel_comes_back_over_itself():
    """Two square bends upwards: the last leg runs back over the first, at the folded inside width."""
    bends = [bend(90, 4, 3), bend(90, 4, 3)]
    view = side_view((60, 60, 60), bends, [True, True])
    outside = outside_legs_mm((60, 60, 60), bends)

    width = view.corners[-1][1] - view.corners[0][1]
    assert width == pytest.approx(outside[1] - 3)
    assert view.corners[-1][0] == pytest.approx(0, abs=1e-9)


def test_a_z_goes_on_the_way_it_began():
    view = side_view((60, 60, 60), [bend(90, 4, 3), bend(90, 4, 3)], [True, False])
    (ax, ay), (bx, by) = view.corners[-2:]

    assert (bx - ax) > 0
    assert by == pytest.approx(ay)


def test_the_drawn_middle_line_is_as_long_as_flat_sheet_with_half_the_thickness_neutral():
    """With K = 0.5 nothing is stretched: straight lengths and arcs of the drawing add up to the flat."""
    figures = bend(60, 5, 4, k_factor=0.5)
    view = side_view((70, 50), [figures], [True])
    straights = math.dist(*view.corners[0:2]) + math.dist(*view.corners[2:4])

    assert straights + math.radians(60) * 7 == pytest.approx(120)


def test_no_side_view_where_the_arcs_take_more_than_a_leg():
    assert side_view((60, 5, 60), [bend(90, 4, 3)] * 2, [True, True]) is None


def test_how_near_a_hole_is():
    assert distance_to_holes_mm(PLATE, _upright(120)) == pytest.approx(20, abs=0.01)
    assert distance_to_holes_mm(PLATE, _upright(85)) == 0
    assert distance_to_holes_mm(FlatOutline(PLATE.outer), _upright(85)) == math.inf


def test_a_line_beside_the_part_does_not_run_across_it():
    assert runs_across(PLATE, _upright(20))
    assert not runs_across(PLATE, _upright(200))
    assert not runs_across(PLATE, Line((20, 200), (20, 300)))
