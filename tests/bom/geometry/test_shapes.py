"""The families of flat parts."""

import inspect
import math

import pytest

from bom.geometry.checks import check_outline
from bom.geometry.drawing import circle, obround, rounded, tapered_link
from bom.geometry.outlines import FlatOutline, area_mm2, bounding_box, from_text, pierces, to_text
from bom.geometry.shapes import (
    FAMILIES,
    coupling_plate,
    flange_ring,
    hanger_plate,
    rectangular_plate,
    tongue_splice,
)
from bom.kernel.errors import ProblemError


def test_there_are_enough_families_to_make_a_trailer():
    assert len(FAMILIES) >= 16


@pytest.mark.parametrize("name", FAMILIES)
def test_every_family_can_be_cut_as_it_comes(name):
    outline = FAMILIES[name]()

    assert check_outline(outline) == []
    assert area_mm2(outline) > 500


@pytest.mark.parametrize("name", FAMILIES)
@pytest.mark.parametrize("scale", [1.25, 2])
def test_every_family_scales_with_its_lengths(name, scale):
    lengths = {
        key: parameter.default * scale
        for key, parameter in inspect.signature(FAMILIES[name]).parameters.items()
        if key.endswith("_mm")
    }
    outline = FAMILIES[name](**lengths)

    assert area_mm2(outline) > area_mm2(FAMILIES[name]())
    assert pierces(outline) == pierces(FAMILIES[name]())


@pytest.mark.parametrize("name", FAMILIES)
def test_every_family_survives_being_stored_as_text(name):
    outline = FAMILIES[name]()
    stored = FlatOutline(*_stored(outline))

    assert check_outline(stored) == []
    assert area_mm2(stored) == pytest.approx(area_mm2(outline), rel=1e-5)


def _stored(outline):
    outer, *inners = (from_text(to_text(contour)) for contour in outline.contours)
    return outer, tuple(inners)


def test_a_plate_is_its_rectangle_less_corners_and_holes():
    plate = rectangular_plate(200, 120, 10, 13, columns=3, rows=2, pitch_x_mm=70, pitch_y_mm=70)
    expected = 200 * 120 - (4 - math.pi) * 100 - 6 * math.pi * 6.5**2

    assert area_mm2(plate) == pytest.approx(expected)
    assert bounding_box(plate) == pytest.approx((0, 0, 200, 120))


def test_a_ring_is_its_disc_less_bore_and_bolts():
    ring = flange_ring(160, 80, 5, 112, 13)

    assert area_mm2(ring) == pytest.approx(math.pi * (80**2 - 40**2 - 5 * 6.5**2))


def test_a_hanger_is_a_rectangle_under_a_half_disc():
    hanger = hanger_plate(90, 160, 24, slots=0)

    assert area_mm2(hanger) == pytest.approx(90 * 115 + math.pi * 45**2 / 2 - math.pi * 12**2)


def test_a_rounded_polygon_loses_its_corners_and_keeps_its_sides():
    assert rounded(((0, 0), (40, 0), (40, 40), (0, 40)), 20).area_mm2 == pytest.approx(math.pi * 400)
    assert len(rounded(((0, 0), (40, 0), (40, 40), (0, 40)), 20).vertices) == 4


def test_a_link_touches_both_circles():
    link = tapered_link((0, 0, 30), (100, 0, 20))

    assert bounding_box(FlatOutline(link)) == pytest.approx((-30, -30, 120, 30))
    half = math.acos(10 / 100)
    sides = 2 * math.sqrt(100**2 - 10**2) * (30 + 20) / 2
    assert link.area_mm2 == pytest.approx(sides + 30**2 * (math.pi - half) + 20**2 * half)


def test_a_slot_is_a_rectangle_between_two_half_discs():
    assert obround(5, 5, 60, 20, turned_deg=33).area_mm2 == pytest.approx(40 * 20 + math.pi * 100)
    assert circle(1, 2, 10).area_mm2 == pytest.approx(math.pi * 25)


@pytest.mark.parametrize(
    ("shape", "says"),
    [
        pytest.param(
            lambda: rectangular_plate(corner_radius_mm=61), "radius at corner 2 is too large", id="radius"
        ),
        pytest.param(
            lambda: rectangular_plate(pitch_x_mm=190), "hole 1: The hole touches the outside", id="edge"
        ),
        pytest.param(lambda: rectangular_plate(pitch_x_mm=300), "lies beyond", id="beyond"),
        pytest.param(lambda: coupling_plate(slots=5), "two to four slots, not 5", id="slots"),
        pytest.param(lambda: tongue_splice(slots=3), "in pairs, not 3", id="pairs"),
        pytest.param(lambda: hanger_plate(height_mm=40), "no foot", id="hanger"),
        pytest.param(lambda: flange_ring(inside_mm=110), "touches hole", id="bore into bolts"),
        pytest.param(lambda: obround(0, 0, 10, 10), "not longer than its width", id="short slot"),
        pytest.param(lambda: tapered_link((0, 0, 30), (5, 0, 10)), "lies within the other", id="link"),
    ],
)
def test_dimensions_that_do_not_go_together_are_refused(shape, says):
    with pytest.raises(ProblemError, match=says):
        shape()
