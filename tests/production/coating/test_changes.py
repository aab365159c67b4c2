"""The order of colours that takes least, against trying every order."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from production.coating.changes import Changing, Shade, best_order, total_minutes

shades = st.lists(
    st.builds(Shade, st.text("abcdef", min_size=1, max_size=3), st.integers(0, 100)),
    max_size=5,
    unique_by=lambda one: one.name,
)
changings = st.builds(Changing, st.integers(0, 60), st.integers(0, 60))


@given(shades, changings, st.none() | st.builds(Shade, st.just("start"), st.integers(0, 100)))
def test_no_order_of_the_colours_takes_less(colours, changing, start):
    order, minutes = best_order(colours, changing, start)

    assert sorted(order, key=str) == sorted(colours, key=str)
    assert minutes == total_minutes(order, changing, start)
    assert minutes == min(total_minutes(list(one), changing, start) for one in permutations(colours))


def test_light_to_dark_is_taken_where_that_is_cheaper():
    white, grey, black = Shade("white", 96), Shade("grey", 54), Shade("black", 8)

    order, minutes = best_order([black, white, grey], Changing(30, 45))

    assert order == [white, grey, black]
    assert minutes == 60


def test_the_same_colour_twice_is_one_change():
    red = Shade("red", 42)

    assert total_minutes([red, red], Changing(30, 45), Shade("white", 96)) == 30
