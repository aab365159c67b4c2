"""Quantities are exact, rounded once and written plainly."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from bom.kernel.quantities import exact, format_quantity, round_up_to_multiple


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        pytest.param(0.1, "0.1", id="a float is the shortest text for it"),
        pytest.param(0.1 + 0.2, "0.3", id="binary noise is dropped"),
        pytest.param(3, "3", id="int"),
        pytest.param(" 1.25 ", "1.25", id="text with gaps"),
        pytest.param(Decimal("0.0000005"), "0", id="half goes to even, down"),
        pytest.param(Decimal("0.0000015"), "0.000002", id="half goes to even, up"),
        pytest.param(
            Decimal("123456789012345678901234567890.1234567"), "123456789012345678901234567890.123457"
        ),
        pytest.param(-0.0, "0", id="no negative nothing"),
    ],
)
def test_exact(value, expected):
    assert format_quantity(exact(value)) == expected


@pytest.mark.parametrize("value", ["two", "", float("nan"), float("inf"), Decimal("-Infinity")])
def test_what_is_not_a_number_is_refused(value):
    with pytest.raises(ProblemError, match="is not a number"):
        exact(value)


@given(st.decimals("0", "1000000", places=6), st.decimals("0.001", "1000", places=3))
def test_rounding_up_reaches_the_next_whole_multiple(quantity, multiple):
    rounded = round_up_to_multiple(quantity, multiple)

    assert rounded % multiple == 0
    assert quantity <= rounded < quantity + multiple


def test_there_are_no_multiples_of_nothing():
    with pytest.raises(ProblemError, match="multiples of 0"):
        round_up_to_multiple(Decimal(3), Decimal(0))


@pytest.mark.parametrize(
    ("value", "text"),
    [("2.000000", "2"), ("1.2500", "1.25"), ("1E+3", "1000"), ("-0.000", "0"), ("100", "100")],
)
def test_quantities_are_written_without_trailing_zeros_or_exponents(value, text):
    assert format_quantity(Decimal(value)) == text
