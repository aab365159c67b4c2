"""GS1 check digits against values that GS1 organisations publish."""

import pytest
from stdnum import ean

from bom.kernel import gs1


@pytest.mark.parametrize(
    ("body", "digit"),
    [
        # GS1 Hong Kong, check digit calculator: https://www.gs1hk.org/CheckDigitCalculator_en.htm (sum 57)
        ("629104150021", 3),
        # GS1 Sweden, how a check digit is worked out:
        # https://www.gs1.se/Support/Berakna-kontrollsiffra/Sa-beraknas-kontrollsiffran/
        ("730001100001", 7),
        # GS1 India, check digit: http://www.gs1india.org/SERV/checkdgt.htm
        ("890400021003", 7),
    ],
)
def test_check_digits_are_those_that_gs1_publishes(body, digit):
    assert gs1.check_digit(body) == digit
    assert gs1.gtin(f"{body}{digit}") == f"0{body}{digit}"


@pytest.mark.parametrize("body", ["400638133393", "1061414100041", "10614141192837465", "0", "9" * 17])
def test_check_digits_agree_with_a_reference_library(body):
    assert str(gs1.check_digit(body)) == ean.calc_check_digit(body)


def test_a_published_example_of_an_element_string():
    """The worked example in python-stdnum's documentation of its module gs1_128."""
    assert gs1.element_strings("(01)38425876095074(17)181119(37)1") == {
        "01": "38425876095074",
        "17": "181119",
        "37": "1",
    }
