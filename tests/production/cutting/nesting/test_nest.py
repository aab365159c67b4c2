"""Nests: every layout may be cut, every part is placed or explained."""

import time
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from production.cutting.nesting.check import check_nest
from production.cutting.nesting.job import NestProgress, NestResult, NestSettings, PartShape, SheetStock
from production.cutting.nesting.nest import nest
from tests.production.cutting.nesting.shop import (
    LARGE,
    SMALL,
    box,
    bracket,
    frame,
    never_stop,
    plate,
    quick,
)

JOB = [bracket("hanger", 420, 120, 12), frame("ring", 300, 40, 6), plate("gusset", 90, 60, 40)]


def placed(result: NestResult, code: str) -> int:
    return sum(placement.part == code for placement in result.placements)


parts = st.builds(
    lambda kind, size, band, number: kind(f"{kind.__name__} {size}", size, size * band, number),
    st.sampled_from([bracket, frame, plate]),
    st.integers(60, 700),
    st.floats(0.1, 0.4),
    st.integers(1, 8),
)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(parts, min_size=1, max_size=5, unique_by=lambda part: part.code),
    st.sampled_from([0.0, 5.0, 12.5]),
    st.sampled_from([0.0, 10.0]),
)
def test_any_job_passes_the_checker_with_every_part_placed(job, gap, margin):
    how = quick(0.05, gap_mm=gap, margin_mm=margin)

    result = nest(job, [LARGE, SMALL], how, never_stop)

    assert check_nest(job, [LARGE, SMALL], how, result) == []
    assert result.unplaced == ()


def test_a_job_with_time_for_strip_packing_passes_the_checker():
    how = quick(3.0)

    result = nest(JOB, [SMALL], how, never_stop)

    assert check_nest(JOB, [SMALL], how, result) == []
    assert result.unplaced == ()
    assert result.notes == ()
    assert result.sheet_equivalents >= result.area_bound_sheets


def test_small_parts_lie_in_the_holes_of_large_ones():
    """One sheet takes four frames and nothing beside them, so the plates can only lie in the holes."""
    stock = SheetStock("tight", 820.0, 820.0, 1, 1.0)
    job = [frame("ring", 392, 40, 4), plate("inside", 150, 150, 4)]

    result = nest(job, [stock], quick(gap_mm=4.0, margin_mm=10.0), never_stop)

    assert result.unplaced == ()
    assert len(result.sheets) == 1


def test_a_part_that_fits_no_sheet_is_left_over_with_the_reason_and_the_rest_is_nested():
    job = [plate("floor", 3200, 500, 2), plate("gusset", 90, 60, 4)]

    result = nest(job, [LARGE], quick(), never_stop)

    (left,) = result.unplaced
    assert (left.code, left.quantity) == ("floor", 2)
    assert "fits no sheet in any allowed rotation: it needs 3200 × 500 mm" in left.reason
    assert "2980 × 1480 mm inside its margins" in left.reason
    assert placed(result, "gusset") == 4


def test_a_part_too_tall_as_drawn_is_turned_when_it_may_be_and_left_over_when_not():
    tall = box(200, 1900)
    turning = PartShape("turning", tall, (), 1, (0.0, 90.0))
    upright = PartShape("upright", tall, (), 1, (0.0,))

    result = nest([turning, upright], [SMALL], quick(), never_stop)

    assert [(p.part, p.rotation_deg) for p in result.placements] == [("turning", 90.0)]
    assert [left.code for left in result.unplaced] == ["upright"]


def test_a_part_exactly_as_large_as_the_room_inside_the_margins_is_placed():
    result = nest([plate("cover", 1980, 980, 2)], [SMALL], quick(2.0), never_stop)

    assert len(result.sheets) == 2
    assert result.unplaced == ()


def test_sheets_that_run_out_leave_parts_over_with_the_reason():
    one = SheetStock("offcut", 500.0, 500.0, 1, 0.0)

    result = nest([plate("door", 400, 400, 3)], [one], quick(), never_stop)

    (left,) = result.unplaced
    assert (left.quantity, left.reason) == (2, "no sheet is left to cut it from")


def test_an_offcut_already_paid_for_is_used_before_a_new_sheet():
    offcut = SheetStock("offcut", 700.0, 500.0, 1, 0.0)

    result = nest([plate("door", 400, 400, 3)], [LARGE, offcut], quick(), never_stop)

    assert [sheet.stock_code for sheet in result.sheets] == ["offcut", LARGE.code]


def test_a_few_parts_go_on_the_cheap_small_sheet():
    result = nest([plate("gusset", 90, 60, 10)], [LARGE, SMALL], quick(), never_stop)

    assert [sheet.stock_code for sheet in result.sheets] == [SMALL.code]


def test_urgent_parts_lie_on_an_earlier_sheet_than_larger_ones():
    job = [plate("later", 900, 450, 8), plate("now", 300, 300, 6, priority=1)]

    result = nest(job, [SMALL], quick(), never_stop)

    assert {placement.sheet for placement in result.placements if placement.part == "now"} == {1}


def test_a_part_that_only_fits_mirrored_is_mirrored_when_it_may_be():
    """Turned by 20° the wedge is 400 sin + 100 cos = 231 mm high, mirrored first 400 sin = 137 mm."""
    wedge = ((0.0, 0.0), (400.0, 0.0), (400.0, 100.0))
    stocks = [SheetStock("narrow", 600.0, 200.0, 1, 1.0)]
    may, may_not = (PartShape("flap", wedge, (), 1, (20.0,), may_mirror=may) for may in (True, False))

    mirrored = nest([may], stocks, quick(), never_stop)
    as_drawn = nest([may_not], stocks, quick(), never_stop)

    assert [placement.mirrored for placement in mirrored.placements] == [True]
    assert [left.code for left in as_drawn.unplaced] == ["flap"]


