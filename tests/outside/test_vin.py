"""Vehicle identification numbers against published examples."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from production.dispatch import vin


@pytest.mark.parametrize(
    ("number", "digit"),
    [
        # http://pandsauto.ca/do-you-have-valid-vin-number.html, worked example: sum 351, remainder 10
        pytest.param("1M8GDM9AXKP042788", "X", id="remainder ten is X"),
        # sample of 49 CFR 565 as printed by automobilesoftware.com (page VinData, 9th check digit): sum 411
        pytest.param("1G4AH59H45G118341", "4", id="the regulation's sample"),
        # by hand: every letter's value is 1, so the sum is that of the weights, 89
        pytest.param("11111111111111111", "1", id="all ones"),
    ],
)
def test_the_check_digit_of_49_cfr_565(number, digit):
    assert vin.check_digit(number) == digit
    assert vin.has_right_check_digit(number)


def test_a_changed_character_is_noticed():
    assert not vin.has_right_check_digit("1M8GDM9AXKP042789")


def test_sections_and_small_makers_of_iso_3779():
    # vehicleidentificationnumber.com, overview of ISO 3779: WMI 1–3, descriptor 4–9, indicator 10–17; a 9 as third
    # character says a small maker, whose code is finished by places 12–14
    small = vin.take_apart("ZZ9BT000XTFTFW001")
    assert (small.wmi, small.descriptor, small.indicator) == ("ZZ9", "BT000X", "TFTFW001")
    assert small.maker == "ZZ9TFW"
    assert vin.take_apart("1M8GDM9AXKP042788").maker == "1M8"


@pytest.mark.parametrize("letter", "IOQioq")
def test_letters_that_may_not_stand_in_a_vin(letter):
    # the same overview: no I, O and Q
    with pytest.raises(ProblemError, match="may not stand"):
        vin.check_digit(letter + "M8GDM9AXKP042788")


@pytest.mark.parametrize(
    ("year", "code"),
    [(1980, "A"), (2009, "9"), (2010, "A"), (2024, "R"), (2025, "S"), (2026, "T"), (2027, "V"), (2031, "1")],
)
def test_model_year_codes(year, code):
    # cycle of thirty without I, O, Q, U, Z and 0: from memory
    assert vin.year_code(year) == code


plans = st.builds(
    vin.Plan,
    wmi=st.text(vin.ALPHABET, min_size=2, max_size=2).map(lambda two: two + "9"),
    descriptor=st.text(vin.ALPHABET, min_size=5, max_size=5),
    plant=st.sampled_from(vin.ALPHABET),
    small_code=st.text(vin.ALPHABET, min_size=3, max_size=3),
    has_check_digit=st.booleans(),
    has_year=st.booleans(),
)


@settings(max_examples=60)
@given(plans, st.integers(1, vin.MOST_SMALL_SERIAL), st.integers(1980, 2060))
def test_what_is_built_can_be_taken_apart(plan, number, year):
    made = vin.build(plan, number=number, year=year)

    assert vin.character_problems(made) == []
    assert vin.take_apart(made).maker == plan.mark
    assert int(made[-3:]) == number
    assert not plan.has_check_digit or vin.has_right_check_digit(made)
    assert made[9] == (vin.year_code(year) if plan.has_year else "0")


@pytest.mark.parametrize(
    ("plan", "number", "says"),
    [
        (vin.Plan("ZZ9", "BT000", small_code="TFW"), 1000, "room for 1 to 999"),
        (vin.Plan("ZZ8", "BT000"), 1_000_000, "room for 1 to 999999"),
        (vin.Plan("ZZ9", "BT000"), 1, "small maker's code"),
        (vin.Plan("ZZ8", "BT000", small_code="TFW"), 1, "third character"),
        (vin.Plan("Z8", "BT000"), 1, "WMI"),
        (vin.Plan("ZZ8", "BTO00"), 1, "descriptor"),
    ],
)
def test_what_has_no_vin(plan, number, says):
    with pytest.raises(ProblemError, match=says):
        vin.build(plan, number=number, year=2026)
