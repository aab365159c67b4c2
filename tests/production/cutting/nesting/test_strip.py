"""Strip packing in its own process: it answers, it dies, it is stopped."""

import pytest

from production.cutting.nesting import strip
from production.cutting.nesting.strip import StripFailure, StripItem, StripTask, pack_strip

SQUARES = StripItem("square", ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)), 8, (0.0,))
TASK = StripTask((SQUARES,), height_mm=220.0, separation_mm=2.0, seconds=1.0, seed=1, workers=1)


def test_all_copies_come_back_placed():
    layout = pack_strip(TASK, lambda _: True)

    assert [place.code for place in layout.places] == ["square"] * 8
    assert layout.length_mm < 8 * 110


def test_a_part_too_tall_for_the_strip_is_a_failure_not_a_panic():
    with pytest.raises(StripFailure, match=r"\w"):
        pack_strip(StripTask((SQUARES,), 50.0, 2.0, 1.0, 1, 1), lambda _: True)


def test_stopped_before_the_first_layout_it_says_so():
    with pytest.raises(StripFailure, match="stopped before the first layout"):
        pack_strip(TASK, lambda _: False)


def test_a_process_that_dies_at_once_is_a_failure(monkeypatch, tmp_path):
    """A real child that ends with a word on its error output stands in for a packer that broke."""
    broken = tmp_path / "broken.py"
    broken.write_text("import sys\nsys.exit('the packer is broken')\n")
    monkeypatch.setattr(strip, "CHILD", broken)

    with pytest.raises(StripFailure, match=r"the packer is broken|did not start"):
        pack_strip(TASK, lambda _: True)
