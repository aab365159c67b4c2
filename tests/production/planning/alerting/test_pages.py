"""The alerts page and its acts."""

import pytest
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import reverse

from bom.people.models import User
from inventory.buying.models import PurchaseOrder
from production.planning.alert_models import DigestWish, Silence

MOST_QUERIES = 20


@pytest.fixture
def office(trouble, client: Client) -> Client:
    client.force_login(trouble.shop.user)
    return client


@pytest.fixture
def visitor(trouble) -> Client:
    browser = Client()
    browser.force_login(User.objects.create_user("visitor", password="-"))
    return browser


def _text(response) -> str:
    return response.content.decode()


def test_an_empty_page_says_how_to_begin(office):
    assert "Alerts come from the released plan and the reorder levels" in _text(
        office.get(reverse("planning:alerts"))
    )


def test_looking_now_fills_the_page_and_drafting_changes_what_to_do(office, trouble):
    trouble.shortage(suggestion=trouble.suggestion())
    office.post(reverse("planning:look"))
    page = _text(office.get(reverse("planning:alerts")))
    assert "Buy 2: suggestion 1" in page

    chosen = {"from": "alerts", "suggestion": trouble.plan.suggestions.get().pk}
    office.post(reverse("planning:buy_suggestions"), chosen)
    page = _text(office.get(reverse("planning:alerts")))
    assert f"Release {PurchaseOrder.objects.get().number}" in page


def test_a_silenced_alert_moves_to_the_other_list(office, trouble):
    trouble.shortage()
    (alert,) = trouble.look()
    form = {"reason": "known", "until": trouble.day(3)}
    office.post(reverse("planning:silence", args=[alert.pk]), form)
    assert "BOX" not in _text(office.get(reverse("planning:alerts"))).split('id="alert-words"')[1]
    assert "known" in _text(office.get(reverse("planning:alerts"), {"show": "silenced"}))

    office.post(reverse("planning:speak", args=[alert.pk]))
    assert "BOX" in _text(office.get(reverse("planning:alerts")))


@pytest.mark.parametrize(
    "form", [{}, {"reason": "x"}, {"reason": "x", "until": "soon"}, {"until": "2030-01-01"}]
)
def test_half_a_silence_is_refused(office, trouble, form):
    trouble.shortage()
    (alert,) = trouble.look()
    answer = office.post(reverse("planning:silence", args=[alert.pk]), form, follow=True)

    assert "say why it can wait, and until which day" in _text(answer)
    assert not Silence.objects.exists()


def test_the_page_is_narrowed_by_words(office, trouble):
    trouble.shortage()
    trouble.shelf("RO-RED")
    trouble.look()
    page = _text(office.get(reverse("planning:alerts"), {"q": "roller"}))

    assert "/parts/RO-RED/" in page
    assert "/parts/BOX/" not in page


def test_everybody_asks_for_himself_and_only_some_for_a_role(office, visitor):
    address = reverse("planning:digest")
    mine = {"email": "me@sample.example", "shortages": "on"}
    assert visitor.post(address, mine).status_code == 302
    wish = DigestWish.objects.get()
    assert (wish.person.email, wish.shortages, wish.shelves) == ("me@sample.example", True, False)

    role = Group.objects.create(name="yard")
    assert visitor.post(address, {"role": role.pk, "shelves": "on"}).status_code == 403
    office.post(address, {"role": role.pk, "shelves": "on"})
    assert DigestWish.objects.get(role=role).shelves
    office.post(address, {"role": role.pk})
    assert not DigestWish.objects.filter(role=role).exists()


def test_letters_need_an_address(visitor):
    answer = visitor.post(reverse("planning:digest"), {"email": "", "shelves": "on"}, follow=True)
    assert "Write the mail address" in _text(answer)
    assert not DigestWish.objects.exists()


def test_a_visitor_silences_nothing(visitor, trouble):
    trouble.shortage()
    (alert,) = trouble.look()
    for name in ("silence", "speak"):
        assert visitor.post(reverse(f"planning:{name}", args=[alert.pk])).status_code == 403
    assert visitor.post(reverse("planning:look")).status_code == 403


@pytest.mark.parametrize("count", [1, 9])
def test_the_page_asks_the_same_number_of_questions(office, trouble, count, django_assert_max_num_queries):
    for _ in range(count):
        trouble.shortage(suggestion=trouble.suggestion())
    trouble.look()
    with django_assert_max_num_queries(MOST_QUERIES):
        assert "BOX" in _text(office.get(reverse("planning:alerts")))
