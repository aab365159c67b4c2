"""How numbers read off parts look: pure, whatever is scanned."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from production.assembly.numbers import Form, checked, fits

TODAY = date(2026, 5, 12)


def read(text: str, form: Form = Form.ANY, mask: str = "") -> str:
    return checked(text, form, mask, where="here", today=TODAY)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("ax 12-7 ", "AX 12-7"), ("  cp\t9001", "CP 9001"), ("B/77.1", "B/77.1")],
)
def test_a_number_is_kept_in_capitals_with_single_spaces(typed, kept):
    assert read(typed) == kept


@pytest.mark.parametrize("typed", ["", "7", "A" * 61, "AX;DROP", "https://somewhere", "ÄX-12"])
def test_what_cannot_be_a_number_is_refused_with_words(typed):
    with pytest.raises(ProblemError, match=r"signs|holds"):
        read(typed)


@pytest.mark.parametrize(
    ("code", "mask", "holds"),
    [
        ("AX-123456", "AX-######", True),
        ("AX-12345", "AX-######", False),
        ("AX-12345B", "AX-######", False),
        ("7K-B", "#@-?", True),
        ("7K-9", "#@-?", True),
        ("77-9", "#@-?", False),
    ],
)
def test_a_pattern_says_what_stands_where(code, mask, holds):
    assert fits(code, mask) is holds
    if holds:
        assert read(code, Form.MASK, mask) == code
    else:
        with pytest.raises(ProblemError, match="no number of this part"):
            read(code, Form.MASK, mask)


@given(st.text("#@?-AX7", min_size=1, max_size=20), st.data())
def test_what_is_made_by_a_pattern_fits_it_and_one_sign_more_does_not(mask, data):
    made = "".join(
        data.draw(st.sampled_from({"#": "0123456789", "@": "ABYZ", "?": "A9"}.get(sign, sign)))
        for sign in mask
    )
    assert fits(made, mask)
    assert not fits(made + "A", mask)


# 49 CFR 574.5: 13 symbols since 2015, up to 12 before, without G, I, O, Q, S, Z; the last four are week and year.
@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("DOT 1XY 7RW4T0 1426", "1XY7RW4T01426"),
        ("dot U2LL LMLR 5107", "U2LLLMLR5107"),
        ("1925", "1925"),
    ],
)
def test_a_tyre_identification_number_is_kept_without_dot_and_spaces(typed, kept):
    assert read(typed, Form.TYRE) == kept


@pytest.mark.parametrize(
    "typed", ["1XY7RW4T05426", "1XY7RW4T00026", "1XY7RW4T02126", "1OY7RW4T01426", "ABC", "DOT"]
)
def test_a_week_that_is_none_or_still_to_come_and_signs_that_are_never_used_are_refused(typed):
    with pytest.raises(ProblemError):
        read(typed, Form.TYRE)
