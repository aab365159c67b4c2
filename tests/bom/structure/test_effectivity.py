"""Which revision holds: by day, by trailer number, and what may not follow what."""

from datetime import date

import pytest

from bom.structure.effectivity import Issue, Start, in_force, may_hold, start_problems

JAN, MAY, JUN = date(2026, 1, 1), date(2026, 5, 1), date(2026, 6, 1)
A = Issue(1, "A", Start(JAN))
B = Issue(2, "B", Start(MAY, 2650))
C = Issue(3, "C", Start(MAY, 2700))
D = Issue(4, "D", Start(JUN))


@pytest.mark.parametrize(
    ("issues", "day", "trailer", "letter"),
    [
        pytest.param([A], JAN, 1, "A", id="first day"),
        pytest.param([A], date(2025, 12, 31), 9999, None, id="before the first day"),
        pytest.param([A, B, C], JUN, 2649, "A", id="below the first number"),
        pytest.param([A, B, C], JUN, 2650, "B", id="at the number"),
        pytest.param([A, B, C], JUN, 2699, "B", id="below the next number"),
        pytest.param([A, B, C], JUN, 2700, "C", id="at the next number"),
        pytest.param([A, B], JAN, 2650, "A", id="not released yet"),
        pytest.param([A, B], JUN, None, "A", id="a trailer without a number"),
        pytest.param([A, B, C, D], JUN, 2600, "D", id="a later day takes all"),
        pytest.param([C, B, A], JUN, 2700, "C", id="order of the rows is nothing"),
    ],
)
def test_the_last_that_has_begun_for_the_trailer_counts(issues, day, trailer, letter):
    found = in_force(issues, day, trailer)

    assert (found.letter if found else None) == letter


def test_letters_after_z_come_later_on_the_same_day():
    issues = [Issue(1, "Z", Start(JAN)), Issue(2, "AA", Start(JAN))]

    assert in_force(issues, JAN, 1).letter == "AA"


def test_only_what_some_trailer_is_made_by_may_hold():
    assert [one.letter for one in may_hold([A, B, C], JUN)] == ["A", "B", "C"]
    assert [one.letter for one in may_hold([A, B, C, D], JUN)] == ["D"]
    assert [one.letter for one in may_hold([A, B], JAN)] == ["A"]


@pytest.mark.parametrize(
    ("start", "earlier", "following", "says"),
    [
        pytest.param(Start(MAY, 2650), [A], 2600, None, id="after a day"),
        pytest.param(Start(MAY, 2700), [A, B], 2600, None, id="after a number"),
        pytest.param(Start(JUN), [A, B], 2651, None, id="a day after the number is reached"),
        pytest.param(Start(JUN), [A], 2600, None, id="a day after a day"),
        pytest.param(
            Start(JUN, 2650), [A, B], 2600, "Overlap: revision B holds from trailer 2650", id="same"
        ),
        pytest.param(
            Start(JUN, 2640), [A, B], 2600, "Overlap: revision B holds from trailer 2650", id="lower"
        ),
        pytest.param(
            Start(JUN),
            [A, B],
            2650,
            "Overlap: revision B begins with trailer 2650, which is not",
            id="day over",
        ),
        pytest.param(
            Start(MAY, 2650), [], 2600, "Gap: no released revision holds for trailers below", id="gap"
        ),
        pytest.param(Start(MAY, 2650), [D], 2600, "Gap: no released revision", id="gap before a day to come"),
        pytest.param(
            Start(MAY), [D], 2600, "Revision D is released from 01 Jun 2026 on, later", id="earlier day"
        ),
        pytest.param(Start(MAY, 0), [A], 2600, "0 is not a trailer number", id="no number"),
    ],
)
def test_overlap_and_gap_are_refused_in_words(start, earlier, following, says):
    problems = start_problems(start, earlier, where="item CH, revision C", next_number=following)

    if says is None:
        assert problems == []
    else:
        assert any(one.what.startswith(says) for one in problems)
        assert all(one.where == "item CH, revision C" and one.mend for one in problems)
