"""The worth of stock from the ledger: on any day, by place, with deliveries' prices, charges and reversals."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from bom.kernel.errors import ProblemError
from inventory.buying import ordering, receiving
from inventory.buying.models import Supplier, SupplierItem
from inventory.stock import cost_points, cost_rows, ledger, stating, valuing
from inventory.stock.cost_models import CostLayer, CostPoint, ItemCost
from inventory.stock.models import Posting
from inventory.stock.tasks import keep_worth
from production.config.celery import app

MONDAY = date(2026, 3, 2)


@pytest.fixture
def post(room):
    """Post so much of an item from one place to another, some days after the first Monday."""
    count = iter(range(1000))

    def _post(days, quantity, source, target, item=None, kind="move") -> Posting:
        at = timezone.make_aware(datetime(2026, 3, 2, 9)) + timedelta(days=days)
        return ledger.post(
            key=f"test:{next(count)}",
            kind=kind,
            lines=room.both(item or room.roller, quantity, source, target),
            by=room.keeper,
            happened_at=at,
        )

    return _post


def _cost(room, posting, cost, item=None):
    stating.state_cost(
        posting=posting, item=item or room.roller, unit_cost=Decimal(str(cost)), reason="bill", by=room.keeper
    )


def _value(room, day=None):
    worth = valuing.stock_worth([room.roller.pk], day)[room.roller.pk]
    return worth.quantity, worth.value


@pytest.fixture
def two_deliveries(room, post):
    """Ten at 4 on day 0, ten at 6 on day 2, twelve used on day 4."""
    first, second = post(0, 10, "SUPPLIER", "A1"), post(2, 10, "SUPPLIER", "A2")
    _cost(room, first, 4)
    _cost(room, second, 6)
    post(3, 10, "A1", "A2")
    return first, second, post(4, 12, "A2", "CONV", kind="issue")


def test_the_worth_on_each_day_by_moving_average(room, two_deliveries):
    days = [_value(room, MONDAY + timedelta(days=days)) for days in (-1, 0, 1, 2, 3, 4)]

    assert days == [(0, 0), (10, 40), (10, 40), (20, 100), (20, 100), (8, 40)]


def test_first_in_first_out_for_one_item_or_for_the_workshop(room, two_deliveries):
    stating.choose_method(method="fifo", item=room.roller)
    assert _value(room) == (8, 48)

    stating.follow_the_workshop(item=room.roller)
    assert _value(room) == (8, 40)

    stating.choose_method(method="fifo")
    assert _value(room) == (8, 48)


def test_unit_costs_say_by_what(room, two_deliveries):
    room.axle.standard_cost = Decimal(90)
    room.axle.save()
    found = valuing.unit_cost([room.roller.pk, room.axle.pk])

    assert found[room.roller.pk] == valuing.UnitCost(Decimal(5), "moving average")
    assert found[room.axle.pk] == valuing.UnitCost(Decimal(90), "standard cost")


def test_nothing_left_keeps_the_latest_cost(room, post, two_deliveries):
    post(5, 8, "A2", "SCRAP", kind="scrap")
    found = valuing.unit_cost([room.roller.pk])[room.roller.pk]

    assert (found.cost, found.basis) == (5, "latest cost known")


def test_the_worth_is_told_by_kind_of_place(room, post, two_deliveries):
    post(5, 3, "A2", "KIT")
    worth = valuing.stock_worth([room.roller.pk])[room.roller.pk]

    assert worth.quantities == {"shelf": 5, "work": 3}
    assert worth.values == {"shelf": 25, "work": 15}


def test_the_working_adds_up_to_the_worth(room, two_deliveries):
    working = valuing.working(room.roller.pk, on=MONDAY + timedelta(days=4))

    assert [(entry.quantity, entry.value) for entry in working.entries] == [
        (10, 40),
        (10, 60),
        (-12, -60),
    ]
    assert working.worth.value == sum(entry.value + entry.difference for entry in working.entries) == 40

    later = valuing.working(room.roller.pk, since=MONDAY + timedelta(days=3))
    assert later.before.value == 100
    assert [entry.quantity for entry in later.entries] == [-12]


def test_the_cost_of_an_issue_is_asked_by_its_posting(room, two_deliveries):
    first, _, issue = two_deliveries
    found = valuing.posting_costs([issue.pk, first.pk])

    assert [entry.value for entry in found[issue.pk]] == [-60]
    assert [entry.value for entry in found[first.pk]] == [40]


def test_a_reversed_delivery_leaves_with_what_it_cost(room, post):
    _cost(room, post(0, 10, "SUPPLIER", "A1"), 4)
    wrong = post(1, 10, "SUPPLIER", "A1")
    _cost(room, wrong, 9)
    assert _value(room) == (20, 130)

    ledger.reverse(posting=wrong, by=room.keeper, reason="booked twice")
    assert _value(room) == (10, 40)
    # The day before the reversal was written down is reported as it was.
    assert _value(room, MONDAY + timedelta(days=1)) == (20, 130)


def test_an_issue_that_happened_before_its_delivery_never_makes_worth_negative(room, post):
    delivery = post(2, 10, "SUPPLIER", "A1")
    _cost(room, delivery, 4)
    post(1, 3, "A1", "CONV", kind="issue")
    worth = valuing.stock_worth([room.roller.pk], MONDAY + timedelta(days=1))[room.roller.pk]

    assert (worth.quantity, worth.value, worth.owed) == (0, 0, 3)
    assert _value(room) == (7, 28)


def test_a_purchase_price_is_what_a_delivery_cost_and_charges_come_on_top(room):
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll")
    SupplierItem.objects.create(supplier=supplier, item=room.roller, price=Decimal("3.20"), lead_days=4)
    want = ordering.Want(room.roller.pk, None, Decimal(20), timezone.localdate())
    order = ordering.release_order(
        order=ordering.raise_orders(wants=[want], by=room.keeper)[0], by=room.keeper
    )
    posting = receiving.receive_line(
        line=order.lines.get(), quantity=Decimal(20), location=room.places["A1"], by=room.keeper, key="in:1"
    )
    assert _value(room) == (20, 64)

    charge = {
        "postings": [posting],
        "kind": "freight",
        "amount": Decimal("12.50"),
        "shared_by": "value",
        "paper": "F-881",
        "by": room.keeper,
        "key": "charge:1",
    }
    stating.add_charge(**charge)
    assert stating.add_charge(**charge).shares.count() == 1
    assert _value(room) == (20, Decimal("76.50"))


@pytest.mark.parametrize(
    ("shared_by", "parts"),
    [
        pytest.param("quantity", {"RLR-120-BLU": "75.01", "AXL-750": "25.00"}, id="quantity"),
        pytest.param("mass", {"RLR-120-BLU": "6.98", "AXL-750": "93.03"}, id="mass"),
        pytest.param("value", {"RLR-120-BLU": "16.67", "AXL-750": "83.34"}, id="value"),
    ],
)
def test_a_charge_is_shared_to_the_penny(room, shared_by, parts):
    for item, mass, cost in ((room.roller, "0.5", 2), (room.axle, 20, 30)):
        item.mass_kg, item.standard_cost = Decimal(str(mass)), cost
        item.save()
    posting = ledger.post(
        key="in:1",
        kind="receipt",
        lines=room.both(room.roller, 3, "SUPPLIER", "A1") + room.both(room.axle, 1, "SUPPLIER", "A1"),
        by=room.keeper,
    )
    charge = stating.add_charge(
        postings=[posting],
        kind="freight",
        amount=Decimal("100.01"),
        shared_by=shared_by,
        paper="F-1",
        by=room.keeper,
        key="c:1",
    )
    found = {share.item.code: share.amount for share in charge.shares.all()}

    assert found == {code: Decimal(part) for code, part in parts.items()}


def test_what_cannot_be_shared_or_stated_is_refused(room, post):
    posting = post(0, 10, "SUPPLIER", "A1")
    with pytest.raises(ProblemError, match="nothing to share"):
        stating.add_charge(
            postings=[posting],
            kind="duty",
            amount=Decimal(10),
            shared_by="mass",
            paper="F-1",
            by=None,
            key="c:1",
        )
    with pytest.raises(ProblemError, match="did not come in"):
        _cost(room, posting, 4, room.axle)
    with pytest.raises(ProblemError, match="is not a cost"):
        _cost(room, posting, -1)


def test_made_parts_are_worth_the_steel_they_were_cut_from(room, post):
    _cost(room, post(0, 1, "SUPPLIER", "A1", room.axle), 90, room.axle)
    ledger.post(
        key="cut",
        kind="make",
        lines=room.both(room.axle, 1, "A1", "CONV") + room.both(room.roller, 6, "CONV", "CUT"),
        by=room.keeper,
    )

    assert _value(room) == (6, 90)
    assert valuing.stock_worth([room.axle.pk])[room.axle.pk].value == 0


@pytest.fixture
def kept(room, two_deliveries, post):
    """The month's end and yesterday kept as points."""
    post(40, 5, "SUPPLIER", "A1")
    cost_points.keep_points()
    return list(CostPoint.objects.order_by("until"))


