"""Sawing plans: right, never worse than first-fit, honest about what is left over."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from production.cutting.bars.check import check_bars
from production.cutting.bars.job import BarProgress, BarStock, Piece
from production.cutting.bars.plan import cut_bars

SIX = BarStock("6 m", 6000.0, None, 60.0)
SEVEN = BarStock("7.5 m", 7500.0, None, 75.0)

lengths = st.integers(min_value=50, max_value=45_000).map(lambda tenths: tenths / 10)
jobs = st.lists(st.tuples(lengths, st.integers(1, 12)), min_size=1, max_size=6)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(jobs, st.sampled_from([0.0, 2.5, 3.0]), st.sampled_from([0.0, 15.0]), st.booleans())
def test_any_plan_passes_the_checker_and_costs_no_more_than_first_fit(job, kerf, trim, two_lengths):
    pieces = [Piece(f"P{i}", length, number) for i, (length, number) in enumerate(job)]
    bars = [SIX, SEVEN] if two_lengths else [SIX]

    plan = cut_bars(pieces, bars, kerf_mm=kerf, trim_mm=trim, seconds=1.0)

    assert check_bars(pieces, bars, kerf, trim, plan) == []
    assert plan.not_cut == ()
    assert plan.bound <= plan.cost
    if not two_lengths:
        assert plan.bars <= plan.first_fit_bars


def test_the_same_job_gives_the_same_plan_twice():
    pieces = [Piece("a", 1810.5, 14), Piece("b", 1325.0, 22), Piece("c", 740.2, 31)]

    one = cut_bars(pieces, [SIX, SEVEN], trim_mm=15.0, seconds=5.0)
    two = cut_bars(pieces, [SIX, SEVEN], trim_mm=15.0, seconds=5.0)

    assert one.patterns == two.patterns


def test_offcuts_already_paid_for_are_used_first():
    plan = cut_bars([Piece("a", 1000.0, 3)], [SIX, BarStock("offcut", 1200.0, 2, 0.0)])

    assert {pattern.bar: pattern.count for pattern in plan.patterns} == {"offcut": 2, "6 m": 1}
    assert plan.cost == 60.0


def test_a_price_between_two_hundredths_counts_the_same_for_plan_and_checker():
    pieces, bars = [Piece("A", 1500, 8)], [BarStock("B", 6000, None, 1.115)]

    plan = cut_bars(pieces, bars, kerf_mm=3, trim_mm=10)

    assert plan.cost == pytest.approx(1.12 * plan.bars)
    assert check_bars(pieces, bars, 3, 10, plan) == []


def test_two_pieces_of_one_length_keep_their_own_codes():
    plan = cut_bars([Piece("left", 900.0, 2), Piece("right", 900.0, 1)], [SIX])

    (pattern,) = plan.patterns
    assert {cut.piece: cut.number for cut in pattern.cuts} == {"left": 2, "right": 1}


def test_the_rest_of_a_bar_is_worth_keeping_from_the_given_length_on():
    plan = cut_bars([Piece("a", 5482.0, 1)], [SIX], kerf_mm=3.0, trim_mm=15.0, shortest_offcut_mm=500.0)
    longer = cut_bars([Piece("a", 5483.0, 1)], [SIX], kerf_mm=3.0, trim_mm=15.0, shortest_offcut_mm=500.0)

    assert (plan.patterns[0].rest_mm, plan.patterns[0].keep) == (500.0, True)
    assert (longer.patterns[0].rest_mm, longer.patterns[0].keep) == (499.0, False)


def test_a_piece_longer_than_every_bar_is_left_over_with_the_reason():
    plan = cut_bars([Piece("mast", 7600.0, 2), Piece("a", 100.0, 1)], [SIX, SEVEN], trim_mm=10.0)

    (left,) = plan.not_cut
    assert (left.code, left.quantity) == ("mast", 2)
    assert left.reason == "7600 mm is too long: the longest bar gives 7490 mm after trim"


def test_pieces_without_a_bar_are_left_over_when_the_bars_run_out():
    plan = cut_bars([Piece("a", 2900.0, 7)], [BarStock("6 m", 6000.0, 3, 60.0)])

    assert [(left.code, left.quantity) for left in plan.not_cut] == [("a", 1)]
    assert plan.bars == 3
    assert not plan.proven


def test_counted_bars_are_shared_out_so_that_nothing_is_left_over():
    """First-fit puts the short pieces on the long bars; only the other way round do all fit."""
    bars = [BarStock("long", 4000.0, 1, 10.0), BarStock("short", 2000.0, 1, 10.0)]

    plan = cut_bars([Piece("a", 1900.0, 1), Piece("b", 3900.0, 1)], bars, kerf_mm=0.0)

    assert plan.not_cut == ()
    assert plan.bars == 2


def test_told_to_stop_it_hands_out_the_first_fit_plan():
    pieces = [Piece(f"P{i}", 700.0 + 37.3 * i, 9) for i in range(12)]
    seen: list[BarProgress] = []

    def stop(progress: BarProgress) -> bool:
        seen.append(progress)
        return False

    plan = cut_bars(pieces, [SIX], progress=stop)

    assert plan.stopped
    assert len(seen) == 1
    assert plan.bars == plan.first_fit_bars
    assert plan.not_cut == ()


def test_a_mitred_end_takes_a_slanting_cut_of_its_own():
    """Arithmetic: kerf 3 at 45° is 3 / cos 45° = 4.243 mm along the bar, 4.3 in whole tenths."""
    pair = [Piece("frame", 2990.0, 2, (45.0, 0.0))]

    just = cut_bars(pair, [BarStock("bar", 2 * 2990 + 2 * 4.3 + 3, None, 1.0)], kerf_mm=3.0)
    short = cut_bars(pair, [BarStock("bar", 2 * 2990 + 2 * 4.3 + 2.9, None, 1.0)], kerf_mm=3.0)

    assert (just.bars, short.bars) == (1, 2)


def test_square_and_mitred_pieces_of_one_length_keep_their_codes():
    pieces = [Piece("square", 1000.0, 3), Piece("mitred", 1000.0, 3, (30.0, 30.0))]

    plan = cut_bars(pieces, [SIX])

    sawn = {
        code: sum(cut.number for p in plan.patterns for cut in p.cuts if cut.piece == code)
        for code in ("square", "mitred")
    }
    assert sawn == {"square": 3, "mitred": 3}
    assert check_bars(pieces, [SIX], 3.0, 0.0, plan) == []


def test_nothing_to_saw_gives_an_empty_plan():
    plan = cut_bars([Piece("a", 100.0, 0)], [SIX])

    assert (plan.patterns, plan.not_cut, plan.bars, plan.cost) == ((), (), 0, 0.0)


@pytest.mark.parametrize(
    ("pieces", "bars", "words"),
    [
        pytest.param([Piece("a", 0.0, 1)], [SIX], "piece a", id="no length"),
        pytest.param([Piece("a", 9.0, -1)], [SIX], "piece a", id="negative quantity"),
        pytest.param([Piece("a", 9.0, 1, (75.0, 0.0))], [SIX], "75° and 0° cannot", id="too steep"),
        pytest.param([Piece("a", 9.0, 1)], [BarStock("b", 6000.0, None, -1.0)], "bar b", id="negative price"),
        pytest.param([Piece("a", 9.0, 1), Piece("a", 8.0, 1)], [SIX], "List it once", id="listed twice"),
    ],
)
def test_nonsense_is_refused_with_its_place(pieces, bars, words):
    with pytest.raises(ProblemError, match=words):
        cut_bars(pieces, bars)
