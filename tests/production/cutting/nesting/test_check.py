"""The checker of nests finds each kind of fault."""

from dataclasses import replace

import pytest

from production.cutting.nesting.check import check_nest
from production.cutting.nesting.job import (
    NestedSheet,
    NestResult,
    NestSettings,
    PartShape,
    Placement,
    SheetStock,
    Unplaced,
)
from tests.production.cutting.nesting.shop import box

STOCKS = [SheetStock("S", 1000.0, 500.0, 1, 1.0)]
SETTINGS = NestSettings(gap_mm=5.0, margin_mm=10.0)
RING = PartShape("ring", box(200, 200), (box(100, 100, 50, 50),), 1, (0.0, 90.0))
TAB = PartShape("tab", box(90, 40), (), 2, (0.0,))
SHEET = NestedSheet(1, "S", 1000.0, 500.0, 305.0, 37_200 / 500_000, 1)
AT_RING = Placement("ring", 1, 10.0, 10.0, 0.0, False)
IN_HOLE = Placement("tab", 1, 65.0, 65.0, 0.0, False)
BESIDE = Placement("tab", 1, 215.0, 10.0, 0.0, False)
GOOD = NestResult((SHEET,), (AT_RING, IN_HOLE, BESIDE), (), 0.0744, 0.0)


def faults(result: NestResult) -> str:
    return " ".join(str(problem) for problem in check_nest([RING, TAB], STOCKS, SETTINGS, result))


def moved(placement: Placement, **changes: object) -> NestResult:
    return replace(
        GOOD, placements=tuple(replace(p, **changes) if p is placement else p for p in GOOD.placements)
    )


def test_a_right_nest_with_a_part_in_a_hole_has_no_fault():
    assert check_nest([RING, TAB], STOCKS, SETTINGS, GOOD) == []


@pytest.mark.parametrize(
    ("result", "words"),
    [
        pytest.param(moved(IN_HOLE, x_mm=64.9), "4.900 mm apart, 5 are wanted", id="too near in the hole"),
        pytest.param(moved(BESIDE, x_mm=214.5), "4.500 mm apart", id="too near outside"),
        pytest.param(moved(BESIDE, x_mm=205.0), "overlap by 200.0 mm²", id="overlap"),
        pytest.param(moved(BESIDE, y_mm=9.0), "within 9.000 mm of the sheet's edge", id="margin"),
        pytest.param(moved(BESIDE, rotation_deg=90.0, x_mm=300.0), "turned by 90°", id="rotation"),
        pytest.param(moved(BESIDE, mirrored=True, x_mm=305.0), "is mirrored", id="mirrored"),
        pytest.param(moved(BESIDE, sheet=2), "on sheet 2, which the nest does not have", id="no such sheet"),
        pytest.param(moved(BESIDE, part="lug"), "Part lug is in the nest but not in the job", id="stranger"),
        pytest.param(replace(GOOD, placements=(AT_RING, IN_HOLE)), "2 wanted, 1 placed", id="part missing"),
        pytest.param(replace(GOOD, unplaced=(Unplaced("tab", 1, "x"),)), "1 left over", id="counted twice"),
        pytest.param(replace(GOOD, unplaced=(Unplaced("tab", 0, ""),)), "without number or reason", id="reason"),
        pytest.param(
            replace(GOOD, sheets=(SHEET, replace(SHEET, number=2))), "takes 2 sheets of S but there are 1",
            id="too many sheets",
        ),
        pytest.param(replace(GOOD, sheets=(replace(SHEET, number=3),)), "not numbered", id="numbers"),
        pytest.param(
            replace(GOOD, sheets=(replace(SHEET, stock_code="T"),)), "no such sheet as T", id="unknown stock"
        ),
        pytest.param(
            replace(GOOD, sheets=(replace(SHEET, used_length_mm=300.0),)), "used length is given as 300.00",
            id="used length",
        ),
        pytest.param(replace(GOOD, sheets=(replace(SHEET, use=0.2),)), "use is given as 0.2000", id="use"),
    ],
)  # fmt: skip
def test_each_fault_is_named(result, words):
    assert words in faults(result)


def test_parts_may_touch_when_no_gap_is_asked_for():
    tabs = [replace(TAB, quantity=2)]
    touching = (Placement("tab", 1, 10.0, 10.0, 0.0, False), Placement("tab", 1, 100.0, 10.0, 0.0, False))
    sheet = replace(SHEET, used_length_mm=190.0, use=7_200 / 500_000)
    result = NestResult((sheet,), touching, (), 0.0144, 0.0)

    assert check_nest(tabs, STOCKS, replace(SETTINGS, gap_mm=0.0), result) == []
