"""Figures of flat outlines, against closed forms and two geometry libraries."""

import math
import random
from itertools import pairwise

import pytest
from ezdxf.math import bulge_center, bulge_radius, bulge_to_arc
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from bom.geometry.outlines import (
    Contour,
    Edge,
    FlatOutline,
    Vertex,
    area_mm2,
    bounding_box,
    centroid,
    cut_length_mm,
    flatten,
    from_text,
    mass_kg,
    pierces,
    svg_path,
    to_text,
    transform,
)
from bom.geometry.shapes import FAMILIES
from bom.kernel.errors import ProblemError


def _contour(*vertices):
    return Contour(tuple(Vertex(*vertex) for vertex in vertices))


SQUARE = _contour((0, 0), (100, 0), (100, 100), (0, 100))
DISC = _contour((-50, 0, 1), (50, 0, 1))
HALF_DISC = _contour((-30, 0, 0), (30, 0, 1))
OBROUND = _contour((-20, -10), (20, -10, 1), (20, 10), (-20, 10, 1))
NOTCHED = _contour((0, 0), (100, 0), (100, 60), (75, 60, -1), (25, 60), (0, 60))


@pytest.mark.parametrize(
    ("contour", "area", "length", "box"),
    [
        pytest.param(SQUARE, 10000, 400, (0, 0, 100, 100), id="square"),
        pytest.param(DISC, math.pi * 2500, math.pi * 100, (-50, -50, 50, 50), id="disc"),
        pytest.param(HALF_DISC, math.pi * 450, 60 + math.pi * 30, (-30, 0, 30, 30), id="half disc"),
        pytest.param(OBROUND, 800 + math.pi * 100, 80 + math.pi * 20, (-30, -10, 30, 10), id="slot"),
        pytest.param(
            NOTCHED,
            6000 - math.pi * 625 / 2,
            320 - 50 + math.pi * 25,
            (0, 0, 100, 60),
            id="half round notch",
        ),
    ],
)
def test_closed_forms(contour, area, length, box):
    outline = FlatOutline(contour)

    assert area_mm2(outline) == pytest.approx(area, rel=1e-12)
    assert cut_length_mm(outline) == pytest.approx(length, rel=1e-12)
    assert bounding_box(outline) == pytest.approx(box, abs=1e-9)


def test_the_notch_goes_inwards():
    assert min(y for x, y in flatten(NOTCHED, 0.01) if 40 < x < 60 and y > 0) == pytest.approx(35, abs=0.01)


def test_the_centroid_of_a_half_disc():
    assert centroid(FlatOutline(HALF_DISC)) == pytest.approx((0, 4 * 30 / (3 * math.pi)), abs=1e-9)


def test_a_hole_takes_area_and_moves_the_centroid_away():
    hole = _contour((70, 50, 1), (90, 50, 1))
    outline = FlatOutline(SQUARE, (hole,))
    area = 10000 - math.pi * 100

    assert area_mm2(outline) == pytest.approx(area)
    assert pierces(outline) == 2
    assert cut_length_mm(outline) == pytest.approx(400 + math.pi * 20)
    assert centroid(outline) == pytest.approx(((10000 * 50 - math.pi * 100 * 80) / area, 50))


def test_the_direction_of_a_contour_changes_no_figure():
    hole = _contour((70, 50, 1), (90, 50, 1))
    turned_hole = _contour((70, 50, -1), (90, 50, -1))
    turned_square = Contour(tuple(reversed(SQUARE.vertices)))
    one, other = FlatOutline(SQUARE, (hole,)), FlatOutline(turned_square, (turned_hole,))

    assert area_mm2(one) == pytest.approx(area_mm2(other))
    assert centroid(one) == pytest.approx(centroid(other))


# Density 7850 kg/m3 and sheet masses: https://www.tatasteelbluebook.com/en-gb/building-codes/eurocode-3/
# uk-na/general-notes/dimensions-of-sections/ (7.85 kg for each square metre and millimetre).
@pytest.mark.parametrize(
    ("length", "width", "thickness", "mass"),
    [(3000, 1500, 3, 105.975), (2500, 1250, 2, 49.0625), (3000, 1500, 5, 176.625)],
)
def test_mass_of_whole_sheets(length, width, thickness, mass):
    sheet = FlatOutline(_contour((0, 0), (length, 0), (length, width), (0, width)))

    assert mass_kg(sheet, thickness) == pytest.approx(mass, rel=1e-12)


def test_an_outline_without_area_has_no_centroid():
    with pytest.raises(ProblemError, match="encloses no area"):
        centroid(FlatOutline(_contour((0, 0), (10, 0), (20, 0))))


coordinates = st.integers(-500_000, 500_000).map(lambda tenths: tenths / 1000)
bulges = st.floats(-3, 3).filter(lambda bulge: abs(bulge) > 0.01)


@given(coordinates, coordinates, coordinates, coordinates, bulges)
def test_arcs_are_those_of_ezdxf(x1, y1, x2, y2, bulge):
    start, end = (x1, y1), (x2, y2)
    if math.dist(start, end) < 1:
        end = (x2 + 5, y2)
    edge = Edge(start, end, bulge)
    centre, begin, stop, radius = bulge_to_arc(start, end, bulge)

    assert edge.radius_mm == pytest.approx(radius) == pytest.approx(bulge_radius(start, end, bulge))
    assert edge.centre == pytest.approx((centre.x, centre.y), abs=1e-6)
    assert edge.centre == pytest.approx(tuple(bulge_center(start, end, bulge))[:2], abs=1e-6)
    assert abs(edge.angle) == pytest.approx((stop - begin) % math.tau)


