"""Lead times and kept days, measured from the receipts."""

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.buying import receiving, record
from inventory.buying.confirming import Promise, confirm_line
from inventory.buying.measured import lead_days, percentile
from inventory.buying.models import PurchaseOrder, SupplierItem
from inventory.levels.arithmetic import after_working_days

# Mean, sample deviation and nearest-rank percentiles of these ten, reckoned by hand.
TEN = [4, 4, 5, 5, 5, 6, 6, 7, 8, 10]


def _delivered(buying, days: int, *, promised: int = 5):
    """An order of six weeks ago that came whole after so many working days, promised after `promised`."""
    line = buying.released(10)
    start = after_working_days(buying.today - timedelta(days=42), 0)
    line.wanted_on = line.due_on = after_working_days(start, promised)
    line.save()
    PurchaseOrder.objects.filter(pk=line.order_id).update(ordered_on=start)
    buying.comes(line, 10, after_working_days(start, days))
    return line


def _record(room, rubber):
    return record.records([room.roller.pk])[room.roller.pk, rubber.pk]


def _lead(room):
    return record.planning_leads([room.roller.pk])[room.roller.pk]


def test_mean_spread_and_share_come_from_the_receipts(room, buying, rubber):
    for days in TEN:
        _delivered(buying, days)
    found = _record(room, rubber)

    assert (found.deliveries, found.mean) == (10, 6.0)
    assert found.deviation == pytest.approx((32 / 9) ** 0.5)
    assert (found.due, found.on_time, found.share_on_time) == (10, 5, 0.5)
    assert sorted(line.days for line in found.lines) == TEN
    assert record.supplier_records()[rubber.pk].mean == 6.0


@pytest.mark.parametrize(
    ("percent", "value"), [(1, 4), (20, 4), (21, 5), (50, 5), (51, 6), (80, 7), (81, 8), (99, 10)]
)
def test_the_percentile_is_a_lead_time_that_was_seen(percent, value):
    assert percentile(TEN, percent) == value


@settings(max_examples=50)
@given(st.lists(st.integers(0, 60), min_size=1, max_size=40), st.integers(1, 99))
def test_at_least_so_many_of_a_hundred_lie_at_or_below_the_percentile(values, percent):
    found = percentile(values, percent)

    assert found in values
    assert 100 * sum(value <= found for value in values) >= percent * len(values)
    assert 100 * sum(value < found for value in values) < percent * len(values)


@pytest.mark.parametrize(("values", "percent"), [([], 50), ([1], 0), ([1], 101)])
def test_there_is_no_percentile_of_nothing(values, percent):
    with pytest.raises(ValueError, match="percentile"):
        percentile(values, percent)


def test_planning_takes_the_stated_time_until_enough_has_come(room, buying, rubber):
    for days in (9, 9, 9, 9):
        _delivered(buying, days)
    assert (_lead(room).days, _lead(room).is_measured) == (4, False)

    _delivered(buying, 9)
    assert (_lead(room).days, _lead(room).is_measured, _lead(room).stated_days) == (9, True, 4)


def test_the_supplier_s_terms_choose_percentile_and_how_many(room, buying, rubber):
    for days in TEN:
        _delivered(buying, days)
    assert _lead(room).days == 7

    rubber.lead_percentile = 50
    rubber.save()
    assert _lead(room).days == 5
    rubber.fewest_deliveries = 11
    rubber.save()
    assert _lead(room).days == 4


def test_another_suppliers_deliveries_do_not_count(room, buying, rubber):
    for days in TEN:
        _delivered(buying, days)
    other = type(rubber).objects.create(code="OTHER", name="Other")
    SupplierItem.objects.filter(supplier=rubber).update(is_preferred=False)
    SupplierItem.objects.create(supplier=other, item=room.roller, price=9, lead_days=30)

    assert (_lead(room).days, _lead(room).record.deliveries) == (30, 0)


def test_a_delivery_taken_back_teaches_nothing(room, buying, rubber):
    line = _delivered(buying, 8)
    receiving.take_back(receipt=line.receipts.get(), by=room.keeper, reason="wrong box")

    found = _record(room, rubber)
    assert (found.deliveries, found.due, found.on_time) == (0, 1, 0)  # and it is overdue again


def test_the_first_promise_is_the_one_to_keep(room, buying, rubber):
    line = buying.released(10, days_ago=3)
    first, second = buying.today + timedelta(days=1), buying.today + timedelta(days=9)
    for key, day in (("confirm:1", first), ("confirm:2", second)):
        confirm_line(line=line, promise=Promise(day, Decimal(10)), by=None, key=key)
    buying.comes(line, 10, first + timedelta(days=2))

    (kept,) = _record(room, rubber).lines
    assert (kept.promised_on, kept.is_on_time, kept.days_late) == (first, False, 2)


def test_half_of_it_in_time_is_not_in_time(room, buying, rubber):
    line = buying.released(20, buying.today - timedelta(days=2), days_ago=20)
    buying.comes(line, 10, buying.today - timedelta(days=5))
    (half,) = _record(room, rubber).lines
    assert (half.is_on_time, half.complete_on) == (False, None)
    assert half.days == lead_days(buying.today - timedelta(days=20), buying.today - timedelta(days=5))


def test_what_is_not_due_yet_is_not_judged(room, buying, rubber):
    buying.released(20)
    found = _record(room, rubber)
    assert (found.due, found.deliveries, found.share_on_time) == (0, 0, None)


def test_questions_do_not_grow_with_the_deliveries(room, buying, django_assert_num_queries):
    for days in TEN:
        _delivered(buying, days)
    with django_assert_num_queries(4):
        record.planning_leads([room.roller.pk])