def test_points_give_the_same_worth_as_the_whole_ledger(room, kept):
    days = [MONDAY + timedelta(days=days) for days in (3, 30, 39, 41)]
    by_points = [_value(room, day) for day in days]
    CostPoint.objects.all().delete()

    assert len(kept) >= 2
    assert by_points == [_value(room, day) for day in days]


def test_points_prove_themselves_and_say_what_was_spoilt(room, kept):
    assert cost_points.rebuild_points() == []
    CostLayer.objects.filter(item_cost__point__until=kept[0].until).update(value_e8=1)

    assert [said for said in cost_points.rebuild_points() if f"item {room.roller.pk}" in said]
    assert cost_points.rebuild_points() == []
    assert len(kept) == CostPoint.objects.count()


def test_what_is_written_down_later_passes_its_points_over(room, kept, post):
    late = post(10, 100, "SUPPLIER", "A1")
    _cost(room, late, 5)
    assert _value(room)[0] == 113

    removed = {point.until for point in kept}
    cost_points.keep_points()
    assert {point.until for point in CostPoint.objects.all()} == removed
    assert cost_points.rebuild_points() == []


def test_points_are_kept_for_all_items_and_another_method_forgets_them(room, kept):
    assert ItemCost.objects.filter(item=room.roller).count() == len(kept)

    stating.choose_method(method="fifo")
    assert not CostPoint.objects.exists()


def test_what_was_said_later_is_kept_anew_in_the_background(
    room, kept, post, django_capture_on_commit_callbacks
):
    late = post(10, 100, "SUPPLIER", "A1")
    with django_capture_on_commit_callbacks(execute=True):
        _cost(room, late, 5)
    first = CostPoint.objects.get(until=kept[0].until)
    assert first.last_posting >= late.pk

    with django_capture_on_commit_callbacks(execute=True):
        stating.choose_method(method="fifo")
    assert CostPoint.objects.count() == len(kept)
    assert cost_points.rebuild_points() == []


def test_the_worth_of_stock_is_kept_every_hour_without_being_asked(room, two_deliveries):
    asked = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert keep_worth.name in asked

    keep_worth()
    assert CostPoint.objects.filter(until=cost_rows.end_of(timezone.localdate() - timedelta(days=1))).exists()


def test_the_number_of_questions_does_not_grow(room, kept):
    counts = []
    for items in ([room.roller.pk], [room.roller.pk, room.axle.pk]):
        with CaptureQueriesContext(connection) as queries:
            valuing.unit_cost(items)
        counts.append(len(queries))

    assert counts[0] == counts[1] <= 15
