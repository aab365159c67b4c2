"""The checker of sawing plans finds each kind of fault."""

from dataclasses import replace

import pytest

from production.cutting.bars.check import check_bars
from production.cutting.bars.job import BarPlan, BarStock, Cut, CutPattern, NotCut, Piece

PIECES = [Piece("a", 2000.0, 2)]
BARS = [BarStock("6 m", 6000.0, 1, 60.0)]
PATTERN = CutPattern("6 m", 6000.0, 1, (Cut("a", 2000.0, 2),), 1979.0, True)
GOOD = BarPlan((PATTERN,), (), 60.0, 60.0, True, 1, 1, 0.0)


def faults(plan: BarPlan) -> str:
    return " ".join(str(problem) for problem in check_bars(PIECES, BARS, 3.0, 15.0, plan))


def with_pattern(**changes: object) -> BarPlan:
    return replace(GOOD, patterns=(replace(PATTERN, **changes),))


def test_a_right_plan_has_no_fault():
    assert check_bars(PIECES, BARS, 3.0, 15.0, GOOD) == []


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        pytest.param(with_pattern(cuts=(Cut("a", 2000.0, 3),)), "need 6021.0 mm", id="too full"),
        pytest.param(with_pattern(cuts=(Cut("a", 2000.0, 1),)), "1 sawn", id="piece missing"),
        pytest.param(with_pattern(cuts=(Cut("a", 1990.0, 2),)), "not wanted at 1990 mm", id="cut short"),
        pytest.param(with_pattern(cuts=()), "Nothing is sawn", id="empty bar"),
        pytest.param(with_pattern(rest_mm=1990.0), "rest is given as 1990.0", id="rest too long"),
        pytest.param(with_pattern(bar="7 m"), "There are no 1 bars 7 m", id="unknown bar"),
        pytest.param(with_pattern(count=2), "takes 2 bars 6 m but there are 1", id="too many bars"),
        pytest.param(replace(GOOD, bars=2), "says 2 bars but saws 1", id="wrong bar count"),
        pytest.param(replace(GOOD, cost=50.0), "cost is given as 50.00", id="wrong cost"),
        pytest.param(replace(GOOD, bound=61.0), "above the cost", id="bound above cost"),
        pytest.param(replace(GOOD, bound=50.0), "called proven", id="false proof"),
        pytest.param(
            replace(GOOD, not_cut=(NotCut("a", 1, ""),)), "without number or reason", id="no reason"
        ),
    ],
)
def test_each_fault_is_named(plan, words):
    assert words in faults(plan)
