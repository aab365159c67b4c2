"""Named variants keep their versions, orders keep theirs, and an order is made again at today's prices."""

from datetime import date
from decimal import Decimal

import pytest

from bom.catalogue.models import ModelOption, Variant
from bom.kernel.errors import ProblemError
from production.orders.models import Customer, Order
from production.orders.queries import answers_of
from production.orders.variants import (
    VariantName,
    copy_variant,
    keep_as_variant,
    keep_as_version,
    order_again,
)
from tests.production.small_workshop import SmallWorkshop, build

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return build()


def harbour_order(shop: SmallWorkshop, **changes: object) -> Order:
    return shop.draft(
        variant=Variant.objects.get(is_current=True), finish="", choices=None, colours=None, **changes
    )


def test_an_order_s_choices_are_kept_as_its_customer_s_variant(shop):
    order = shop.draft(choices={"winch": "electric"})

    kept = keep_as_variant(order=order, name=VariantName("own", "Own set", Decimal(1300)), by=shop.user)

    assert list(shop.customer.variants.all()) == [kept]
    assert (kept.version, kept.finish) == (1, "galvanised")
    assert list(kept.choices.values_list("choice__code", flat=True)) == ["electric"]
    assert dict(kept.colours.values_list("place", "colour__code")) == {"port": "red", "starboard": "green"}


def test_a_code_is_taken_once(shop):
    with pytest.raises(ProblemError, match="There is a variant harbour already"):
        keep_as_variant(order=shop.draft(), name=VariantName("harbour", "Twice"), by=shop.user)


def test_the_next_version_leaves_the_old_one_and_its_orders_as_they_were(shop):
    old = Variant.objects.get()
    shop.customer.variants.add(old)
    earlier = harbour_order(shop)
    changed = shop.draft(variant=old, finish="galvanised", choices={"winch": "manual"})

    fresh = keep_as_version(order=changed, price=Decimal(1100), note="plain winch", by=shop.user)

    old.refresh_from_db()
    earlier.refresh_from_db()
    assert (old.is_current, fresh.is_current, fresh.version, fresh.code) == (False, True, 2, "harbour")
    assert earlier.variant == old
    assert list(old.choices.values_list("choice__code", flat=True)) == ["electric"]
    assert set(shop.customer.variants.all()) == {old, fresh}
    assert (old.key, fresh.key) == ("harbour.1", "harbour")


def test_a_version_needs_a_variant_and_a_reason(shop):
    with pytest.raises(ProblemError, match="has no named variant"):
        keep_as_version(order=shop.draft(), price=None, note="x", by=shop.user)
    with pytest.raises(ProblemError, match="reason is missing"):
        keep_as_version(order=harbour_order(shop), price=None, note=" ", by=shop.user)


def test_a_copy_for_another_customer_begins_as_the_variant(shop):
    other = Customer.objects.create(code="C2", name="Boatyard Two")
    old = Variant.objects.get()

    fresh = copy_variant(
        variant=old, name=VariantName("two", "Two's set", old.price), customer=other, by=shop.user
    )

    assert list(other.variants.all()) == [fresh]
    assert fresh.note == "copied from harbour, version 1"
    assert list(fresh.choices.values_list("choice", flat=True)) == list(
        old.choices.values_list("choice", flat=True)
    )


def test_what_an_order_changes_about_its_variant_is_charged(shop):
    """The agreed 1234 covers duplex and the electric winch; the hand winch is 350 cheaper on the list."""
    assert harbour_order(shop).price == 1234
    assert (
        shop.draft(variant=Variant.objects.get(), finish="", choices={"winch": "manual"}, colours=None).price
        == 884
    )


def test_an_order_is_made_again_with_everything_it_asked_for(shop):
    order = harbour_order(shop, note="mind the keel")

    draft = order_again(order=order, asked_for=date(2030, 5, 1), by=shop.user)

    assert (draft.state, draft.copied_from, draft.variant, draft.note) == (
        "draft",
        order,
        order.variant,
        order.note,
    )
    assert draft.hull_id != order.hull_id
    before, after = (answers_of([one])[one.pk] for one in (order, draft))
    assert before == after


def test_ordered_again_it_costs_what_it_costs_today(shop):
    order = shop.draft(choices={"winch": "electric"})
    ModelOption.objects.filter(choice__code="electric").update(price=500)

    assert order_again(order=order, asked_for=date(2030, 5, 1), by=None).price == order.price + 100
