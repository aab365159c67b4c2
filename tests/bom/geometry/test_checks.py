"""What keeps an outline from being cut, and where."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from bom.geometry.checks import check_outline
from bom.geometry.drawing import circle, obround
from bom.geometry.outlines import Contour, FlatOutline, Vertex


def _contour(*vertices):
    return Contour(tuple(Vertex(*vertex) for vertex in vertices))


PLATE = _contour((0, 0), (100, 0), (100, 60), (0, 60))
BOW_TIE = _contour((0, 0), (100, 60), (100, 0), (0, 60))


@pytest.mark.parametrize(
    ("outline", "where", "says"),
    [
        pytest.param(FlatOutline(_contour((0, 0))), "outside", "has 1 vertices", id="point"),
        pytest.param(FlatOutline(_contour((0, 0), (9, 0))), "outside", "has 2 vertices", id="line"),
        pytest.param(
            FlatOutline(_contour((0, 0), (9, 0), (9, 0), (0, 9))),
            "outside",
            "Vertices 2 and 3",
            id="repeated",
        ),
        pytest.param(
            FlatOutline(_contour((0, 0), (9, 0), (9, 9), (0, 0))),
            "outside",
            "Vertices 4 and 1",
            id="closed twice",
        ),
        pytest.param(FlatOutline(_contour((0, 0), (9, 0), (20, 0))), "outside", "no area", id="flat"),
        pytest.param(
            FlatOutline(_contour((0, 0), (100, 60), (100, 0), (0, 40))), "outside", "crosses", id="bow tie"
        ),
        pytest.param(
            FlatOutline(_contour((0, 0), (50, 0), (50, 80), (50, 50), (0, 50))),
            "outside",
            "crosses",
            id="spike",
        ),
        pytest.param(
            FlatOutline(_contour((0, 0), (100, 0), (100, 20, 1), (0, 20, 0.0), (50, -40))),
            "outside",
            "crosses",
            id="notch through the other side",
        ),
        pytest.param(
            FlatOutline(PLATE, (circle(98, 30, 20),)), "hole 1", "touches the outside", id="through"
        ),
        pytest.param(
            FlatOutline(PLATE, (circle(90, 30, 20),)), "hole 1", "touches the outside", id="tangent"
        ),
        pytest.param(
            FlatOutline(PLATE, (circle(30, 30, 9), circle(150, 30, 9))), "hole 2", "beyond", id="out"
        ),
        pytest.param(
            FlatOutline(PLATE, (circle(30, 30, 20), obround(45, 30, 40, 10))),
            "hole 1",
            "touches hole 2",
            id="holes",
        ),
        pytest.param(
            FlatOutline(PLATE, (circle(30, 30, 5), circle(30, 30, 20))),
            "hole 1",
            "within the other",
            id="nested",
        ),
    ],
)
def test_a_bad_outline_is_told(outline, where, says):
    problems = check_outline(outline)

    assert [problem.where for problem in problems] == [where]
    assert says in problems[0].what
    assert problems[0].mend


@pytest.mark.parametrize(
    "outline",
    [
        pytest.param(FlatOutline(PLATE), id="plate"),
        pytest.param(FlatOutline(PLATE, (circle(89.9, 30, 20), circle(30, 30, 20))), id="hole near the edge"),
        pytest.param(FlatOutline(circle(0, 0, 50), (circle(0, 0, 20),)), id="ring of two-vertex circles"),
        pytest.param(FlatOutline(_contour((0, 0), (100, 0, 0.4), (100, 60), (0, 60, -0.2))), id="bulged"),
        pytest.param(
            FlatOutline(_contour((0, 0), (50, 0), (100, 0), (100, 60))), id="vertex on a straight edge"
        ),
        pytest.param(FlatOutline(Contour(tuple(reversed(PLATE.vertices)))), id="clockwise"),
    ],
)
def test_a_good_outline_has_no_problems(outline):
    assert check_outline(outline) == []


def test_a_bow_tie_of_equal_halves_encloses_nothing():
    assert "no area" in check_outline(FlatOutline(BOW_TIE))[0].what


points = st.tuples(st.integers(0, 12), st.integers(0, 12))


@settings(max_examples=300)
@given(st.lists(points, min_size=3, max_size=8, unique=True))
def test_polygons_are_judged_as_shapely_judges_them(corners):
    polygon, contour = Polygon(corners), _contour(*corners)
    simple = polygon.is_valid and polygon.area > 0

    assert (check_outline(FlatOutline(contour)) == []) == simple


@settings(max_examples=200)
@given(st.integers(0, 100), st.integers(0, 60), st.integers(4, 40))
def test_a_hole_is_good_exactly_when_it_keeps_clear_of_the_edges(x, y, diameter):
    clear = min(x, 100 - x, y, 60 - y) > diameter / 2

    assert (check_outline(FlatOutline(PLATE, (circle(x, y, diameter),))) == []) == clear
