"""Stocktakes: blind, counted again where far out, approved, posted in one go, whatever moves meanwhile."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from inventory.stock import ledger
from inventory.stock.models import Lot, Posting
from inventory.stores import count_sheets, stocktaking, undoing
from inventory.stores.models import CountSheet
from inventory.stores.stocktaking import Finding
from inventory.stores.variances import variances_of
from tests.inventory.stock_room import StockRoom, furnish

KEYS = (f"stores:{number}" for number in range(10**6))


def _sheet(room: StockRoom, place: str = "A1") -> CountSheet:
    return count_sheets.begin_place(location=room.places[place], by=room.keeper, key=next(KEYS))


def _line(sheet: CountSheet, item: Item):
    return sheet.lines.get(item=item)


def _found(room, sheet, item, quantity, *, at=None, key=None):
    finding = Finding(_line(sheet, item), Decimal(str(quantity)), at)
    return stocktaking.record(sheet=sheet, findings=[finding], by=room.keeper, key=key or next(KEYS))


def _approve(room, sheet, reason="yearly stocktake"):
    stocktaking.hand_in(sheet=sheet, by=room.keeper)
    return stocktaking.approve(sheet=sheet, by=room.keeper, reason=reason)


def test_differences_are_posted_in_one_go_when_approved(room):
    room.bring(room.roller, 100)
    room.bring(room.axle, 5)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 99)
    _found(room, sheet, room.axle, 5)
    assert room.at(room.roller, "A1") == 100

    done = _approve(room, sheet)
    assert (room.at(room.roller, "A1"), room.at(room.axle, "A1")) == (99, 5)
    assert [movement.quantity for movement in done.posting.movements.all()] == [-1, 1]
    assert [(line.book, line.difference) for line in done.lines.order_by("item__code")] == [(5, 0), (100, -1)]
    assert ledger.audit() == []


def test_approving_twice_posts_once(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 99)
    _approve(room, sheet)
    stocktaking.approve(sheet=sheet, by=room.keeper, reason="again")

    assert Posting.objects.filter(kind="count").count() == 1


def test_what_moves_between_counting_and_approval_is_not_counted_away(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 98)
    room.move(room.roller, 30, "A1", "KIT")
    room.bring(room.roller, 7)
    _approve(room, sheet)

    assert room.at(room.roller, "A1") == 100 - 2 - 30 + 7


def test_what_moved_before_the_count_and_was_written_down_after_it_is_seen(room):
    room.bring(room.roller, 100)
    before = timezone.now()
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 96)
    ledger.post(
        key="late",
        kind="issue",
        lines=room.both(room.roller, 4, "A1", "KIT"),
        by=room.keeper,
        happened_at=before,
    )
    variance = variances_of(sheet)[0]

    assert (variance.book, variance.difference) == (96, 0)


def test_a_count_typed_in_later_is_compared_with_the_moment_it_was_made(room):
    room.bring(room.roller, 100)
    counted_at = timezone.now()
    room.move(room.roller, 40, "A1", "KIT")
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 99, at=counted_at)
    _approve(room, sheet)

    assert room.at(room.roller, "A1") == 59


def test_far_out_is_asked_for_again_and_two_that_agree_settle_it(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    assert _found(room, sheet, room.roller, 60) == [_line(sheet, room.roller)]
    with pytest.raises(ProblemError, match="1 lines are to be counted again"):
        stocktaking.hand_in(sheet=sheet, by=room.keeper)

    assert _found(room, sheet, room.roller, 70) == [_line(sheet, room.roller)]
    # Ten went in between, so 60 now is the same difference as 70 before.
    room.move(room.roller, 10, "A1", "KIT")
    assert _found(room, sheet, room.roller, 60) == []
    _approve(room, sheet)
    assert room.at(room.roller, "A1") == 60


def test_a_count_within_the_limit_settles_it_too(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 10)

    assert _found(room, sheet, room.roller, 99) == []


def test_dear_things_are_counted_again_for_a_small_share(room):
    room.roller.standard_cost = Decimal(30)
    room.roller.save()
    room.bring(room.roller, 1000)
    sheet = _sheet(room)

    assert _found(room, sheet, room.roller, 998) == [_line(sheet, room.roller)]


def test_the_same_form_sent_twice_is_one_count(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    for _ in range(2):
        _found(room, sheet, room.roller, 60, key="stores:same")

    assert _line(sheet, room.roller).entries.count() == 1
    assert _line(sheet, room.roller).is_recount_asked


def test_the_approver_may_ask_for_another_count(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 99)
    stocktaking.hand_in(sheet=sheet, by=room.keeper)
    stocktaking.ask_again(line=_line(sheet, room.roller), by=room.keeper)
    sheet.refresh_from_db()

    assert sheet.state == "counting"
    with pytest.raises(ProblemError, match="counted again"):
        stocktaking.hand_in(sheet=sheet, by=room.keeper)


def test_lines_not_counted_are_named_or_left_as_they_are(room):
    room.bring(room.roller, 100)
    room.bring(room.axle, 5)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 99)
    with pytest.raises(ProblemError, match="1 lines are not counted"):
        stocktaking.hand_in(sheet=sheet, by=room.keeper)
    stocktaking.hand_in(sheet=sheet, by=room.keeper, leave_rest=True)
    stocktaking.approve(sheet=sheet, by=room.keeper, reason="half of the shelf")

    assert (room.at(room.roller, "A1"), room.at(room.axle, "A1")) == (99, 5)


def test_something_found_that_is_not_on_the_sheet_is_added(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    plate = Item.objects.create(code="PLT", name="Plate", kind="made")
    count_sheets.add_line(sheet=sheet, item=plate, location=room.places["A1"], lot=None, by=room.keeper)
    _found(room, sheet, plate, 4)
    _found(room, sheet, plate, 4)
    _found(room, sheet, room.roller, 100)
    _approve(room, sheet)

    assert room.at(plate, "A1") == 4


def test_a_serial_number_is_there_or_not(room):
    lot = Lot.objects.create(item=room.axle, code="S-1", kind="serial")
    room.bring(room.axle, 1, lot=lot)
    sheet = _sheet(room)
    with pytest.raises(ProblemError, match="stands for one piece"):
        _found(room, sheet, room.axle, 2)
    with pytest.raises(ProblemError, match="is kept by serial number"):
        count_sheets.add_line(
            sheet=sheet, item=room.axle, location=room.places["A1"], lot=None, by=room.keeper
        )


@pytest.mark.parametrize(
    ("quantity", "minutes", "said"),
    [(-1, 0, "cannot lie there"), ("NaN", 0, "cannot lie there"), (1, 5, "counted in the future")],
)
def test_a_senseless_count_is_refused(room, quantity, minutes, said):
    room.bring(room.roller, 100)
    at = timezone.now() + timedelta(minutes=minutes) if minutes else None
    with pytest.raises(ProblemError, match=said):
        _found(room, _sheet(room), room.roller, quantity, at=at)


def test_a_place_is_on_one_open_sheet_only(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    with pytest.raises(ProblemError, match=f"A1 is on {sheet.number} already"):
        _sheet(room)
    count_sheets.cancel_sheet(sheet=sheet, by=room.keeper)

    assert _sheet(room).number != sheet.number


def test_goods_that_left_after_the_count_cannot_leave_twice(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    for _ in range(2):
        _found(room, sheet, room.roller, 50)
    room.move(room.roller, 80, "A1", "KIT")
    with pytest.raises(ProblemError, match="goods have moved since; have the line counted again"):
        _approve(room, sheet)
    sheet.refresh_from_db()

    assert (sheet.state, room.at(room.roller, "A1")) == ("counted", 20)


def test_an_approved_sheet_is_taken_back_from_its_posting(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 99)
    done = _approve(room, sheet)
    assert undoing.can_take_back(done.posting)
    undoing.take_back(posting=done.posting, by=room.keeper, reason="wrong shelf was counted")

    assert room.at(room.roller, "A1") == 100


def test_a_sheet_that_agrees_posts_nothing_and_needs_no_reason(room):
    room.bring(room.roller, 100)
    sheet = _sheet(room)
    _found(room, sheet, room.roller, 100)
    done = _approve(room, sheet, reason="")

    assert (done.state, done.posting) == ("done", None)


class TestMovesMeanwhile(TestCase):
    """Whatever moves before, during and after a count, only what was out at the count is put right."""

    @settings(max_examples=12)
    @given(
        before=st.lists(st.integers(-5, 5), max_size=4),
        since=st.lists(st.integers(-5, 5), max_size=4),
        out=st.integers(-5, 5),
    )
    def test_the_difference_at_the_count_is_all_that_is_posted(self, before, since, out):
        with transaction.atomic():
            room = furnish()
            room.bring(room.roller, 100)
            for quantity in before:
                self._move(room, quantity)
            really = room.at(room.roller, "A1") + out
            sheet = _sheet(room)
            for _ in range(2):
                _found(room, sheet, room.roller, really)
            for quantity in since:
                self._move(room, quantity)
            _approve(room, sheet)

            assert room.at(room.roller, "A1") == really + sum(since)
            transaction.set_rollback(True)

    @staticmethod
    def _move(room, quantity):
        if quantity > 0:
            room.bring(room.roller, quantity)
        elif quantity < 0:
            room.move(room.roller, -quantity, "A1", "KIT")
