"""DXF files read: exact arcs, units, layers, blocks, and every flaw with its place."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from bom.geometry.dxf import asking
from bom.geometry.dxf.asking import ask
from bom.geometry.dxf.writing import dxf_text
from bom.geometry.outlines import Contour, FlatOutline, Vertex, area_mm2, from_text, to_text, transform
from bom.geometry.shapes import FAMILIES
from bom.geometry.strips import Line
from bom.kernel.errors import ProblemError
from tests.bom.geometry.dxf_drawings import RULES, contours, drawing, read, read_text, words

SQUARE = ((0, 0), (100, 0), (100, 100), (0, 100))


def _square(space, at=(0, 0), side=100, layer="0"):
    x, y = at
    corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
    return space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def _lines(space, points, layer="0"):
    for one, other in zip(points, [*points[1:], points[0]], strict=True):
        space.add_line(one, other, dxfattribs={"layer": layer})


def test_lines_and_arcs_in_any_order_and_direction_make_a_contour(tmp_path):
    document, space = drawing()
    space.add_line((0, 0), (80, 0))
    space.add_line((80, 40), (0, 40))
    space.add_arc((80, 20), 20, 270, 90)
    space.add_line((0, 40), (0, 0))
    found = read(document, tmp_path)

    assert found["is_whole"], found["flaws"]
    (outside,) = (from_text(text) for text in contours(found))
    assert outside.area_mm2 == pytest.approx(80 * 40 + math.pi * 200)


def test_a_three_quarter_arc_stays_exact(tmp_path):
    document, space = drawing()
    space.add_arc((0, 0), 30, 0, 270)
    space.add_line((0, -30), (0, 0))
    space.add_line((0, 0), (30, 0))

    (text,) = contours(read(document, tmp_path))
    assert from_text(text).area_mm2 == pytest.approx(0.75 * math.pi * 900, abs=0.03)


@pytest.mark.parametrize(("unit", "scale"), [(1, 25.4), (4, 1), (5, 10), (6, 1000)])
def test_the_unit_of_the_header_counts(tmp_path, unit, scale):
    document, space = drawing(unit)
    space.add_circle((1, 1), 0.5)

    (text,) = contours(read(document, tmp_path))
    assert from_text(text).area_mm2 == pytest.approx(math.pi * 0.25 * scale**2, rel=1e-4)


def test_without_a_unit_it_is_asked_for(tmp_path):
    document, space = drawing(0)
    _square(space)

    assert words(read(document, tmp_path)) == ["The file does not say in which unit it is drawn"]
    assert read(document, tmp_path, unit="mm")["is_whole"]


CONTROL = [(0, 0, 0), (120, -30, 0), (150, 60, 0), (60, 110, 0), (-30, 50, 0)]


def _ellipse(space):
    space.add_ellipse((100, 50), (80, 0), 0.4)
    turns = [math.tau * at / 5000 for at in range(5000)]
    return [(100 + 80 * math.cos(turn), 50 + 32 * math.sin(turn)) for turn in turns]


def _unclamped_spline(space):
    """Evaluated by scipy, apart from the DXF library: the curve is defined between the inner knots only."""
    space.add_spline().set_closed(CONTROL)
    count, around = len(CONTROL), [point[:2] for point in (*CONTROL, *CONTROL[:3])]
    curve = BSpline(np.arange(count + 7), np.array(around, float), 3)
    return curve(np.linspace(3, count + 3, 5000))


@pytest.mark.parametrize("draw", [_ellipse, _unclamped_spline])
def test_a_curve_becomes_chords_within_the_tolerance(tmp_path, draw):
    document, space = drawing()
    samples = draw(space)
    found = read(document, tmp_path)
    assert found["is_whole"], found["flaws"]
    points = [vertex.point for vertex in from_text(contours(found)[0]).vertices]
    segments = list(zip(points, [*points[1:], points[0]], strict=True))

    for sample in samples[::7]:
        nearest = min(_distance(sample, *segment) for segment in segments)
        assert nearest <= 0.0215, "0.02 mm, and 0.001 mm of rounding"


def test_each_curve_that_became_chords_is_named_with_its_place(tmp_path):
    document, space = drawing()
    _square(space)
    spline = space.add_spline(fit_points=[(20, 40), (30, 60), (40, 40)])
    space.add_line((40, 40), (20, 40))
    space.add_ellipse((70, 70), (8, 0), 0.5)
    space.add_ellipse((70, 20), (8, 0), 0.5, dxfattribs={"layer": "FRAME"})
    found = read(document, tmp_path)

    assert found["is_whole"], found["flaws"]
    assert [(row["kind"], row["x_mm"], row["y_mm"]) for row in found["curves"]] == [
        ("SPLINE", pytest.approx(20), pytest.approx(40)),
        ("ELLIPSE", pytest.approx(78), pytest.approx(70)),
    ]
    assert found["curves"][0]["handle"] == spline.dxf.handle
    assert all(row["chords"] >= 8 for row in found["curves"])


def _distance(point, start, end):
    ux, uy = end[0] - start[0], end[1] - start[1]
    along = ((point[0] - start[0]) * ux + (point[1] - start[1]) * uy) / (ux * ux + uy * uy)
    along = min(1, max(0, along))
    return math.dist(point, (start[0] + along * ux, start[1] + along * uy))


def test_holes_marks_and_bends_come_from_their_layers(tmp_path):
    document, space = drawing()
    _square(space)
    space.add_circle((30, 30), 10)
    space.add_line((0, 60), (100, 60), dxfattribs={"layer": "Bend"})
    space.add_line((10, 80), (40, 80), dxfattribs={"layer": "MARK"})
    _square(space, (-500, -500), 2000, "FRAME")
    found = read(document, tmp_path)

    assert found["is_whole"], found["flaws"]
    assert sorted(row["use"] for row in found["paths"]) == ["bend", "hole", "mark", "outside"]


def test_a_layer_without_a_rule_is_named(tmp_path):
    document, space = drawing()
    _square(space)
    space.add_line((0, 0), (5, 5), dxfattribs={"layer": "helpers"})
    found = read(document, tmp_path)

    assert words(found) == ["No rule says what this layer is for"]
    assert found["flaws"][0]["layer"] == "helpers"


def test_blocks_are_taken_apart_where_they_are_put(tmp_path):
    document, space = drawing()
    block = document.blocks.new("HOLE")
    block.add_circle((0, 0), 5)
    _square(space)
    for x in (20, 80):
        space.add_blockref("HOLE", (x, 50))
    found = read(document, tmp_path)

    assert found["is_whole"], found["flaws"]
    assert len(contours(found)) == 3


def test_a_block_put_in_rows_and_columns_is_read_as_often(tmp_path):
    document, space = drawing()
    document.blocks.new("HOLE").add_circle((0, 0), 5)
    _square(space)
    grid = {"column_count": 3, "row_count": 2, "column_spacing": 25, "row_spacing": 40}
    space.add_blockref("HOLE", (20, 30), dxfattribs=grid)

    assert len(contours(read(document, tmp_path))) == 7


def test_what_is_drawn_from_below_is_mirrored_back(tmp_path):
    document, space = drawing()
    space.add_lwpolyline(
        [(0, 0, 0), (-100, 0, 1), (-100, 50, 0), (0, 50, 0)],
        format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1)},
    )  # fmt: skip
    (text,) = contours(read(document, tmp_path))

    assert from_text(text).vertices[1].point == (100, 0)
    assert from_text(text).vertices[1].bulge == -1


def _open(space):
    for one, other in pairwise(SQUARE):
        space.add_line(one, other)


def _branch(space):
    _lines(space, SQUARE)
    space.add_line((0, 0), (50, 50))


def _twice(space):
    _square(space)
    space.add_line((100, 0), (0, 0))
    _square(space)


def _no_length(space):
    _square(space)
    space.add_line((40, 40), (40, 40))


def _bow_tie(space):
    space.add_lwpolyline([(0, 0), (100, 100), (100, 0), (0, 100)], close=True)


def _crossing_hole(space):
    _square(space)
    space.add_circle((100, 50), 10)


def _island(space):
    _square(space)
    space.add_circle((50, 50), 30)
    space.add_circle((50, 50), 10)


def _island_and_crossing(space):
    _island(space)
    space.add_circle((100, 10), 5)


def _two_parts(space):
    _square(space)
    _square(space, (200, 0))


def _bent_bend(space):
    _square(space)
    space.add_arc((50, 50), 30, 0, 90, dxfattribs={"layer": "bend"})


def _bend_beside(space):
    _square(space)
    space.add_line((0, 300), (100, 300), dxfattribs={"layer": "bend"})


def _solid(space):
    _square(space)
    space.add_solid([(0, 0), (1, 0), (0, 1)])


def _tilted(space):
    space.add_circle((0, 0), 10, dxfattribs={"extrusion": (0, 1, 1)})


def _far(space):
    space.add_circle((1e9, 0), 10)


@pytest.mark.parametrize(
    ("draw", "what", "at"),
    [
        (_open, "The contour is open here", (0, 0)),
        (_branch, "3 lines meet in one point", (0, 0)),
        (_twice, "The LWPOLYLINE is drawn twice", (0, 0)),
        (_no_length, "The LINE has no length", (40, 40)),
        (_bow_tie, "The contour crosses or touches itself", (50, 50)),
        (_crossing_hole, "The contour crosses or touches that of entity", None),
        (_island, "An island lies within a hole", None),
        (_two_parts, "There are 2 outsides beside each other", (200, 0)),
        (_bent_bend, "A bend line must be one straight line", (80, 50)),
        (_bend_beside, "The bend line does not cross the part", (0, 300)),
        (_solid, "A SOLID cannot be cut", None),
        (_tilted, "It is drawn in another plane", None),
        (_far, "more than 100 m from the origin", None),
    ],
)
def test_every_flaw_is_told_with_layer_handle_and_point(tmp_path, draw, what, at):
    document, space = drawing()
    draw(space)
    found = read(document, tmp_path)

    assert not found["is_whole"]
    flaw = next(flaw for flaw in found["flaws"] if what in flaw["what"])
    assert flaw["layer"]
    assert flaw["handle"]
    assert flaw["mend"]
    if at:
        assert flaw["at"] == pytest.approx(at)


def test_other_contours_are_still_looked_at_where_two_cross(tmp_path):
    document, space = drawing()
    _island_and_crossing(space)

    assert "An island lies within a hole" in words(read(document, tmp_path))


def test_ends_a_hair_apart_are_joined_and_wider_gaps_are_told(tmp_path):
    for gap, is_whole in ((0.04, True), (0.5, False)):
        document, space = drawing()
        _open(space)
        space.add_line((0, 100), (gap, 0))
        found = read(document, tmp_path)

        assert found["is_whole"] is is_whole
        if not is_whole:
            assert "0.500 mm away" in found["flaws"][0]["mend"]


@pytest.mark.parametrize(
    "content", ["", "no drawing", "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n", "PK\x03\x04" * 40]
)
def test_what_is_no_drawing_is_told_in_words(tmp_path, content):
    found = read_text(content, tmp_path)

    assert not found["is_whole"]
    assert found["flaws"]


def _moved(outline, turned, x, y):
    exact = transform(outline, rotation_deg=turned, dx_mm=x, dy_mm=y)
    contours = [from_text(to_text(contour)) for contour in exact.contours]
    return FlatOutline(contours[0], tuple(contours[1:]))


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    family=st.sampled_from(sorted(FAMILIES)),
    turned=st.sampled_from([0, 90, 180, 270, 33.7]),
    x=st.integers(-500, 500),
    y=st.integers(-500, 500),
)
def test_a_part_written_and_read_again_is_the_same(tmp_path, family, turned, x, y):
    """Equal to the last digit that is stored: 0.001 mm and nine decimals of the bulge."""
    outline = _moved(FAMILIES[family](), turned, x, y)
    found = read_text(dxf_text(outline), tmp_path)

    assert found["is_whole"], found["flaws"]
    assert contours(found) == [to_text(contour) for contour in outline.contours]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    radii=st.lists(st.integers(20_000, 60_000), min_size=3, max_size=9),
    bulges=st.lists(st.integers(-150_000_000, 150_000_000), min_size=9, max_size=9),
)
def test_any_star_of_arcs_comes_back_the_same(tmp_path, radii, bulges):
    count = len(radii)
    vertices = tuple(
        Vertex(
            round(radius / 1000 * math.cos(math.tau * at / count), 3),
            round(radius / 1000 * math.sin(math.tau * at / count), 3),
            bulges[at] / 1e9,
        )
        for at, radius in enumerate(radii)
    )
    outline = FlatOutline(Contour(vertices))
    found = read_text(dxf_text(outline), tmp_path)

    assert contours(found) == [to_text(outline.outer)]
    assert area_mm2(FlatOutline(from_text(contours(found)[0]))) == pytest.approx(outline.outer.area_mm2)


def test_bends_and_marks_come_back_too(tmp_path):
    outline = FAMILIES["light_bracket"]()
    mark = (Vertex(10, 10, 0.5), Vertex(30, 10))
    text = dxf_text(outline, bends=[Line((0, 45), (260, 45))], marks=[(mark, False)])
    found = read_text(text, tmp_path)

    uses = {row["use"]: row["vertices"] for row in found["paths"] if row["use"] in ("bend", "mark")}
    assert uses == {"bend": "0,45,0;260,45,0", "mark": "10,10,0.5;30,10,0"}


def _save(document, folder):
    path = folder / "part.dxf"
    document.saveas(path)
    return str(path)


def test_the_reading_process_answers_for_a_block_that_holds_itself(tmp_path):
    document, space = drawing()
    block = document.blocks.new("LOOP")
    block.add_circle((0, 0), 5)
    block.add_blockref("LOOP", (1, 1))
    space.add_blockref("LOOP", (0, 0))

    assert "A block holds blocks too deep" in words(ask(_save(document, tmp_path), unit="", rules=RULES))


def test_the_reading_process_answers_for_a_block_put_a_million_times(tmp_path):
    document, space = drawing()
    document.blocks.new("HOLE").add_circle((0, 0), 5)
    grid = {"column_count": 1000, "row_count": 1000, "column_spacing": 20, "row_spacing": 20}
    space.add_blockref("HOLE", (0, 0), dxfattribs=grid)

    assert "it is put 1000000 times" in words(ask(_save(document, tmp_path), unit="", rules=RULES))[0]


def test_a_reading_process_that_takes_too_long_is_ended_in_words(tmp_path, monkeypatch):
    monkeypatch.setattr(asking, "SECONDS_ALLOWED", 0)
    document, space = drawing()
    _square(space)

    with pytest.raises(ProblemError, match="Reading took longer than 0 seconds"):
        ask(_save(document, tmp_path), unit="", rules=RULES)


def test_what_stops_the_reading_ends_its_process(tmp_path):
    document, space = drawing()
    _square(space)

    def stop():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ask(_save(document, tmp_path), unit="", rules=RULES, between=stop)


@pytest.mark.parametrize(
    ("code", "told", "what"),
    [
        (1, "Traceback\nMemoryError", "more memory"),
        (-9, "", "more memory"),
        (-24, "", "more computing time"),
        (1, "Traceback\nValueError: odd", "could not be read to its end"),
    ],
)
def test_how_a_reading_process_ended_is_said_in_words(code, told, what):
    assert what in str(asking.ended_badly(code, told))
