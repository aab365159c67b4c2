"""Sheets that are no plain rectangles: offcuts with steps and holes, sheets held by clamps."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from bom.kernel.errors import ProblemError
from production.cutting.nesting.check import check_nest
from production.cutting.nesting.job import Clamp, NestedSheet, NestResult, Placement, SheetStock
from production.cutting.nesting.nest import nest
from tests.production.cutting.nesting.shop import LARGE, box, bracket, frame, never_stop, plate, quick

STEPPED = ((0.0, 0.0), (900.0, 0.0), (900.0, 600.0), (400.0, 600.0), (400.0, 300.0), (0.0, 300.0))
WINDOW = box(120, 120, 600, 250)
OFFCUT = SheetStock("offcut", 900.0, 600.0, 1, 0.0, STEPPED, (WINDOW,))

steps = st.lists(st.tuples(st.integers(100, 500), st.integers(100, 600)), min_size=1, max_size=4)


def stairs(code, rises):
    """An offcut that steps up from left to right, each step wide and high as given."""
    points, x, y = [(0.0, 0.0)], 0.0, 0.0
    tops = []
    for wide, high in rises:
        y = max(y, float(high))
        tops += [(x, y), (x + wide, y)]
        x += wide
    points += [(x, 0.0), *reversed(tops)]
    return SheetStock(code, x, y, 1, 0.0, tuple(dict.fromkeys(points)))


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps, st.sampled_from([0.0, 5.0]), st.sampled_from([0.0, 8.0]))
def test_any_stairs_are_used_within_their_true_outline(rises, gap, margin):
    stocks = [stairs("stairs", rises), LARGE]
    job = [plate("tab", 90, 60, 12), bracket("hanger", 180, 60, 3)]
    how = quick(0.05, gap_mm=gap, margin_mm=margin)

    result = nest(job, stocks, how, never_stop)

    assert check_nest(job, stocks, how, result) == []
    assert result.unplaced == ()


def test_parts_lie_on_the_metal_of_an_offcut_and_its_use_counts_that_metal():
    job = [plate("tab", 90, 60, 20)]
    how = quick()

    result = nest(job, [LARGE, OFFCUT], how, never_stop)

    [sheet] = [sheet for sheet in result.sheets if sheet.stock_code == "offcut"]
    lying = [placement for placement in result.placements if placement.sheet == sheet.number]
    metal = Polygon(STEPPED, [WINDOW])
    assert len(lying) == 20
    assert sheet.use == pytest.approx(20 * 5400 / metal.area)


def test_a_part_that_fits_the_box_of_an_offcut_but_not_its_metal_goes_on_a_sheet():
    result = nest([plate("door", 600, 400, 1)], [LARGE, OFFCUT], quick(), never_stop)

    assert [sheet.stock_code for sheet in result.sheets] == [LARGE.code]


def test_nothing_lies_under_a_clamp_even_where_the_strip_packer_put_it():
    clamps = (Clamp(0.0, 0.0, 60.0, 1500.0), Clamp(1400.0, 1400.0, 200.0, 200.0))
    held = replace(LARGE, clamps=clamps)
    job = [bracket("hanger", 420, 120, 20), frame("ring", 300, 40, 10), plate("gusset", 90, 60, 40)]
    how = quick(4.0)

    result = nest(job, [held], how, never_stop)

    assert check_nest(job, [held], how, result) == []
    assert result.unplaced == ()
    assert min(placement.x_mm for placement in result.placements) >= 0


def faults(stock, placement):
    """What the checker says of one tab of 90 × 60 on the stock."""
    part = plate("tab", 90, 60, 1)
    whole = Polygon(stock.outline, stock.holes).area if stock.outline else stock.length_mm * stock.width_mm
    sheet = NestedSheet(1, stock.code, stock.length_mm, stock.width_mm, placement.x_mm + 90, 5400 / whole, 1)
    result = NestResult((sheet,), (placement,), (), 0.1, 0.0)
    return " ".join(map(str, check_nest([part], [stock], quick(margin_mm=10.0), result)))


@pytest.mark.parametrize(
    ("x_mm", "y_mm", "words"),
    [
        pytest.param(500.0, 20.0, "", id="good"),
        pytest.param(50.0, 400.0, "lies off the sheet's metal", id="beyond a step"),
        pytest.param(610.0, 270.0, "lies off the sheet's metal", id="in a hole already cut"),
        pytest.param(405.0, 400.0, "comes within 5.000 mm of the sheet's edge", id="near a step"),
        pytest.param(725.0, 270.0, "comes within 5.000 mm of the sheet's edge", id="near a hole"),
    ],
)
def test_the_checker_measures_to_the_true_outline(x_mm, y_mm, words):
    said = faults(OFFCUT, Placement("tab", 1, x_mm, y_mm, 0.0, False))

    assert words in said
    assert bool(said) == bool(words)


def test_the_checker_sees_a_part_under_a_clamp():
    held = SheetStock("held", 1000.0, 500.0, 1, 1.0, clamps=(Clamp(100.0, 0.0, 50.0, 80.0),))

    assert "where the sheet is held" in faults(held, Placement("tab", 1, 90.0, 20.0, 0.0, False))
    assert faults(held, Placement("tab", 1, 150.0, 20.0, 0.0, False)) == ""


@pytest.mark.parametrize(
    ("stock", "words"),
    [
        (replace(OFFCUT, outline=((0, 0), (900, 600), (900, 0), (0, 600))), "crosses itself"),
        (replace(OFFCUT, length_mm=950.0), "not the stated size"),
        (replace(LARGE, clamps=(Clamp(0, 0, 0, 5),)), "A clamp has no size"),
    ],
)
def test_offcuts_and_clamps_that_make_no_sense_are_refused(stock, words):
    with pytest.raises(ProblemError, match=words):
        nest([plate("tab", 90, 60, 1)], [stock], quick(), never_stop)
