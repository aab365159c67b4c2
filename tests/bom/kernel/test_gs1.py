"""GS1 numbers: check digits, element strings and what is said of a wrong one."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.kernel import gs1
from bom.kernel.errors import ProblemError
from bom.kernel.scans import Kind, Scan, label_text, read, why_unknown

digits = st.text("0123456789", min_size=12, max_size=12)
# What application identifiers (10) and (21) may hold of GS1's character set, without brackets and our own signs.
lots = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZabcxyz0123456789-/._", min_size=1, max_size=20)


@given(digits, st.integers(0, 12), st.integers(1, 9))
@settings(max_examples=50)
def test_every_single_wrong_digit_is_caught(body, place, change):
    whole = f"{body}{gs1.check_digit(body)}"
    wrong = whole[:place] + str((int(whole[place]) + change) % 10) + whole[place + 1 :]

    with pytest.raises(ProblemError, match="check digit"):
        gs1.gtin(wrong)


def test_a_swap_of_neighbours_that_differ_by_five_is_not_caught():
    """The limit of the method, so that nobody relies on more."""
    assert gs1.check_digit("400638053393") == gs1.check_digit("400638503393")


@given(digits, lots, lots, st.integers(1, 99999999))
@settings(max_examples=50)
def test_printed_and_sent_forms_say_the_same(body, lot, serial, count):
    number = f"0{body}{gs1.check_digit(f'0{body}')}"
    printed = f"(01){number}(10){lot}(21){serial}(37){count}"
    sent = f"01{number}10{lot}\x1d21{serial}\x1d37{count}"

    assert gs1.element_strings(printed) == gs1.element_strings(sent)
    assert read(printed) == read(f"]C1{sent}")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("4006381333932", "should end in 1", id="wrong check digit"),
        pytest.param("40063813339", "11 characters", id="too short"),
        pytest.param("40063813339x1", "is no GTIN", id="a letter"),
        pytest.param("", "is no GTIN", id="empty"),
    ],
)
def test_a_wrong_number_says_what_was_expected(text, said):
    with pytest.raises(ProblemError, match=said):
        gs1.gtin(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("(01)04006381333932", "should end in 1", id="check digit in a label"),
        pytest.param("(05)1234", "no GS1 application identifier", id="unknown identifier"),
        pytest.param("(17)251399", "cannot be", id="month 13"),
        pytest.param("(37)12x", "cannot be", id="count with a letter"),
        pytest.param("(01)0400638133393", "13 characters and takes 14", id="too short"),
        pytest.param("(10)A(10)B", "stands twice", id="doubled"),
        pytest.param("(10)A7", "names no goods", id="no item number"),
        pytest.param("(01", "cannot be read", id="half a bracket"),
    ],
)
def test_a_wrong_label_says_what_is_wrong(text, said):
    with pytest.raises(ProblemError, match=said):
        read(text)


@pytest.mark.parametrize(
    ("text", "scan"),
    [
        ("PLACE:A1", Scan(Kind.PLACE, "A1")),
        ("place:A1\r", Scan(Kind.PLACE, "A1")),
        ("LOT:AX-750:25110001", Scan(Kind.LOT, "AX-750", lot="25110001")),
        ("KIT:2601", Scan(Kind.KIT, "2601")),
        ("4006381333931", Scan(Kind.TRADE_ITEM, "04006381333931")),
        ("]E04006381333931", Scan(Kind.TRADE_ITEM, "04006381333931")),
        ("106141411928374657", Scan(Kind.PACKAGE, "106141411928374657")),
        ("RLR-120-BLU", Scan(Kind.PLAIN, "RLR-120-BLU")),
        ("4006381333932", Scan(Kind.PLAIN, "4006381333932")),
        ("0104006381333931" + "10A7", Scan(Kind.TRADE_ITEM, "04006381333931", lot="A7")),
    ],
)
def test_a_code_is_read(text, scan):
    assert read(text) == scan


@given(st.text(min_size=1, max_size=20).map(str.strip).filter(lambda code: code and code.isprintable()))
@settings(max_examples=50)
def test_our_labels_are_read_back(code):
    assert read(label_text(Kind.LOT, code, code)) == Scan(Kind.LOT, code, lot=code)


def test_an_unknown_number_tells_of_its_check_digit():
    assert "should end in 1" in str(why_unknown(read("4006381333932")))
    assert "Nothing here has the code Q-99" in str(why_unknown(read("Q-99")))


def test_a_label_cut_short_is_refused():
    with pytest.raises(ProblemError, match="cut short"):
        read("LOT:AX-750")
