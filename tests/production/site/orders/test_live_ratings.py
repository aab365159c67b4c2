"""Beside the form of a draft, ratings, set-up and cost follow what is typed; nothing is saved."""

import pytest
from django.contrib.auth.models import Group
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bom.people.models import User
from production.orders.models import Order
from production.orders.showing import shown_of
from production.site.orders.forms import initial_of
from production.site.roles import OFFICE, VIEWER, sync_roles

pytestmark = pytest.mark.django_db

PART = {"HX-Request": "true"}


def signed_in(role: str) -> Client:
    sync_roles()
    user = User.objects.create_user(f"c-{role}", password="desk")
    user.groups.add(Group.objects.get(name=role))
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def office(workshop) -> Client:
    return signed_in(OFFICE)


def draft() -> Order:
    rows = Order.objects.select_related("customer", "model", "variant", "hull", "market", "vehicle")
    return rows.filter(state="draft", vehicle__isnull=True)[0]


def typed(order: Order, **changes: object) -> dict[str, object]:
    values = {**initial_of(order), **changes}
    if not values["hull_is_measured"]:
        del values["hull_is_measured"]
    return {name: "" if value is None else value for name, value in values.items()}


def test_the_form_as_saved_rates_as_the_draft_does(office):
    order = draft()
    shown = shown_of(order)

    text = office.get(
        reverse("orders:live", args=[order.number]), typed(order), headers=PART
    ).content.decode()

    assert "<html" not in text
    for check in shown.checks:
        assert check.name in text
    post, axle = (
        f"{value:,.0f}".replace(",", "\u202f") for value in (shown.set_up.post_mm, shown.set_up.axle_mm)
    )
    assert post in text
    assert axle in text
    assert "not an approval" in text


def test_what_is_typed_counts_and_is_not_saved(office):
    order = draft()
    heavy = typed(order, hull_mass_kg=order.model.max_mass_kg)

    text = office.get(reverse("orders:live", args=[order.number]), heavy, headers=PART).content.decode()

    assert 'Ratings: <b class="say-late">not met</b>' in text
    order.hull.refresh_from_db()
    assert order.hull.mass_kg < order.model.max_mass_kg


def test_half_a_hull_is_asked_for(office):
    text = office.get(reverse("orders:live_new"), {"model": "B1300", "hull_mass_kg": "x"}).content.decode()

    assert "<html" in text
    assert "Fill in the hull" in text


def test_what_cannot_be_worked_out_is_said(office):
    hull = {"hull_mass_kg": 400, "hull_length_mm": 4500, "hull_bow_to_transom_mm": 4300}

    text = office.get(reverse("orders:live_new"), {"model": "B1300", **hull}).content.decode()

    assert "Not worked out yet" in text


def test_the_cost_follows_what_is_typed_too(office):
    order = draft()
    url = reverse("orders:live_cost")

    text = office.get(url, typed(order), headers=PART).content.decode()
    assert "Costs <b>" in text
    assert "bought parts" in text.lower()
    assert f"{order.price:,.2f}".replace(",", "\u202f") in text
    assert "Costs <b>" not in office.get(url, typed(order, hull_mass_kg="")).content.decode()


def test_the_cost_is_for_those_who_may_see_it(workshop):
    order, viewer = draft(), signed_in(VIEWER)

    text = viewer.get(reverse("orders:live", args=[order.number]), typed(order)).content.decode()
    assert "Set-up" in text
    assert "live-cost" not in text
    assert viewer.get(reverse("orders:live_cost"), typed(order)).status_code == 403


def test_both_ask_the_database_few_questions(office):
    order = draft()
    for url in (reverse("orders:live", args=[order.number]), reverse("orders:live_cost")):
        with CaptureQueriesContext(connection) as queries:
            office.get(url, typed(order), headers=PART)
        assert len(queries) <= 20


def test_rollers_without_a_colour_are_asked_for_in_the_words_of_the_form(office):
    order = draft()

    asked = typed(order, colour_port="", colour_starboard="")
    text = office.get(reverse("orders:live", args=[order.number]), asked, headers=PART).content.decode()

    assert "No colour of rollers, port and rollers, starboard is chosen" in text
    assert "Family" not in text
