"""A confirmed order against what it would be today."""

from django.urls import reverse

from bom.structure.models import Revision
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from tests.production.site.bills.test_bill_pages import manager, opened, rows  # noqa: F401


def seen(client, order) -> str:
    return client.get(reverse("bills:today", args=[order.number])).content.decode()


def released(client, *lines):
    opened(client)
    client.post(reverse("bills:draft", args=["CH"]), rows(*lines))
    day = Revision.objects.get(item__code="CH", state="draft").effective_from
    client.post(reverse("bills:release", args=["CH"]), {"effective_from": day.isoformat()})


def test_an_order_confirmed_by_the_bills_of_today_does_not_differ(shop, office):
    assert "Nothing differs" in seen(office, confirm_order(order=shop.draft(), by=shop.user))


def test_a_later_revision_shows_as_a_difference_and_the_order_keeps_its_bill(shop, manager):  # noqa: F811
    order = confirm_order(order=shop.draft(), by=shop.user)
    before = order.bill_id
    released(manager, ("10", "BM", "3"), ("20", "PL", "4"))

    page = seen(manager, order)

    order.refresh_from_db()
    assert ">BM<" in page
    assert ">PL<" not in page
    assert "Nothing is begun" in page
    assert order.bill_id == before


def test_what_is_done_already_is_said(shop, manager):  # noqa: F811
    order = confirm_order(order=shop.draft(), by=shop.user)
    WorksOperation.objects.filter(works_order__order=order, process__code="saw").update(state="done")
    released(manager, ("10", "BM", "1"), ("20", "PL", "4"))

    page = seen(manager, order)

    assert "saw done" in page
    assert "finished by its frozen bill" in page
