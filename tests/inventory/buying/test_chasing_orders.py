"""One answer of the supplier serves a whole order, on its page and on the list of lines to chase."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.buying import chasing, ordering
from inventory.buying.models import Chase
from inventory.buying.ordering import Want
from inventory.levels.arithmetic import after_working_days

KEY = "chase:" + "b" * 32


@pytest.fixture
def order(room, rubber):
    today = timezone.localdate()
    wants = [Want(room.roller.pk, rubber.pk, Decimal(20), after_working_days(today, day)) for day in (5, 9)]
    made = ordering.raise_orders(wants=wants, by=room.keeper)[0]
    return ordering.release_order(order=made, by=None)


def test_the_answer_is_kept_for_every_line_once(order, keeper):
    tomorrow = timezone.localdate() + timedelta(days=1)
    form = {"key": KEY, "answer": "all on Friday", "again_on": tomorrow.isoformat(), "from": "chase"}
    for _ in range(2):
        answer = keeper.post(reverse("buying:chase_order", args=[order.number]), form)
        assert answer.url == reverse("buying:chase_list")

    assert sorted(Chase.objects.values_list("line__position", "answer")) == [
        (1, "all on Friday"),
        (2, "all on Friday"),
    ]


def test_lines_that_need_nothing_more_are_left_out(order, room):
    ordering.close_line(line=order.lines.get(position=1), by=None)
    tomorrow = timezone.localdate() + timedelta(days=1)
    kept = chasing.chase_order(order=order, answer="soon", again_on=tomorrow, by=None, key="k")
    assert kept == 1


def test_an_empty_answer_is_refused_for_all(order, keeper):
    form = {"key": KEY, "answer": "", "again_on": timezone.localdate().isoformat()}
    keeper.post(reverse("buying:chase_order", args=[order.number]), form)
    assert not Chase.objects.exists()


def test_the_order_page_offers_it(order, keeper):
    page = keeper.get(reverse("buying:order", args=[order.number])).content.decode()
    assert "One answer for all that is to come" in page
