"""Levels from the ledger, and alerts from levels."""

import uuid
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from bom.items.models import Item
from inventory.buying import ordering, receiving
from inventory.buying.models import PurchaseOrder, Supplier, SupplierItem
from inventory.levels import queries, verbs
from inventory.levels.models import ItemLevel
from inventory.stock import ledger, reserving

# A Friday.
TODAY = date(2026, 11, 20)


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def _post(room, item, quantity, source, target, day, kind):
    return ledger.post(
        key=f"test:{uuid.uuid4().hex}",
        kind=kind,
        lines=room.both(item, quantity, source, target),
        by=room.keeper,
        happened_at=_noon(day),
    )


@pytest.fixture
def supplier(room) -> Supplier:
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll")
    SupplierItem.objects.create(
        supplier=supplier, item=room.roller, price=Decimal("3.20"), pack=10, lead_days=4
    )
    return supplier


@pytest.fixture
def used(room, supplier):
    """Forty rollers brought, two used each Monday of the last ten weeks."""
    _post(room, room.roller, 40, "SUPPLIER", "A1", TODAY - timedelta(weeks=10), "receipt")
    for week in range(1, 11):
        monday = TODAY - timedelta(days=TODAY.weekday() + 7 * (week - 1))
        _post(room, room.roller, 2, "A1", "KIT", monday, "issue")
    return room


def _level(room) -> ItemLevel:
    verbs.work_out_levels(today=TODAY)
    return ItemLevel.objects.get(item=room.roller)


def test_a_level_comes_from_use_since_the_item_was_first_seen(used):
    level = _level(used)

    # Ten weeks of five days, counted from the first Friday to yesterday.
    assert level.days_seen == 50
    assert float(level.daily_mean) == pytest.approx(20 / 50)
    assert level.lead_days == 4
    assert float(level.reorder_point) == pytest.approx(queries.working(level).point, abs=1e-3)


def test_a_use_that_was_reversed_does_not_count(used):
    before = _level(used).daily_mean
    wrong = _post(used, used.roller, 9, "A1", "KIT", TODAY - timedelta(days=2), "issue")
    assert _level(used).daily_mean > before

    ledger.reverse(posting=wrong, by=used.keeper, reason="wrong order")
    assert _level(used).daily_mean == before


def test_what_comes_back_to_the_shelf_was_not_used(used):
    _post(used, used.roller, 2, "KIT", "A1", TODAY - timedelta(days=TODAY.weekday()), "return")

    assert float(_level(used).daily_mean) == pytest.approx(18 / 50)


def test_moving_and_counting_are_no_use(used):
    before = _level(used).daily_mean
    _post(used, used.roller, 5, "A1", "A2", TODAY - timedelta(days=2), "move")
    _post(used, used.roller, 1, "A1", "COUNT", TODAY - timedelta(days=2), "count")

    assert _level(used).daily_mean == before


def test_a_level_set_by_a_person_is_left_alone(used):
    verbs.set_level(item=used.roller, reorder_point=Decimal(33))
    level = _level(used)

    assert level.reorder_point == 33
    assert level.daily_mean > 0


def test_lead_times_are_learnt_from_three_deliveries(used, supplier):
    for number, days in enumerate((3, 5, 7)):
        want = ordering.Want(used.roller.pk, None, Decimal(10), TODAY)
        order = ordering.raise_orders(wants=[want], by=used.keeper)[0]
        ordering.release_order(order=order, by=used.keeper)
        monday = TODAY - timedelta(days=TODAY.weekday() + 28)
        PurchaseOrder.objects.filter(pk=order.pk).update(ordered_on=monday)
        receiving.receive_line(
            line=order.lines.get(),
            quantity=Decimal(10),
            location=used.places["A1"],
            by=used.keeper,
            key=f"goods-in:{number}",
            happened_at=_noon(queries.after_working_days(monday, days)),
        )
    level = _level(used)

    assert (level.lead_days, level.lead_deviation_days, level.deliveries_seen) == (5, 2, 3)


def test_questions_do_not_grow_with_the_items(room, django_assert_max_num_queries):
    for number in range(30):
        Item.objects.create(code=f"X{number}", name="x", kind="bought")

    with django_assert_max_num_queries(40):
        verbs.work_out_levels(today=TODAY)
    with django_assert_max_num_queries(40):
        assert verbs.work_out_levels(today=TODAY) == 32


def _alerts():
    return queries.shelf_alerts(today=TODAY)


def test_an_item_under_its_level_is_an_alert_with_pack_supplier_and_price(used, supplier):
    verbs.set_level(item=used.roller, reorder_point=Decimal(53))
    alert = _alerts()[0]

    # Forty are on hand, kits counted; thirteen are short, bought in tens.
    assert (alert.short_by, alert.quantity, alert.value) == (13, 20, 64)
    assert alert.offer.supplier_name == "Rubber and Roll"
    assert alert.arrives_on == date(2026, 11, 26)


def test_what_is_kept_for_orders_counts_as_gone(used):
    verbs.set_level(item=used.roller, reorder_point=Decimal(40))
    assert _alerts() == []

    reserving.reserve(item=used.roller, purpose=used.purpose(), quantity=Decimal(1), by=used.keeper)
    assert [alert.short_by for alert in _alerts()] == [1]


def test_what_is_on_order_counts_once_it_is_released(used):
    verbs.set_level(item=used.roller, reorder_point=Decimal(45))
    want = ordering.Want(used.roller.pk, None, Decimal(10), TODAY)
    order = ordering.raise_orders(wants=[want], by=used.keeper)[0]
    assert len(_alerts()) == 1

    ordering.release_order(order=order, by=used.keeper)
    assert _alerts() == []


def test_the_alert_says_by_when_to_order(used):
    ItemLevel.objects.create(item=used.roller, reorder_point=50, daily_mean=Decimal(4))
    alert = _alerts()[0]

    # Forty last ten working days; the supplier takes four.
    assert alert.runs_out_on == date(2026, 12, 4)
    assert alert.order_by == date(2026, 11, 30)
    assert not alert.comes_too_late


def test_the_alert_says_when_even_today_is_too_late(used):
    ItemLevel.objects.create(item=used.roller, reorder_point=50, daily_mean=Decimal(20))
    alert = _alerts()[0]

    assert alert.order_by == TODAY
    assert alert.comes_too_late


def test_an_item_nobody_sells_is_an_alert_all_the_same(room):
    verbs.set_level(item=room.axle, reorder_point=Decimal("2.5"))
    alert = _alerts()[0]

    assert (alert.offer, alert.quantity, alert.value) == (None, 3, None)


def test_alerts_ask_the_same_questions_for_three_and_thirty(room, django_assert_num_queries):
    for count in (3, 30):
        for number in range(count):
            item, _ = Item.objects.get_or_create(code=f"X{number}", name="x", kind="bought")
            verbs.set_level(item=item, reorder_point=Decimal(5))
        with django_assert_num_queries(5):
            assert len(_alerts()) == count
