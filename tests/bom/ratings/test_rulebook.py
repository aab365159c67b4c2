"""Rules are dated rows: a change is a new issue, and what was rated by an earlier one can be read again."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from bom.kernel.errors import ProblemError
from bom.people.models import User
from bom.ratings.models import Market, RuleIssue, RuleRow
from bom.ratings.queries import load_ratings, rules_on
from bom.ratings.rulebook import RuleChange, adopt_shipped, change_rule, withdraw_rule
from bom.ratings.rules import SUBJECTS
from bom.ratings.shipped import SHIPPED_ON, shipped_for

pytestmark = pytest.mark.django_db

LATER = date(2027, 6, 1)
WIDER = RuleChange(Decimal(2600), "", "", "new text, art. 1", "official journal", LATER)


@pytest.fixture
def person() -> User:
    user = User.objects.create_user("manager")
    adopt_shipped(by=user)
    return user


def width(on: date, issue: int | None = None) -> float:
    return rules_on(on, issue)["EU"].by_subject["width_most_mm"].figure


def test_the_shipped_set_is_taken_in_once_and_is_not_verified(person):
    adopt_shipped(by=person)

    assert RuleIssue.objects.count() == 1
    assert RuleRow.objects.filter(market__code="EU").count() == len(shipped_for("EU"))
    assert not RuleRow.objects.filter(verified_on__isnull=False).exists()
    assert Market.objects.get(is_default=True).code == "EU"


def test_every_subject_has_a_shipped_rule_in_every_market(person):
    for market in ("EU", "UK"):
        assert rules_on(SHIPPED_ON)[market].missing(SUBJECTS) == []


def test_a_change_holds_from_its_day_and_leaves_the_old_rule_standing(person):
    change_rule(
        market=Market.objects.get(code="EU"), subject="width_most_mm", change=WIDER, why="new", by=person
    )

    assert width(SHIPPED_ON) == 2550
    assert width(LATER) == 2600
    assert width(LATER, issue=1) == 2550
    assert rules_on(LATER)["UK"].by_subject["width_most_mm"].figure == 2550


def test_of_two_changes_from_one_day_the_later_issue_holds(person):
    market = Market.objects.get(code="EU")
    change_rule(market=market, subject="width_most_mm", change=WIDER, why="new", by=person)
    slip = replace(WIDER, value=Decimal(2650))
    change_rule(market=market, subject="width_most_mm", change=slip, why="slip of the pen", by=person)

    assert width(LATER) == 2650
    assert width(LATER, issue=2) == 2600


def test_verifying_puts_a_name_and_a_day_to_it(person):
    change = replace(WIDER, is_verified=True)
    row = change_rule(
        market=Market.objects.get(code="EU"), subject="width_most_mm", change=change, why="read it", by=person
    )

    assert row.verified_by == person
    assert rules_on(LATER)["EU"].by_subject["width_most_mm"].is_verified


def test_a_withdrawn_rule_leaves_a_gap_that_is_said(person):
    market = Market.objects.get(code="EU")
    withdraw_rule(market=market, subject="width_most_mm", on=LATER, why="repealed", by=person)

    assert "Overall width, at most" in rules_on(LATER)["EU"].missing(SUBJECTS)
    assert width(SHIPPED_ON) == 2550
    with pytest.raises(ProblemError, match="has no rule"):
        withdraw_rule(market=market, subject="width_most_mm", on=LATER, why="again", by=person)


@pytest.mark.parametrize(
    ("subject", "changes", "why", "said"),
    [
        ("width_most_mm", {"value": None}, "x", "no figure"),
        ("width_most_mm", {"value": Decimal(-1)}, "x", "no figure"),
        ("width_most_mm", {"clause": " "}, "x", "Clause or source"),
        ("width_most_mm", {}, "  ", "reason"),
        ("front_lamps_mm", {}, "x", "whether the figure itself counts"),
        ("length_as", {"word": "about"}, "x", "no such answer"),
        ("colour", {}, "x", "There is no subject colour"),
    ],
)
def test_nonsense_is_refused_and_nothing_is_written(person, subject, changes, why, said):
    with pytest.raises(ProblemError, match=said):
        change_rule(
            market=Market.objects.get(code="EU"),
            subject=subject,
            change=replace(WIDER, **changes),
            why=why,
            by=person,
        )
    assert RuleIssue.objects.count() == 1


def test_everything_ratings_look_at_takes_four_queries(workshop):
    with CaptureQueriesContext(connection) as queries:
        book = load_ratings(date(2027, 1, 1))

    assert len(queries) == 4
    assert (len(book.frames), book.default_market) == (10, "UK")
