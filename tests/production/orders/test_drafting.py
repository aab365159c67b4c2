"""Drafts take numbers once, fill in what is standard, and share no hull by accident."""

import pytest

from bom.catalogue.models import Variant
from bom.kernel.errors import ProblemError
from production.orders.drafting import HullFigures, change_draft
from production.orders.models import Hull, NumberSeries, Order
from production.orders.numbers import take_numbers
from production.orders.queries import answers_of, asked_of
from production.works.confirming import confirm_order
from tests.production.small_workshop import SmallWorkshop, build

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return build()


def answers(order: Order):
    return answers_of([order])[order.pk]


def test_numbers_go_up_by_one():
    assert take_numbers(2) == ["1001", "1002"]
    assert take_numbers() == ["1003"]


def test_a_new_series_goes_on_after_the_highest_number_in_use(shop):
    order = shop.draft()
    Order.objects.filter(pk=order.pk).update(number="4711")
    NumberSeries.objects.all().delete()

    assert take_numbers() == ["4712"]


def test_what_nobody_chose_is_standard(shop):
    order = shop.draft(choices=None, finish="")

    assert answers(order).choices == {"winch": "manual"}
    assert order.finish in ("galvanised", "duplex")


def test_a_variant_fills_in_finish_choices_colours_and_price(shop):
    order = shop.draft(variant=Variant.objects.get(), finish="", choices=None, colours=None)

    asked = answers(order)
    assert (order.finish, order.price) == ("duplex", 1234)
    assert asked.choices == {"winch": "electric"}
    assert asked.colours == {"port": "red", "starboard": "red", "powder": "blue"}


def test_what_the_customer_says_goes_before_the_variant(shop):
    order = shop.draft(variant=Variant.objects.get(), colours={"port": "green"}, choices=None)

    assert answers(order).colours["port"] == "green"
    assert answers(order).colours["starboard"] == "red"


def test_a_variant_of_another_model_is_refused(shop):
    other = shop.model
    variant = Variant.objects.get()
    other.pk, other.code = None, "H2"
    other.item = shop.items["CH"]
    other.save()

    with pytest.raises(ProblemError, match="is of another model"):
        shop.draft(model=other, variant=variant)


def test_an_unknown_choice_or_colour_is_refused_by_name(shop):
    with pytest.raises(ProblemError, match="There is no choice steam"):
        shop.draft(choices={"winch": "steam"})
    with pytest.raises(ProblemError, match="There is no colour pink"):
        shop.draft(colours={"port": "pink"})
    assert not Order.objects.exists()


def test_changing_a_draft_replaces_all_it_asks_for(shop):
    order = shop.draft()

    change_draft(
        order=order, wish=shop.wish(choices={"winch": "electric"}, colours={"port": "blue"}), by=shop.user
    )

    assert answers(order).choices == {"winch": "electric"}
    assert answers(order).colours == {"port": "blue"}


def test_changing_one_hull_leaves_an_order_that_shares_it_alone(shop):
    first, second = shop.draft(), shop.draft()
    Order.objects.filter(pk=second.pk).update(hull=first.hull)

    change_draft(order=first, wish=shop.wish(hull=HullFigures("Other", 200, 4100, 1700, 3900)), by=shop.user)

    second.refresh_from_db()
    assert second.hull.name == "Open boat"
    assert Hull.objects.filter(name="Other").count() == 1


def test_a_confirmed_order_is_not_changed(shop):
    order = confirm_order(order=shop.draft(), by=shop.user)

    with pytest.raises(ProblemError, match="can no longer be changed"):
        change_draft(order=order, wish=shop.wish(), by=shop.user)


def test_choices_come_before_colours_in_the_order_asked(shop):
    order = shop.draft(choices={"lights": "board", "winch": "manual"})

    assert [one.question for one in asked_of(order)] == ["winch", "lights", "port", "starboard"]
    assert asked_of(order)[2].question_word == "rollers, port"
