"""Whoever gains more has the turn more often, and the other is not forgotten."""

from production.scheduling.solver.turns import Turns


def taken(window_gain, sequence_gain, turns=200):
    one = Turns(1)
    found = []
    for _ in range(turns):
        is_window = one.next()
        one.learn(is_window, window_gain if is_window else sequence_gain, 1.0)
        found.append(is_window)
    return sum(found)


def test_the_better_one_has_most_turns_but_not_all():
    assert 120 < taken(50, 10) < 190
    assert 10 < taken(10, 50) < 80


def test_where_neither_gains_they_take_turns():
    assert taken(0, 0) == 100
