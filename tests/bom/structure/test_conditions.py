"""What expressions on bill lines mean, and how a wrong one is told."""

from decimal import Decimal
from threading import Thread

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.kernel.errors import ProblemError
from bom.structure.conditions import Scope, compile_condition, compile_quantity, compile_text
from bom.structure.wording import KnownNames

NAMES = KnownNames.of(
    options={"winch": ["manual", "electric"], "keel-rollers": ["none", "three"], "lights": []},
    colours=["red", "blue"],
    finishes=["galvanised", "duplex"],
)
ORDER = Scope(
    option={"winch": "manual", "keel-rollers": "three"},
    colour={"port": "red"},
    finish="duplex",
    model={"axles": 2, "braked": True, "max_mass_kg": Decimal("1500"), "width_mm": 2200.5, "code": "T15"},
    hull={"length_mm": 5200, "beam_mm": None},
)


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("", True),
        ("  ", True),
        ("option.winch == 'manual'", True),
        ("option.winch in ['electric']", False),
        ('option["keel-rollers"] == "three"', True),
        ("option.lights == ''", True),
        ("option.lights != 'led'", True),
        ("colour.starboard == ''", True),
        ("colour.port == 'red' && finish == 'duplex'", True),
        ("model.braked && model.axles == 2", True),
        ("!model.braked || hull.length_mm >= 6000", False),
        ("model.code.startsWith('T')", True),
        ("model.max_mass_kg > 750 // the braked range", True),
    ],
)
def test_conditions(text, answer):
    assert compile_condition(text, NAMES).holds(ORDER) is answer


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param("model.axles * 2", "4", id="whole times whole"),
        pytest.param("model.axles * 1.5", "3", id="whole times decimal"),
        pytest.param("3 / 2", "1.5", id="whole numbers divide without loss"),
        pytest.param("hull.length_mm / 1000.0", "5.2", id="whole length, decimal divisor"),
        pytest.param("hull.length_mm / 1000", "5.2", id="whole length, whole divisor"),
        pytest.param("model.max_mass_kg / 3", "500", id="Decimal value"),
        pytest.param("model.width_mm * 2", "4401", id="float value"),
        pytest.param("0.1 + 0.2", "0.3", id="noise is dropped"),
        pytest.param("1 / 3", "0.333333", id="six decimals"),
        pytest.param("ceil(hull.length_mm / 1000)", "6", id="ceil"),
        pytest.param("ceil(0.1 * 3 * 10)", "3", id="ceil is not fooled by noise"),
        pytest.param("floor(0.7 * 10 + 0.1 * 10 - 5.0)", "3", id="floor is not fooled by noise"),
        pytest.param("round(2.5)", "3", id="round goes half up"),
        pytest.param("max(model.axles, 3, 1) - min(1, 2)", "2", id="max and min of many"),
        pytest.param("abs(2 - 5)", "3", id="abs"),
        pytest.param("option.winch == 'manual' ? 2 : 4", "2", id="choice"),
        pytest.param("model.braked ? model.axles * 2 : 0", "4", id="choice by yes or no"),
        pytest.param("2 // 1 for each side", "2", id="a digit in a comment"),
        pytest.param("option.winch == '2' ? 1 : 7", "7", id="a digit in a text stays"),
    ],
)
def test_quantities(text, expected):
    assert compile_quantity(text).value(ORDER) == Decimal(expected)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("colour.port", "red"), ("colour.starboard", ""), ("'L'", "L"), ("", ""), ("'L' + 'H'", "LH")],
)
def test_texts(text, expected):
    assert compile_text(text, NAMES).value(ORDER) == expected


