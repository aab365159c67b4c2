"""What the screen draws is where the laser cuts."""

import pytest

from bom.kernel.errors import ProblemError
from production.cutting.drawing import Placed, Shape, draw_sheet, place_point, shape_of
from production.cutting.marking import Marking

SQUARE = Shape("M0 0L100 0L100 50L0 50Z", ((0, 0), (100, 0), (100, 50), (0, 50)))


def placed(**changes: object) -> Placed:
    values: dict[str, object] = {
        "id": 1,
        "part_id": 7,
        "code": "PL",
        "mark": 3,
        "order": "2607",
        "state": "waiting",
        "x_mm": 10.0,
        "y_mm": 20.0,
        "rotation_deg": 0.0,
        "mirrored": False,
    }
    return Placed(**{**values, **changes})  # type: ignore[arg-type]


def test_a_part_is_turned_counter_clockwise_about_its_origin_and_then_moved():
    assert place_point((100, 0), placed(rotation_deg=90)) == pytest.approx((10, 120))


def test_a_mirrored_part_is_mirrored_before_it_is_turned():
    assert place_point((100, 0), placed(mirrored=True, rotation_deg=90)) == pytest.approx((10, -80))


def test_the_svg_transform_of_a_mirrored_part_says_the_same():
    drawing = draw_sheet(
        length_mm=2000,
        width_mm=1000,
        margin_mm=10,
        used_mm=900,
        shapes={7: SQUARE},
        placed=[placed(mirrored=True, rotation_deg=90)],
    )
    assert drawing.parts[0].transform == "translate(10.000 20.000) rotate(90.000) scale(-1 1)"


def test_texts_stand_in_the_part_with_y_down():
    drawing = draw_sheet(
        length_mm=2000,
        width_mm=1000,
        margin_mm=10,
        used_mm=900,
        shapes={7: Shape("", ((0, 0), (600, 400)))},
        placed=[placed()],
    )
    first, second = drawing.parts[0].texts
    assert (first.words, second.words) == ("3 · PL", "2607")
    assert first.x == 310
    assert first.y < 780 + 25 < second.y + 25


def test_a_part_too_small_for_its_code_shows_its_mark_and_a_tiny_one_nothing():
    small = draw_sheet(
        length_mm=2000, width_mm=1000, margin_mm=10, used_mm=900, shapes={7: SQUARE}, placed=[placed()]
    )
    tiny = draw_sheet(
        length_mm=2000,
        width_mm=1000,
        margin_mm=10,
        used_mm=900,
        shapes={7: Shape("", ((0, 0), (8, 8)))},
        placed=[placed()],
    )
    assert [text.words for text in small.parts[0].texts] == ["3"]
    assert tiny.parts[0].texts == ()


def test_a_hole_is_drawn_with_the_outside_and_arcs_span_their_whole_reach():
    shape = shape_of(["0,0,1;20,0,1", "5,0,1;15,0,1"])
    assert shape.path.count("M") == 2
    assert {round(y, 6) for _, y in shape.points} == {0, -10, 10}


def test_a_contour_that_cannot_be_read_is_refused():
    with pytest.raises(ProblemError, match="is not a vertex"):
        shape_of(["0,0,0;here"])


def test_marking_a_part_twice_makes_it_good_again():
    marking = Marking.read(["12:edge"], [12, 13])
    assert marking.turned(13).values == ["12:edge", "13:edge"]
    assert marking.turned(12).values == []
    assert marking.because(12, "lost").lost() == {12: "lost between the slats"}
    assert marking.scrapped() == {12: "burnt or rough edge"}


def test_marks_of_other_sheets_and_unknown_reasons_are_passed_over():
    assert Marking.read(["99:edge", "12:gremlin", "x", "12"], [12]).values == []
