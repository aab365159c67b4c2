"""The saw's pages: one bar large, its cuts, and what is done with it."""

import pytest
from django.contrib.auth.models import Permission
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from bom.geometry.models import SawnEnds
from bom.kernel.pages import new_key
from production.cutting.saw.asking import ask_to_gather
from production.cutting.saw.gathering import carry_out
from production.cutting.saw.models import BarGather, BarLength, SawBar, SawCut, SawRules
from tests.production.floor import floor_shop, released, the_plan

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return floor_shop()


@pytest.fixture
def screen(shop, client: Client) -> Client:
    client.force_login(shop.user)
    return client


@pytest.fixture
def order(shop):
    order = released(shop)
    shop.stock("SEC", "12")
    carry_out(ask_to_gather(plan=the_plan(shop)).pk)
    return order


def address(name: str) -> str:
    bar = SawBar.objects.select_related("batch").order_by("pk").first()
    assert bar is not None
    return reverse(f"saw:{name}", args=[bar.batch.number, bar.number])


def text(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_the_screen_says_which_bar_to_fetch_and_what_to_saw_for_whom(screen, order):
    said = text(screen.get(reverse("saw:station")))

    wanted = ("6 000", "A1", "1 500", "BM", order.number)
    assert [word for word in wanted if word not in said] == []


def test_the_head_says_for_how_many_orders_the_saw_owes_pieces(screen, order):
    cache.clear()  # the head keeps its counts for some seconds
    waiting = "<b>Saw</b><small>1 waiting</small>"
    assert waiting in screen.get(reverse("saw:station")).content.decode()

    SawCut.objects.update(state=SawCut.State.GOOD)
    cache.clear()
    assert waiting not in screen.get(reverse("saw:station")).content.decode()


def test_start_and_done_by_the_screen_and_the_offcut_has_a_label(screen, order, shop):
    screen.post(address("begin"), {"key": new_key("saw")})
    assert SawBar.objects.get().state == "begun"
    cut = SawBar.objects.get().cuts.first()

    answer = screen.post(
        address("finish"),
        {
            "key": new_key("saw"),
            "bad": [f"{cut.pk}:angle"],
            "keep": "yes",
            "length_mm": "2900",
            "place": "A2",
        },
        follow=True,
    )

    bar = SawBar.objects.get()
    assert (bar.state, bar.offcut.length_mm) == ("done", 2900)
    assert [one.reason for one in bar.cuts.all()] == ["wrong angle", ""]
    assert bar.offcut.code in text(answer)
    label = screen.get(reverse("stores:labels"), {"what": "lots", "codes": bar.offcut.code})
    assert label.status_code == 200


def test_a_refusal_keeps_the_marks_and_says_why(screen, order):
    cut = SawBar.objects.get().cuts.first()

    answer = screen.post(
        address("finish"),
        {
            "key": new_key("saw"),
            "bad": [f"{cut.pk}:angle"],
            "keep": "yes",
            "length_mm": "9000",
            "place": "A2",
        },
    )

    assert answer.status_code == 409
    assert "at most" in text(answer)
    assert f'value="{cut.pk}:angle" selected' in text(answer)


def test_who_may_not_report_work_sees_and_cannot_do(order, client, django_user_model):
    client.force_login(django_user_model.objects.create_user("viewer"))

    assert "Start this bar" not in text(client.get(reverse("saw:station")))
    assert client.post(address("begin"), {"key": new_key("saw")}).status_code == 403


def test_an_empty_screen_offers_to_gather(screen, shop):
    released(shop)
    the_plan(shop)
    assert "Gather what the saw owes" in text(screen.get(reverse("saw:station")))

    screen.post(reverse("saw:gather"))

    assert BarGather.objects.get().state == "queued"


@pytest.mark.parametrize("count", [1, 12])
def test_pages_ask_few_questions_however_many_bars(screen, shop, count, django_assert_max_num_queries):
    for _ in range(count):
        released(shop)
    carry_out(ask_to_gather(plan=the_plan(shop)).pk)
    bar = SawBar.objects.select_related("batch").first()

    for name, args in (
        ("station", []),
        ("batches", []),
        ("batch", [bar.batch.number]),
        ("bar", [bar.batch.number, bar.number]),
    ):
        with django_assert_max_num_queries(20):
            assert screen.get(reverse(f"saw:{name}", args=args)).status_code == 200


def test_the_manager_writes_what_the_saw_reckons_with(screen, shop):
    page = reverse("saw:rules")
    rules = {
        "what": "rules",
        "kerf_mm": "2.5",
        "trim_mm": "20",
        "shortest_offcut_mm": "400",
        "window_days": "2",
    }
    assert screen.post(page, rules).status_code == 403
    shop.user.user_permissions.add(Permission.objects.get(codename="run_plan"))

    screen.post(page, rules)
    screen.post(page, {"what": "length", "item": "SEC", "length_mm": "7500", "price": ""})
    screen.post(page, {"what": "ends", "item": "BM", "first_deg": "45", "second_deg": "0"})
    screen.post(page, {"what": "ends", "item": "BM", "first_deg": "30", "second_deg": "0"})
    refused = screen.post(page, {"what": "ends", "item": "BM", "first_deg": "80", "second_deg": "0"})

    assert SawRules.in_force().kerf_mm == 2.5
    assert BarLength.objects.get().length_mm == 7500
    assert SawnEnds.objects.get().first_deg == 30
    assert refused.status_code == 422
    assert "from 0° to 60°" in text(refused)
