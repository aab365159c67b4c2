"""Models are proposed in a stated order, each refusal has its reason, and option rules are mended in words."""

from dataclasses import replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from bom.catalogue.configuring import Answers, load_range
from bom.catalogue.explaining import in_words, mended, ruled_out, ways_out
from bom.ratings.rating import HullRecord
from production.orders.proposing import propose
from production.orders.rating import load_desk
from tests.production.small_workshop import build

pytestmark = pytest.mark.django_db

BOAT = HullRecord(mass_kg=800, length_mm=5400, bow_to_transom_mm=5200, centre_mm=2050, gear_kg=20)
VALUES = {"mass_kg": 800, "length_mm": 5400, "beam_mm": 1950, "bow_to_transom_mm": 5200}


@pytest.fixture
def desk(workshop):
    return load_desk(timezone.localdate())


def test_those_that_fit_come_first_with_the_most_in_hand(desk):
    found = propose(BOAT, VALUES, desk)

    fitting = [one for one in found if one.fits]
    assert [one.fits for one in found] == sorted((one.fits for one in found), reverse=True)
    assert {one.model.code for one in fitting} <= {"B1300", "B1500", "B1800"}
    assert fitting
    lefts = [round(one.margin, 2) for one in fitting]
    assert lefts == sorted(lefts, reverse=True)


def test_or_with_the_lowest_price(desk):
    prices = [one.price for one in propose(BOAT, VALUES, desk, by="price") if one.fits]

    assert len(prices) > 1
    assert prices == sorted(prices)


def test_every_refusal_has_its_reason(desk):
    refused = {one.model.code: one.reasons for one in propose(BOAT, VALUES, desk) if not one.fits}

    assert "it carries 2500 to 3800 mm" in refused["U400"][0]
    assert any("maximum mass with the trailer is 400 kg" in reason for reason in refused["U400"])
    assert all(refused.values())


def test_a_finish_that_is_not_made_is_said(desk):
    found = {one.model.code: one for one in propose(BOAT, VALUES, desk, finish="painted")}

    assert "It is not made in this finish" in found["T3500"].reasons
    assert found["B1300"].fits


def test_a_rule_between_options_is_mended_and_said(desk):
    """A hull of more than 1700 kg needs the winch with two speeds."""
    heavy = replace(BOAT, mass_kg=1750, length_mm=6600, bow_to_transom_mm=6400)
    values = {**VALUES, "mass_kg": 1750, "length_mm": 6600}

    fitting = [one for one in propose(heavy, values, desk) if one.fits]

    assert fitting
    assert all(
        any("tied down at four points" in reason for reason in one.reasons) or one.model.axles == 2
        for one in fitting
    )


def test_nothing_is_asked_of_the_database_while_proposing(desk):
    with CaptureQueriesContext(connection) as queries:
        propose(BOAT, VALUES, desk)

    assert len(queries) == 0


def test_the_desk_takes_few_queries(workshop):
    with CaptureQueriesContext(connection) as queries:
        load_desk(timezone.localdate())

    assert len(queries) <= 15


def refused() -> Answers:
    return Answers(
        "H1",
        "galvanised",
        {"winch": "electric", "lights": "board"},
        {"port": "red", "starboard": "green"},
        {"length_mm": 4800, "mass_kg": 300},
    )


def test_a_rule_is_said_in_words_with_its_ways_out():
    build()
    catalogue = load_range()
    (rule,) = catalogue.rules

    assert in_words(rule.when, catalogue) == "Winch is “electric winch”"
    assert in_words("hull.mass_kg > 700 && finish != 'painted'", catalogue) == (
        "the hull's mass is over 700 kg and the finish is not painted"
    )
    assert [(way.words, way.price) for way in ways_out(rule, refused(), catalogue)] == [
        ("Winch: hand winch", -350)
    ]


def test_choices_that_a_rule_would_refuse_are_known_beforehand():
    build()
    catalogue = load_range()
    chosen = replace(refused(), choices={"winch": "manual", "lights": "board"})

    assert ruled_out(chosen, catalogue) == {
        (
            "winch",
            "electric",
        ): "The electric winch takes its current from fixed lights, not from a light board."
    }


def test_mending_takes_the_cheapest_way_out_and_says_why():
    build()

    answers, changes = mended(refused(), load_range())

    assert answers.choices == {"winch": "manual", "lights": "board"}
    assert changes == (
        "with Winch: hand winch. The electric winch takes its current from fixed lights, not from a light board.",
    )
