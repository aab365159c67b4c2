"""Laser times from a nest: arithmetic."""

import pytest

from production.cutting.nesting.job import NestedSheet, NestResult, PartShape, Placement
from production.cutting.nesting.times import FeedRow, cut_times, feed_for, part_minutes
from tests.production.cutting.nesting.shop import box

FEEDS = (FeedRow(2.0, 6000.0, 0.2), FeedRow(4.0, 2000.0, 0.6))
PART = PartShape("a", box(100, 50), (box(20, 20, 10, 10),), 2, (0.0,))


def test_feed_between_two_rows_is_in_proportion_and_beyond_the_ends_the_end_row_holds():
    assert feed_for(3.0, FEEDS) == FeedRow(3.0, 4000.0, pytest.approx(0.4))
    assert feed_for(1.0, FEEDS).feed_mm_per_min == 6000.0
    assert feed_for(9.0, FEEDS).pierce_seconds == 0.6


def test_a_part_takes_its_outlines_and_one_pierce_each():
    """Outline 300 mm and hole 80 mm at 6000 mm/min, two pierces of 0.2 s."""
    assert part_minutes(PART, 2.0, FEEDS) == pytest.approx(380 / 6000 + 0.4 / 60)


def test_a_sheet_adds_travel_from_part_to_nearest_part():
    """Holes' first corners at (10, 10) and (210, 10); inside a part from (10, 10) to (0, 0)."""
    sheet = NestedSheet(1, "S", 1000.0, 500.0, 300.0, 0.02, 1)
    far, near = (Placement("a", 1, x, 0.0, 0.0, False) for x in (200.0, 0.0))
    result = NestResult((sheet,), (far, near), (), 0.02, 0.0)

    (time,) = cut_times([PART], result, 2.0, FEEDS, travel_mm_per_min=1000.0)

    root = 200**0.5
    assert time.travel_mm == pytest.approx(root + 200 + 2 * root)
    assert (time.cut_length_mm, time.pierces) == (pytest.approx(760), 4)
    assert time.minutes == pytest.approx(760 / 6000 + 0.8 / 60 + (200 + 3 * root) / 1000)


def test_a_thickness_of_nothing_is_refused():
    with pytest.raises(ValueError, match="thickness of 0"):
        feed_for(0, FEEDS)
