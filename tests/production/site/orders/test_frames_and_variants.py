"""Frames and duties are written by permitted people; variants stand by customer, their versions side by side."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Group
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bom.catalogue.comparing import side_by_side
from bom.catalogue.configuring import load_range, price_of
from bom.catalogue.models import Variant
from bom.people.models import User
from bom.ratings.models import ItemDuty, ModelFrame
from production.orders.models import Order
from production.orders.queries import answers_of
from production.orders.showing import shown_of
from production.site.roles import MANAGER, OFFICE, sync_roles

pytestmark = pytest.mark.django_db


def signed_in(role: str) -> Client:
    sync_roles()
    user = User.objects.create_user(f"d-{role}", password="desk")
    user.groups.add(Group.objects.get(name=role))
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def manager(workshop) -> Client:
    return signed_in(MANAGER)


def figures(frame: ModelFrame, **changes: object) -> dict[str, object]:
    names = [
        field.name for field in ModelFrame._meta.fields if field.name not in ("id", "model", "is_measured")
    ]
    return {**{name: getattr(frame, name) for name in names}, **changes}


def test_a_frame_is_written_down_and_drafts_are_set_up_by_it(manager):
    order = Order.objects.filter(state="draft").select_related("model", "hull", "market")[0]
    frame = order.model.frame
    url = reverse("ratings:frame", args=[order.model.code])
    at = round(shown_of(order).set_up.axle_mm) - 200

    answer = manager.post(url, figures(frame, axle_from_mm=at - 100, axle_to_mm=at))

    assert answer.status_code == 302
    assert shown_of(Order.objects.get(pk=order.pk)).set_up.axle_mm == at


def test_a_frame_that_contradicts_itself_is_refused_in_words(manager):
    frame = ModelFrame.objects.select_related("model").get(model__code="B1300")

    answer = manager.post(reverse("ratings:frame", args=["B1300"]), figures(frame, axle_from_mm=9000))

    assert answer.status_code == 422
    assert "The axle slots end before they begin." in answer.content.decode()


def test_only_a_permitted_person_writes_frames_and_duties(workshop):
    office = signed_in(OFFICE)

    assert office.get(reverse("ratings:frame", args=["B1300"])).status_code == 200
    assert office.post(reverse("ratings:frame", args=["B1300"]), {}).status_code == 403
    assert office.post(reverse("ratings:duties", args=["LAMP-REV"]), {}).status_code == 403


def test_a_part_counts_as_a_lamp_and_no_longer(manager):
    url, page = reverse("ratings:duties", args=["LAMP-REV"]), reverse("ratings:part", args=["LAMP-REV"])

    for _ in range(2):
        assert manager.post(url, {"duty": "fog_lamp", "count": "2"}).status_code == 302
    assert ItemDuty.objects.get(item__code="LAMP-REV", duty="fog_lamp").count == 2
    assert "2 × rear fog lamp" in manager.get(page).content.decode()
    manager.post(url, {"take": "fog_lamp"})
    assert not ItemDuty.objects.filter(item__code="LAMP-REV", duty="fog_lamp").exists()
    assert manager.post(url, {"duty": "horn", "count": "1"}).status_code == 422


def test_a_part_is_found_by_its_code(manager):
    found = manager.get(reverse("ratings:parts"), {"part": "lamp-rev"})
    assert found["Location"] == reverse("ratings:part", args=["LAMP-REV"])
    assert manager.get(reverse("ratings:parts"), {"part": "NO-SUCH"}).status_code == 404


def test_variants_stand_by_customer(manager):
    url = reverse("orders:variants")
    with CaptureQueriesContext(connection) as queries:
        text = manager.get(url).content.decode()
    assert len(queries) <= 20
    assert text.index(["Marrowmouth Boat Yard", "/h2>"][0]) < text.index("Marrowmouth cruiser set-up")
    one = manager.get(url, {"customer": "QUAY"}).content.decode()
    assert "Quaythorpe club boat set-up" in one
    assert "Marrowmouth cruiser set-up" not in one


def test_versions_stand_side_by_side_with_what_changed(manager):
    versions = list(Variant.objects.filter(code="marrow-day").select_related("model"))
    lines = {line.question: line.cells for line in side_by_side(versions)}

    assert [version.version for version in versions] == [2, 1]
    assert lines["Agreed price"][0].is_changed
    assert [cell.is_changed for cell in lines["Lights"]] == [True, False]
    assert not any(cell.is_changed for cell in lines["Finish"])
    text = manager.get(reverse("orders:variant", args=["marrow-day"])).content.decode()
    assert "Version 2, current" in text
    assert "<small>changed</small>" in text


def test_agreed_prices_lie_a_little_under_the_list(workshop):
    catalogue = load_range()
    orders = Order.objects.filter(variant__isnull=False).select_related("model", "hull", "variant")[:30]
    answers = answers_of(orders)
    for order in orders:
        asked = answers[order.pk]
        listed = price_of(
            type(asked)(asked.model, asked.finish, asked.choices, asked.colours, asked.hull), catalogue
        )
        assert Decimal("0.90") < order.price / listed < Decimal("0.97")