def test_many_equal_parts_repeat_one_layout():
    result = nest([plate("step", 700, 400, 200)], [SMALL], quick(), never_stop)

    layouts = [sheet.layout for sheet in result.sheets]
    assert len(layouts) > 10
    assert len(set(layouts)) <= 3


def test_a_thousand_parts_of_many_kinds_are_all_placed():
    job = [bracket(f"B{size}", size, size / 3, 40) for size in range(100, 600, 20)]

    result = nest(job, [LARGE], quick(), never_stop)

    assert sum(part.quantity for part in job) == len(result.placements) == 1000


def test_told_to_stop_while_packing_it_answers_soon_with_a_whole_plan():
    asked: list[float] = []

    def stop_when_packing(progress: NestProgress) -> bool:
        if progress.step == "packing sheets":
            asked.append(time.monotonic())
        return not asked

    result = nest(JOB, [SMALL], quick(8.0), stop_when_packing)

    assert result.stopped
    assert asked
    assert len(result.placements) == sum(part.quantity for part in JOB)


def test_told_to_stop_at_once_it_lists_everything_as_left_over():
    result = nest(JOB, [SMALL], quick(), lambda _: False)

    assert result.stopped
    assert sum(left.quantity for left in result.unplaced) == sum(part.quantity for part in JOB)
    assert {left.reason for left in result.unplaced} == {"the search was stopped before it was placed"}


def test_progress_counts_towards_the_whole():
    seen: list[NestProgress] = []

    def watch(progress: NestProgress) -> bool:
        seen.append(progress)
        return True

    nest(JOB, [SMALL], quick(1.0), watch)

    assert all(0 <= report.share <= 1 and report.wanted == 58 for report in seen)
    assert seen[-1].placed == 58


@pytest.mark.parametrize(
    ("job", "stocks", "how", "words"),
    [
        pytest.param([plate("a", 9, 9, -1)], [SMALL], quick(), "The quantity is -1", id="quantity"),
        pytest.param([PartShape("a", box(9, 9), (), 1, ())], [SMALL], quick(), "No rotation", id="rotation"),
        pytest.param(
            [PartShape("bow tie", ((0, 0), (9, 9), (9, 0), (0, 9)), (), 1, (0.0,))],
            [SMALL],
            quick(),
            "part bow tie: The outline crosses itself",
            id="crossing outline",
        ),
        pytest.param(
            [PartShape("a", box(9, 9), (box(9, 9, 5, 5),), 1, (0.0,))],
            [SMALL],
            quick(),
            "crosses itself or its holes",
            id="hole outside",
        ),
        pytest.param(
            [PartShape("a", ((0, 0), (1, 1)), (), 1, (0.0,))], [], quick(), "three", id="two points"
        ),
        pytest.param([plate("a", 9, 9, 1)] * 2, [SMALL], quick(), "List it once", id="listed twice"),
        pytest.param([], [SheetStock("s", 0.0, 9.0, None, 1.0)], quick(), "above 0 mm", id="no length"),
        pytest.param([], [SMALL], NestSettings(gap_mm=-1.0), "The gap is -1.0 mm", id="gap"),
    ],
)
def test_nonsense_is_refused_with_its_place_and_mend(job, stocks, how, words):
    with pytest.raises(ProblemError, match=words):
        nest(job, stocks, how, never_stop)


def test_fillers_take_no_sheet_and_nothing_of_an_offcut_worth_keeping():
    job = [plate("door", 900, 900, 2), replace(plate("tab", 90, 60, 500), is_filler=True)]

    result = nest(job, [LARGE], quick(), never_stop)

    [sheet] = result.sheets
    assert sheet.used_length_mm == pytest.approx(10 + 900 + 5 + 900, abs=15)
    assert 0 < placed(result, "tab") < 500
    assert sum(left.quantity for left in result.unplaced) == 500 - placed(result, "tab")
    assert {left.reason for left in result.unplaced} == {"no sheet had room to fill"}


def test_fillers_fill_every_sheet_of_a_series_but_no_more_than_are_wanted():
    job = [plate("floor", 1980, 900, 5), replace(plate("tab", 60, 60, 30), is_filler=True)]

    result = nest(job, [SMALL], quick(), never_stop)

    assert placed(result, "tab") == 30
    assert len(result.sheets) == 5


def test_a_sheet_whose_rest_is_kept_may_be_taken_before_a_cheaper_one_without_a_rest():
    """One part of 1,400 × 900: the long sheet costs 60 and leaves 585 mm worth 0.8 · 60 · 585 / 2000 = 14, so 46; the
    short one costs 50."""
    long = SheetStock("long", 2000.0, 1000.0, None, 60.0)
    short = SheetStock("short", 1500.0, 1000.0, None, 50.0)
    job = [plate("deck", 1400, 900, 1)]

    kept = nest(job, [long, short], quick(2.0), never_stop)
    lost = nest(job, [long, short], quick(2.0, rest_worth=0.0), never_stop)

    assert [sheet.stock_code for sheet in kept.sheets] == ["long"]
    assert [sheet.stock_code for sheet in lost.sheets] == ["short"]
