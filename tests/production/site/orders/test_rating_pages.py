"""Ratings and set-up at the order desk: shown with working and caution, worked out again, refused without a note."""

import pytest
from django.contrib.auth.models import Group
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bom.people.models import User
from bom.ratings.models import ComponentRating, RuleIssue, RuleRow
from production.orders.models import Hull, Order
from production.orders.rating_models import TowingVehicle
from production.site.roles import MANAGER, OFFICE, VIEWER, sync_roles

pytestmark = pytest.mark.django_db


def signed_in(role: str) -> Client:
    sync_roles()
    user = User.objects.create_user(f"b-{role}", password="desk")
    user.groups.add(Group.objects.get(name=role))
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def office(workshop) -> Client:
    return signed_in(OFFICE)


@pytest.fixture
def manager(workshop) -> Client:
    return signed_in(MANAGER)


def confirmed() -> Order:
    return Order.objects.filter(state__in=Order.OPEN).order_by("number")[0]


def test_the_order_page_shows_the_set_up_with_working_drawing_and_caution(office):
    text = office.get(reverse("orders:order", args=[confirmed().number])).content.decode()

    assert "Balance" not in text
    for words in ("M − Q ÷ E", 'svg class="drawing side"', "hull 5 % heavier", "not an approval"):
        assert words in text


def test_the_rating_page_has_every_check_with_its_clause_and_standing(office):
    order = confirmed()
    text = office.get(reverse("orders:set_up", args=[order.number])).content.decode()

    for result in order.ratings.get().results.all():
        assert result.name in text
    assert "UN R48" in text
    assert "not verified" in text
    assert "approval authority" in text


def test_the_pages_ask_few_questions(office):
    order = confirmed()
    for name in ("orders:set_up", "orders:order"):
        with CaptureQueriesContext(connection) as queries:
            office.get(reverse(name, args=[order.number]))
        assert len(queries) <= 20


def test_a_vehicle_is_written_down_and_rated_once_more(office):
    order = Order.objects.filter(state__in=Order.OPEN, vehicle__isnull=True)[0]
    url = reverse("orders:vehicle", args=[order.number])

    office.post(url, {"name": "small car", "braked_kg": "200", "unbraked_kg": "200", "nose_kg": "20"})

    assert TowingVehicle.objects.get(order=order).nose_kg == 20
    latest = order.ratings.first()
    assert (latest.number, latest.overall) == (2, "not met")
    text = office.get(reverse("orders:set_up", args=[order.number])).content.decode()
    assert "papers of small car" in text
    office.post(url, {"none": "1"})
    assert not TowingVehicle.objects.filter(order=order).exists()


def test_it_is_worked_out_again_for_another_nose_load_and_the_first_record_stays(office):
    order = confirmed()
    first = order.ratings.get()

    office.post(reverse("orders:set_up", args=[order.number]), {"reason": "weighed", "nose_kg": "70"})

    assert list(order.ratings.values_list("number", flat=True)) == [2, 1]
    assert order.ratings.first().set_up.wanted_kg == 70
    first.refresh_from_db()
    assert first.set_up.wanted_kg is None


def test_without_a_reason_nothing_is_worked_out(office):
    order = confirmed()

    assert office.post(reverse("orders:set_up", args=[order.number]), {"reason": ""}).status_code == 422
    assert order.ratings.count() == 1


def overloaded() -> Order:
    draft = Order.objects.filter(state="draft").select_related("hull", "model").first()
    Hull.objects.filter(pk=draft.hull_id).update(gear_kg=draft.model.max_mass_kg)
    return draft


def test_what_is_not_met_is_refused_at_the_desk_and_goes_on_with_a_permitted_person_s_note(office):
    draft = overloaded()
    url = reverse("orders:confirm", args=[draft.number])

    refused = office.post(url, {"note": "never mind"})
    assert refused.status_code == 409
    assert "Maximum mass" in refused.content.decode()
    draft.refresh_from_db()
    assert draft.state == "draft"

    assert signed_in(MANAGER).post(url, {"note": "A heavier axle is ordered."}).status_code == 302
    assert draft.ratings.get().note == "A heavier axle is ordered."


def test_models_that_fit_are_listed_with_reasons_and_an_order_link(office):
    hull = {"hull_mass_kg": 800, "hull_length_mm": 5400, "hull_bow_to_transom_mm": 5200, "hull_beam_mm": 1950}

    text = office.get(reverse("orders:fit"), hull).content.decode()
    assert "it carries 2500 to 3800 mm" in text
    assert "model=B1300&amp;hull_mass_kg=800" in text
    part = office.get(reverse("orders:fit"), hull, headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith('<div id="fit"') or "<html" not in part
    form = office.get(reverse("orders:new"), {"model": "B1300", **hull}).content.decode()
    assert 'value="5400"' in form


def test_a_rule_is_changed_by_a_permitted_person_only(office, manager):
    url = reverse("ratings:rule", args=["UK", "width_most_mm"])
    change = {
        "value": "2600",
        "valid_from": "2027-01-01",
        "clause": "reg. 8 as amended",
        "source": "official text",
        "why": "amended",
        "is_verified": "on",
    }

    assert office.post(url, change).status_code == 403
    assert manager.post(url, {**change, "why": ""}).status_code == 422
    assert manager.post(url, change).status_code == 302
    row = RuleRow.objects.get(issue__number=2)
    assert (row.value, row.verified_by.username) == (2600, f"b-{MANAGER}")
    text = office.get(url).content.decode()
    assert "2 550" in text.replace("\u202f", " ")
    assert "2 600" in text.replace("\u202f", " ")


def test_an_empty_rule_book_offers_the_shipped_set(manager):
    RuleRow.objects.all().delete()
    RuleIssue.objects.all().delete()
    Order.objects.update(market=None)
    from bom.ratings.models import Market

    Market.objects.all().delete()

    assert "Take in the set as shipped" in manager.get(reverse("ratings:rules")).content.decode()
    manager.post(reverse("ratings:adopt"))
    assert "not verified" in manager.get(reverse("ratings:rules")).content.decode()


def test_a_part_s_rating_is_written_down(manager):
    url = reverse("ratings:part", args=["CP-1800B"])

    assert manager.post(url, {"kind": "axle"}).status_code == 422
    manager.post(
        url, {"kind": "coupling", "capacity_kg": "1800", "dc_kn": "12.5", "s_kg": "120", "is_braked": "on"}
    )
    assert ComponentRating.objects.get(item__code="CP-1800B").dc_kn == 12.5


def test_a_viewer_looks_and_changes_nothing(workshop):
    viewer = signed_in(VIEWER)
    order = confirmed()

    assert viewer.get(reverse("orders:set_up", args=[order.number])).status_code == 200
    assert viewer.post(reverse("orders:set_up", args=[order.number]), {"reason": "x"}).status_code == 403
    assert viewer.post(reverse("orders:vehicle", args=[order.number]), {"name": "x"}).status_code == 403