REFUSED = [
    ("condition", "option.wnch == 'manual'", "line 1, column 1", "There is no option.wnch", "option.winch"),
    ("condition", "optoin.winch == 'manual'", "line 1, column 1", "“optoin” is not known", "option"),
    ("condition", "option.winch == manual", "line 1, column 17", "“manual” is not known", "quotes"),
    ("condition", "option.winch == 'manul'", "line 1, column 17", "“manul” is not known", "manual"),
    ("condition", "'manul' == option.winch", "line 1, column 1", "“manul” is not known", "manual"),
    ("condition", "option.winch in ['manual', 'elctric']", "line 1, column 28", "“elctric”", "electric"),
    ("condition", "finish == 'duplx'", "line 1, column 11", "“duplx” is not known", "duplex"),
    ("condition", "colour.port == 'rde'", "line 1, column 16", "“rde” is not known", "red"),
    ("condition", "option.keel-rollers == ''", "line 1, column 1", "option.keel", 'option["keel-rollers"]'),
    ("condition", 'option["keel-rolers"] == ""', "line 1, column 1", "keel-rolers", "keel-rollers"),
    ("condition", "colour.prot == ''", "line 1, column 1", "There is no colour.prot", "colour.port"),
    ("condition", "option == 'manual'", "line 1, column 1", "alone is not a value", "option.winch"),
    ("condition", "option.winch = 'manual'", "line 1, column 14", "single “=”", "=="),
    ("condition", "option.winch == 'manual", "line 1, column 17", "is not closed", "quote"),
    ("condition", "option.winch ==", "line 1, column 16", "ends too early", "Write"),
    ("condition", "(option.winch == 'manual'", "line 1, column 26", "is not closed", "')'"),
    ("condition", "option.winch", "line 1, column 1", "not yes or no", "Compare"),
    ("condition", "model.axles", "line 1, column 1", "not yes or no", "Compare"),
    ("condition", "model.braked && model.axles", "line 1, column 1", "do not go together", "Numbers"),
    ("condition", "option.winch == 'electric' && model.axles", "line 1, column 1", "do not go", "Numbers"),
    ("condition", "[1].exists(x, x > 0)", "line 1, column 5", "“exists” is not known", "contains"),
    ("quantity", "", "line 1, column 1", "is empty", "number"),
    ("quantity", "2\n* hull.bem_mm", "line 2, column 3", "There is no hull.bem_mm", "hull.beam_mm"),
    ("quantity", "cell(3)", "line 1, column 1", "“cell” is not known", "ceil"),
    ("quantity", "ceil(1, 2)", "line 1, column 1", "not a number", "number"),
    ("quantity", "'two'", "line 1, column 1", "not a number", "number"),
    ("quantity", "option.winch == 'manual' ? 2 : 'a'", "line 1, column 1", "not a number", "number"),
    ("quantity", "model.braked", "line 1, column 1", "not a number", "number"),
    ("quantity", "-1", "line 1, column 1", "not zero or more", "max(0"),
    ("quantity", "1 / 0", "line 1, column 1", "not a finite number", "division"),
    ("quantity", "5 % 2", "line 1, column 3", "“%” is not known", "floor"),
    ("quantity", "0x1F", "line 1, column 1", "not a plain number", "12"),
    ("quantity", "1e999", "line 1, column 1", "cannot be read", "1.5"),
    ("quantity", "1 1", "line 1, column 3", "cannot stand here", "reckon"),
    ("quantity", "1 + " * 150 + "1", "line 1, column 501", "601 characters", "500"),
    ("text", "2", "line 1, column 1", "not a text", "quotes"),
]
COMPILE = {"condition": compile_condition, "quantity": compile_quantity, "text": compile_text}


@pytest.mark.parametrize(("what", "text", "where", "says", "mend"), REFUSED)
def test_a_wrong_expression_is_told_with_its_place_and_mend(what, text, where, says, mend):
    with pytest.raises(ProblemError) as refusal:
        COMPILE[what](text, NAMES)

    first = refusal.value.problems[0]
    assert first.where == where
    assert says in first.what
    assert mend in first.mend


def test_every_wrong_name_is_told_at_once():
    with pytest.raises(ProblemError) as refusal:
        compile_condition("option.wnch == 'a' || option.winch == 'manul' || hul.x > 1", NAMES)

    assert [problem.where for problem in refusal.value.problems] == [
        "line 1, column 1",
        "line 1, column 39",
        "line 1, column 50",
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param("hull.beam_mm * 2", "hull.beam_mm is not known for this order", id="empty field"),
        pytest.param("model.own_mass_kg", "model.own_mass_kg is not known", id="absent field"),
        pytest.param("hull.length_mm - 6000", "The result is -800.0, not zero or more", id="negative"),
        pytest.param("1 / (model.axles - 2)", "not a finite number", id="infinite"),
        pytest.param("option.winch + 1", "do not go together", id="text and number"),
    ],
)
def test_a_quantity_that_cannot_be_worked_out_is_refused(text, says):
    with pytest.raises(ProblemError, match=says):
        compile_quantity(text).value(ORDER)


def test_a_line_without_known_names_still_needs_a_known_beginning():
    assert compile_condition("option.anything == ''").holds(ORDER)
    with pytest.raises(ProblemError, match="hell"):
        compile_condition("hell.length_mm > 1")


def test_a_compiled_expression_is_kept_and_works_in_any_thread():
    expression = compile_quantity("model.axles * 7", NAMES)
    found = []
    thread = Thread(target=lambda: found.append(expression.value(ORDER)))
    thread.start()
    thread.join()

    assert compile_quantity("model.axles * 7", NAMES) is expression
    assert found == [14]


@given(st.text(alphabet=st.sampled_from("option.winch ='\"&|()[]!?:+-*/%<>1.5e,\n\\maxhul_"), max_size=60))
def test_any_text_compiles_or_is_refused_with_a_place(text):
    for problem in [problem for compiled in COMPILE.values() for problem in _problems_of(compiled, text)]:
        assert problem.where.startswith("line ")
        assert problem.mend


def _problems_of(compiled, text):
    try:
        compiled(text, NAMES)
    except ProblemError as error:
        return error.problems
    return ()
