"""How much more than ordered may come: the house says it for all, a supplier's own term stands before it."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inventory.buying.models import BuyingRules, Supplier
from inventory.buying.receiving import tolerance


@pytest.fixture
def supplier(db) -> Supplier:
    return Supplier.objects.create(code="S", name="Some Supplier")


def test_without_a_word_ten_percent_more_are_taken(supplier):
    assert tolerance(supplier) == 10


@pytest.mark.parametrize(("own", "expected"), [(None, 4), (Decimal(0), 0), (Decimal(25), 25)])
def test_the_suppliers_own_term_stands_before_the_house(supplier, own, expected):
    BuyingRules.objects.create(pk=1, over_percent=Decimal(4))
    supplier.over_percent = own
    assert tolerance(supplier) == expected


def test_the_house_term_is_changed_on_the_suppliers_page(supplier, keeper):
    assert keeper.post(reverse("buying:suppliers"), {"over_percent": "6.5"}).status_code == 302
    assert tolerance(supplier) == Decimal("6.5")
    text = keeper.get(reverse("buying:suppliers")).content.decode()
    assert "6.5 %" in text


def test_nonsense_is_said_on_the_page(supplier, keeper):
    answer = keeper.post(reverse("buying:suppliers"), {"over_percent": "-1"})
    assert answer.status_code == 200
    assert tolerance(supplier) == 10


def test_a_visitor_cannot_change_it(supplier, visitor):
    assert visitor.get(reverse("buying:suppliers")).status_code == 200
    assert visitor.post(reverse("buying:suppliers"), {"over_percent": "50"}).status_code == 403
    assert tolerance(supplier) == 10
