"""Bar cutting against published instances and answers."""

import json
import math
from pathlib import Path

import pytest

from production.cutting.bars.check import check_bars
from production.cutting.bars.job import BarPlan, BarStock, Piece
from production.cutting.bars.plan import cut_bars

# EURO Special Interest Group on Cutting and Packing (ESICUP), Cutting & Packing Datasets, 2025, CC0-1.0.
DATA = json.loads((Path(__file__).parent / "data" / "binpacking_cc0.json").read_text())


def sawn(lengths: dict[float, int], bar_mm: float, kerf_mm: float = 0.0, trim_mm: float = 0.0) -> BarPlan:
    """The plan for pieces from one length of bar at price 1, checked."""
    pieces = [Piece(f"L{length:g}", length, number) for length, number in lengths.items()]
    bars = [BarStock("bar", bar_mm, None, 1.0)]
    plan = cut_bars(pieces, bars, kerf_mm=kerf_mm, trim_mm=trim_mm, seconds=8.0)
    assert check_bars(pieces, bars, kerf_mm, trim_mm, plan) == []
    return plan


def test_paper_roll_example_takes_73_bars():
    """https://en.wikipedia.org/wiki/Cutting_stock_problem: optimum 73, waste 0.401 %."""
    lengths = {
        1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
        2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
    }  # fmt: skip

    plan = sawn(lengths, 5600)

    assert (plan.bars, plan.proven) == (73, True)
    total = sum(length * number for length, number in lengths.items())
    assert round(100 * (1 - total / (73 * 5600)), 3) == 0.401


def test_cutstock_example_takes_453_bars():
    """Data: https://miro.gams.com/gallery/app_direct/cutstock/ (bar length 100 from memory)."""
    plan = sawn({45: 97, 36: 610, 31: 395, 14: 211}, 100)

    assert (plan.bars, plan.proven) == (453, True)


@pytest.mark.parametrize(
    ("lengths", "bar_mm", "bars"),
    [
        pytest.param({6: 4, 5: 2}, 10, 5, id="four sixes and two fives in tens"),
        pytest.param({3100: 5, 2950: 2}, 6000, 6, id="no 2950 beside a 3100"),
    ],
)
def test_small_bounds_of_martello_and_toth_are_reached(lengths, bar_mm, bars):
    """The bound L2 of Martello and Toth on these cases, worked by hand: 5 and 6, both reached."""
    assert sawn(lengths, bar_mm).bars == bars


def test_fourteen_items_need_one_bar_more_than_both_simple_bounds():
    """Both simple bounds are 6 (sum 597, length 100); exhaustive search over subsets gives 7."""
    items = (99, 94, 79, 64, 50, 46, 43, 37, 32, 19, 18, 7, 6, 3)

    plan = sawn(dict.fromkeys(items, 1), 100)

    assert math.ceil(sum(items) / 100) == 6
    assert plan.bars == 7


def test_two_saw_cuts_of_3_mm_let_three_1998_fit_a_6000_bar_but_not_three_1999():
    """Arithmetic: n pieces need n − 1 cuts, 3 × 1998 + 2 × 3 = 6000."""
    assert sawn({1998: 3}, 6000, kerf_mm=3.0).bars == 1
    assert sawn({1999: 3}, 6000, kerf_mm=3.0).bars == 2
    assert sawn({1998: 3}, 6000, kerf_mm=3.0, trim_mm=0.1).bars == 2
    assert sawn({1998: 3}, 6015, kerf_mm=3.0, trim_mm=15.0).bars == 1


@pytest.mark.parametrize("name", ["t60_00", "t60_01", "t60_02", "u250_00"])
def test_falkenauer_sets_reach_the_best_known_number(name):
    """Falkenauer, Journal of Heuristics 2, 1996; best known from the file itself."""
    case = DATA["falkenauer"][name]
    lengths: dict[float, int] = {}
    for item in case["items"]:
        lengths[item] = lengths.get(item, 0) + 1

    plan = sawn(lengths, case["capacity"])

    assert plan.bars == case["best_known"]
    assert plan.proven
    assert plan.bars <= plan.first_fit_bars


@pytest.mark.parametrize(("name", "bars"), [("TEST0022", 15), ("TEST0065", 16)])
def test_waescher_gau_sets_are_proven_one_bar_above_the_rounded_relaxation(name, bars):
    """Wäscher and Gau, OR Spektrum 18, 1996: sets chosen because rounding the relaxation up is not enough.

    The optimum is worked out here: no pattern list within the rounded relaxation makes all pieces.
    """
    case = DATA["waescher_gau1"][name]

    pieces = [Piece(str(i), s, q) for i, (s, q) in enumerate(zip(case["sizes"], case["qty"], strict=True))]
    plan = cut_bars(pieces, [BarStock("bar", case["capacity"], None, 1.0)], kerf_mm=0.0, seconds=30.0)

    total = sum(piece.length_mm * piece.quantity for piece in pieces)
    assert math.ceil(total / case["capacity"]) == bars - 1
    assert (plan.bars, plan.proven) == (bars, True)
