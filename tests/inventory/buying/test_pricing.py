"""Price breaks and delivery rounds, by hand."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.buying import ordering
from inventory.buying.models import SupplierItem, SupplierPrice
from inventory.buying.pricing import Break, delivery_day, next_break, unit_price, value

DAY = date(2026, 5, 12)  # a Tuesday
BREAKS = [
    Break(Decimal(50), Decimal("3.00"), date(2026, 1, 1)),
    Break(Decimal(100), Decimal("2.50"), date(2026, 1, 1), date(2026, 6, 30)),
    Break(Decimal(100), Decimal("2.40"), date(2026, 5, 1)),
    Break(Decimal(200), Decimal("1.00"), date(2027, 1, 1)),
]


@pytest.mark.parametrize(
    ("quantity", "day", "price"),
    [
        pytest.param(49, DAY, "3.20", id="below the first break"),
        pytest.param(50, DAY, "3.00", id="at the break"),
        pytest.param(100, DAY, "2.40", id="of two that hold the later counts"),
        pytest.param(100, date(2026, 4, 30), "2.50", id="before the newer one begins"),
        pytest.param(300, DAY, "2.40", id="not valid yet"),
        pytest.param(300, date(2027, 1, 1), "1.00", id="valid from its first day"),
        pytest.param(60, date(2025, 12, 31), "3.20", id="before all of them"),
    ],
)
def test_the_break_that_holds_counts(quantity, day, price):
    assert unit_price(Decimal("3.20"), BREAKS, quantity=Decimal(quantity), day=day) == Decimal(price)


def test_more_goods_for_no_more_money_are_pointed_out():
    assert next_break(Decimal("3.20"), BREAKS, quantity=Decimal(48), day=DAY) == (50, Decimal("3.00"))
    assert next_break(Decimal("3.20"), BREAKS, quantity=Decimal(40), day=DAY) is None
    assert next_break(Decimal("3.20"), BREAKS, quantity=Decimal(90), day=DAY) == (100, Decimal("2.40"))


@pytest.mark.parametrize(
    ("wanted", "earliest", "weekday", "asked"),
    [
        pytest.param(date(2026, 5, 15), DAY, 2, date(2026, 5, 13), id="the round before"),
        pytest.param(date(2026, 5, 13), DAY, 2, date(2026, 5, 13), id="the round on the day"),
        pytest.param(date(2026, 5, 12), DAY, 2, date(2026, 5, 13), id="only the next round can come"),
        pytest.param(date(2026, 5, 1), DAY, 1, DAY, id="wanted before anything can come"),
        pytest.param(date(2026, 5, 20), DAY, None, date(2026, 5, 20), id="no round"),
        pytest.param(date(2026, 5, 1), DAY, None, DAY, id="no round and too early"),
    ],
)
def test_a_supplier_is_asked_for_a_day_on_which_he_comes(wanted, earliest, weekday, asked):
    assert delivery_day(wanted, earliest=earliest, weekday=weekday) == asked


@settings(max_examples=60)
@given(
    offset=st.integers(-40, 40),
    weekday=st.integers(0, 6),
)
def test_a_round_is_never_before_the_earliest_and_within_a_week_of_what_is_best(offset, weekday):
    wanted = DAY + timedelta(days=offset)
    day = delivery_day(wanted, earliest=DAY, weekday=weekday)

    assert day.weekday() == weekday
    assert day >= DAY
    assert day <= max(wanted, DAY + timedelta(days=6))


def test_value_is_rounded_once_half_to_even():
    assert value(Decimal(1), Decimal("0.125")) == Decimal("0.12")


def test_a_line_takes_the_price_of_its_break_and_loses_it_with_the_quantity(room, buying, rubber):
    sold = SupplierItem.objects.get()
    SupplierPrice.objects.create(sold=sold, from_quantity=100, price=2, valid_from=buying.today)
    order = buying.draft(95)
    line = order.lines.get()
    assert (line.quantity, line.price) == (100, 2)

    ordering.change_line(line=line, quantity=Decimal(30), due_on=line.due_on, by=room.keeper)
    line.refresh_from_db()
    assert line.price == Decimal("3.20")

    agreed = ordering.change_line(
        line=line, quantity=Decimal(30), due_on=line.due_on, by=room.keeper, price=Decimal("2.90")
    )
    assert agreed.price == Decimal("2.90")


def test_wants_follow_the_delivery_round_and_know_their_lines(room, buying, rubber):
    rubber.delivery_weekday = 2
    rubber.save()
    wanted = [buying.today + timedelta(days=days) for days in (30, 31, 37)]
    wants = [ordering.Want(room.roller.pk, None, Decimal(10), day) for day in wanted]
    raised = ordering.raise_for(wants=wants, by=room.keeper)

    assert {line.due_on.weekday() for line in raised.lines} == {2}
    assert all(line.due_on <= day for line, day in zip(raised.lines, wanted, strict=True))
    assert sum(line.quantity for line in raised.orders[0].lines.all()) == 30


def test_what_is_added_to_a_draft_joins_the_line_of_its_day(room, buying):
    order = buying.draft(10)
    line = order.lines.get()
    want = ordering.Want(room.roller.pk, None, Decimal(5), line.due_on)
    (joined,) = ordering.add_wants(order=order, wants=[want], by=room.keeper)

    assert (joined.pk, joined.quantity) == (line.pk, 20)  # fifteen, in whole packs of ten
    assert order.lines.count() == 1
