"""The rest of a sheet, worked out by hand and compared with exact polygons."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from production.cutting.resting import rest_of


def square(x: float, y: float, length: float, width: float) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + length, y), (x + length, y + width), (x, y + width))


def test_behind_one_row_of_parts_lies_a_rectangle() -> None:
    rest = rest_of(2000, 1000, [square(10, 10, 840, 980)], 10)
    assert rest is not None
    assert (rest.length_mm, rest.width_mm, rest.left_mm) == (1140, 1000, 860)
    assert rest.outline == ((1140, 0), (1140, 1000), (0, 1000), (0, 0))
    assert rest.share == pytest.approx(0.57)


def test_a_step_is_kept_as_it_lies() -> None:
    rest = rest_of(2000, 1000, [square(10, 10, 1480, 480), square(10, 510, 480, 480)], 10)
    assert rest is not None
    assert rest.area_mm2 == 2000 * 1000 - 1500 * 500 - 500 * 500
    assert (rest.length_mm, rest.width_mm) == (1500, 500)
    assert set(rest.sheet_outline) == {
        (2000, 0),
        (2000, 1000),
        (500, 1000),
        (500, 500),
        (1500, 500),
        (1500, 0),
    }


def test_cut_off_straight_it_begins_behind_the_furthest_part() -> None:
    parts = [square(10, 10, 1480, 480), square(10, 510, 480, 480)]
    rest = rest_of(2000, 1000, parts, 10, straight=True)
    assert rest is not None
    assert (rest.length_mm, rest.width_mm, rest.area_mm2) == (500, 1000, 500_000)


def test_a_bay_too_narrow_for_shears_is_given_up() -> None:
    parts = [square(10, 10, 980, 430), square(10, 550, 980, 430)]
    rest = rest_of(2000, 1000, parts, 10)
    assert rest is not None
    assert len(rest.outline) == 4


def test_a_full_sheet_leaves_nothing() -> None:
    assert rest_of(2000, 1000, [square(10, 10, 1985, 980)], 10) is None


def test_a_thin_strip_is_not_worth_keeping() -> None:
    rest = rest_of(2000, 1000, [square(10, 10, 1840, 980)], 10)
    assert rest is not None
    assert not rest.is_worth_keeping


corner = st.floats(0, 1500, allow_nan=False)


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(corner, st.floats(0, 850), st.floats(20, 400), st.floats(20, 150)), min_size=1, max_size=8
    )
)
def test_no_part_comes_nearer_than_the_gap_and_the_rectangle_fits(sizes) -> None:
    """Triangles, so that slanted edges are tried as well."""
    rings = [((x, y), (x + length, y + width / 3), (x, y + width)) for x, y, length, width in sizes]
    rest = rest_of(2000, 1000, rings, 5)
    assert rest is not None
    outline = Polygon(rest.sheet_outline)
    assert outline.is_valid
    assert outline.area == pytest.approx(rest.area_mm2)
    assert box(0, 0, 2000, 1000).contains(outline) or box(0, 0, 2000, 1000).covers(outline)
    assert all(outline.distance(Polygon(ring)) >= 5 - 1e-6 for ring in rings)
    assert rest.length_mm * rest.width_mm <= rest.area_mm2 + 1e-6


def test_a_hole_within_the_rest_stays_and_its_metal_is_not_counted() -> None:
    rest = rest_of(2000, 1000, [square(10, 10, 480, 980)], 10, holes=[square(1500, 300, 200, 400)])
    assert rest is not None
    assert rest.left_mm == 500
    assert rest.holes == (square(1000, 300, 200, 400),)
    assert rest.area_mm2 == 1500 * 1000 - 200 * 400
    # Left of the hole lies more than above or below it.
    assert (rest.length_mm, rest.width_mm) == (1000, 1000)


def test_the_rest_begins_behind_a_hole_that_its_outline_would_run_through() -> None:
    rest = rest_of(2000, 1000, [square(10, 10, 480, 980)], 10, holes=[square(450, 300, 200, 400)])
    assert rest is not None
    assert rest.holes == ()
    assert not Polygon(rest.sheet_outline).intersects(Polygon(square(450, 300, 200, 400)))


@settings(max_examples=40)
@given(
    st.lists(st.tuples(corner, st.floats(0, 850), st.floats(20, 400), st.floats(20, 150)), max_size=4),
    st.lists(
        st.tuples(st.floats(5, 1700), st.floats(5, 800), st.floats(5, 250), st.floats(5, 150)), max_size=3
    ),
    st.booleans(),
)
def test_the_rest_is_never_counted_where_a_hole_is(parts, holes, straight) -> None:
    rings = [square(*sizes) for sizes in holes]
    rest = rest_of(2000, 1000, [square(*one) for one in parts], 5, straight=straight, holes=rings)
    if rest is None:
        return
    outline = Polygon(rest.sheet_outline)
    inside = [Polygon([(x + rest.left_mm, y) for x, y in hole]) for hole in rest.holes]
    assert all(outline.contains(hole) for hole in inside)
    for ring in rings:
        covered = outline.intersection(Polygon(ring))
        for hole in inside:
            covered = covered.difference(hole.buffer(1e-6))
        assert covered.area == pytest.approx(0, abs=1e-3)