@pytest.mark.parametrize("name", FAMILIES)
def test_figures_of_every_family_are_those_of_shapely(name):
    outline = FAMILIES[name]()
    holes = [flatten(inner, 1e-5) for inner in outline.inners]
    polygon = Polygon(flatten(outline.outer, 1e-5), holes)

    assert polygon.is_valid
    assert area_mm2(outline) == pytest.approx(polygon.area, rel=1e-5)
    assert cut_length_mm(outline) == pytest.approx(polygon.length, rel=1e-5)
    assert centroid(outline) == pytest.approx((polygon.centroid.x, polygon.centroid.y), abs=1e-3)
    assert bounding_box(outline) == pytest.approx(polygon.bounds, abs=1e-3)


@pytest.mark.parametrize("bulge", [1e-9, 1e-6, 0.999e-3, 1.001e-3, 0.01, -1e-6])
def test_hardly_bent_edges_keep_their_figures(bulge):
    bent = _contour((0, 0, bulge), (100, 0), (100, 100), (0, 100))
    polygon = Polygon(flatten(bent, 1e-9))

    assert bent.area_mm2 == pytest.approx(polygon.area, abs=1e-3)
    assert centroid(FlatOutline(bent)) == pytest.approx((polygon.centroid.x, polygon.centroid.y), abs=5e-6)


@given(st.floats(0.001, 5), st.floats(1, 1000), bulges)
def test_no_chord_strays_further_than_the_sagitta(sagitta, chord, bulge):
    edge = Edge((0.0, 0.0), (chord, 0.0), bulge)
    points = [*edge.points(sagitta), edge.end]
    for one, other in pairwise(points):
        half = math.dist(one, other) / 2
        assert math.dist(one, edge.centre) == pytest.approx(edge.radius_mm, rel=1e-9)
        assert edge.radius_mm - math.sqrt(max(0, edge.radius_mm**2 - half**2)) <= max(sagitta, 1e-6) * 1.001


@given(
    st.lists(
        st.tuples(coordinates, coordinates, st.integers(-(10**9), 10**9).map(lambda b: b / 1e9)), min_size=1
    )
)
def test_a_contour_comes_back_exactly_from_its_text(vertices):
    contour = _contour(*vertices)

    assert from_text(to_text(contour)) == contour


def test_the_text_form_is_short_and_plain():
    assert to_text(_contour((0, -0.0, 1), (10.5, 1 / 3))) == "0,0,1;10.5,0.333,0"
    assert from_text(" 0,0 ; 1,0,0.5 ;2,2; ") == _contour((0, 0), (1, 0, 0.5), (2, 2))


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("", ["vertex 1"]),
        ("0,0,0;a,1,0;1,1,0", ["vertex 2"]),
        ("0,0;1;1,2,3,4", ["vertex 2", "vertex 3"]),
        ("0,nan;1,inf;1,1", ["vertex 1", "vertex 2"]),
    ],
)
def test_a_bad_text_names_every_bad_vertex(text, where):
    with pytest.raises(ProblemError) as refusal:
        from_text(text)

    assert [problem.where for problem in refusal.value.problems] == where
    assert all(problem.mend == "Write x,y or x,y,bulge in mm" for problem in refusal.value.problems)


def test_an_svg_path_draws_lines_and_arcs():
    assert svg_path(OBROUND) == "M-20 -10L20 -10A10 10 0 0 1 20 10L-20 10A10 10 0 0 1 -20 -10Z"
    assert "A25 25 0 0 0 25 60" in svg_path(NOTCHED)
    assert " 0 1 1 " in svg_path(_contour((0, 0, 2), (10, 0)))


def test_quarter_turns_are_exact():
    turned = transform(FlatOutline(OBROUND), rotation_deg=90, dx_mm=5, dy_mm=7)

    assert turned.outer == _contour((15, -13), (15, 27, 1), (-5, 27), (-5, -13, 1))
    assert transform(FlatOutline(OBROUND), rotation_deg=-270) == transform(
        FlatOutline(OBROUND), rotation_deg=90
    )


def test_mirroring_comes_before_turning_and_turns_the_arcs_over():
    mirrored = transform(FlatOutline(NOTCHED), rotation_deg=90, mirrored=True)

    assert mirrored.outer.vertices[3] == Vertex(-60, -75, 1)
    assert area_mm2(mirrored) == pytest.approx(area_mm2(FlatOutline(NOTCHED)))


@pytest.mark.parametrize("name", FAMILIES)
def test_moving_a_part_changes_its_place_only(name):
    outline, rng = FAMILIES[name](), random.Random(name)
    moved = transform(
        outline, rotation_deg=rng.uniform(0, 360), dx_mm=1234.5, dy_mm=-77.7, mirrored=rng.random() < 0.5
    )

    assert area_mm2(moved) == pytest.approx(area_mm2(outline))
    assert cut_length_mm(moved) == pytest.approx(cut_length_mm(outline))
    assert pierces(moved) == pierces(outline)
