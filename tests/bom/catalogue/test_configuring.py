"""What may be ordered is checked in words, and priced with its working."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bom.catalogue.configuring import Agreed, Answers, load_range, price_lines, price_of, problems_of
from bom.catalogue.models import OptionRule
from tests.production.small_workshop import build

pytestmark = pytest.mark.django_db


def answers(**changes: object) -> Answers:
    values: dict[str, object] = {
        "model": "H1",
        "finish": "galvanised",
        "choices": {"winch": "manual"},
        "colours": {"port": "red", "starboard": "green"},
        "hull": {"length_mm": 4800, "mass_kg": 300},
    }
    return Answers(**{**values, **changes})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        pytest.param(
            {"finish": "painted"}, "not made in the finish “blasted and powder coated”", id="finish"
        ),
        pytest.param({"choices": {}}, "Winch: nothing is chosen", id="required group"),
        pytest.param({"choices": {"winch": "air"}}, "does not offer Winch: air winch", id="not offered"),
        pytest.param(
            {"choices": {"winch": "manual", "sail": "x"}}, "no option group sail", id="unknown group"
        ),
        pytest.param({"colours": {"port": "pink"}}, "There is no colour pink", id="unknown colour"),
        pytest.param({"finish": "duplex"}, "needs a powder colour", id="powder colour missing"),
        pytest.param({"colours": {"powder": "blue"}}, "has no powder coat", id="powder colour too much"),
        pytest.param({"hull": {"length_mm": 7000}}, "carries hulls of 4000 to 5500 mm", id="hull too long"),
        pytest.param({"model": "H9"}, "There is no model H9", id="unknown model"),
        pytest.param(
            {"choices": {"winch": "electric", "lights": "board"}},
            "takes its current from fixed lights",
            id="rule",
        ),
    ],
)
def test_what_cannot_be_built_is_said_with_the_way_to_mend_it(changes, said):
    build()

    (problem,) = problems_of(answers(**changes), load_range())

    assert said in problem.what
    assert problem.mend


def test_a_configuration_that_can_be_built_has_no_problems():
    build()

    assert problems_of(answers(), load_range()) == []


def test_a_rule_that_does_not_parse_is_a_problem_and_not_a_crash():
    build()
    OptionRule.objects.create(when="option.winch =", then="true", sentence="Broken rule")

    (problem,) = problems_of(answers(), load_range())

    assert problem.where.startswith("option rule “Broken rule”")


def test_a_rule_of_another_model_does_not_bind():
    shop = build()
    OptionRule.objects.update(model=shop.model)
    catalogue = load_range()

    assert [rule.model for rule in catalogue.rules_for("H1")] == ["H1"]
    assert list(catalogue.rules_for("H2")) == []


def test_the_price_is_model_and_finish_and_choices_with_its_working():
    build()
    wanted = answers(finish="duplex", choices={"winch": "electric"})

    assert price_of(wanted, load_range()) == Decimal(1000 + 250 + 400)
    assert price_lines(wanted, load_range())[2] == ("Winch: electric winch", Decimal(400))


AGREED = Agreed(Decimal(1234), "galvanised", {"winch": "electric"}, "Harbour special, version 1, as agreed")


def test_the_agreed_price_covers_the_variant_as_agreed():
    build()

    assert price_of(answers(choices={"winch": "electric"}, agreed=AGREED), load_range()) == 1234


def test_what_an_order_changes_about_its_variant_is_charged_at_list_prices():
    """Duplex instead of galvanised +250, hand winch for 50 instead of the electric one for 400, light board +80."""
    build()
    wanted = answers(finish="duplex", choices={"winch": "manual", "lights": "board"}, agreed=AGREED)

    assert price_of(wanted, load_range()) == 1234 + 250 - 350 + 80
    assert price_lines(wanted, load_range()) == [
        ("Harbour special, version 1, as agreed", Decimal(1234)),
        ("galvanised and powder coated instead of hot-dip galvanised", Decimal(250)),
        ("Winch: hand winch instead of electric winch", Decimal(-350)),
        ("Lights: light board instead of none", Decimal(80)),
    ]


def test_the_whole_range_takes_six_queries():
    build()

    with CaptureQueriesContext(connection) as queries:
        load_range()

    assert len(queries) == 6
