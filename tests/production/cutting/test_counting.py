"""A sheet is counted once; what is bad is owed again; what was counted can be taken back while it is there."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from bom.kernel.errors import ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Location, Lot, Posting, Reservation
from production.cutting.completing import owed_parts
from production.cutting.counting import begin_sheet, finish_sheet, stop_sheet, undo_sheet
from production.cutting.models import CutBatch, CutSheet
from production.cutting.offcuts import Keep
from production.cutting.queries import minutes_taken
from production.cutting.raws import read_raw
from production.orders.models import Order
from tests.production.floor import cut_batch, finish, floor_shop, operation, released
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


@pytest.fixture
def order(shop) -> Order:
    return released(shop)


def sheet_of(batch: CutBatch, number: int = 1) -> CutSheet:
    return batch.sheets.get(number=number)


def kept(order: Order, code: str) -> Decimal:
    row = Reservation.objects.filter(purpose=order.purpose, item__code=code).first()
    return row.quantity if row else Decimal(0)


def test_a_counted_sheet_leaves_its_shelf_and_its_parts_are_kept_for_their_order(shop, order):
    shop.stock("SH", "3")
    sheet = sheet_of(cut_batch(shop, [order]))

    finish_sheet(sheet=sheet, by=shop.user)

    assert shop.on("SH", "A1") == 2
    assert shop.on("PL", "CUT") == 4
    assert kept(order, "PL") == 4
    assert ledger.audit() == []


def test_the_last_sheet_finishes_the_batch_and_the_laser_work_of_its_order(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order])

    begin_sheet(sheet=sheet_of(batch), by=shop.user)
    assert operation(order, "laser").state == "begun"
    finish_sheet(sheet=sheet_of(batch), by=shop.user)

    batch.refresh_from_db()
    order.refresh_from_db()
    assert batch.state == "done"
    assert operation(order, "laser").state == "done"
    assert order.state == "begun"


def test_a_double_click_counts_once(shop, order):
    shop.stock("SH", "3")
    batch = cut_batch(shop, [order])
    before = Posting.objects.count()

    for _ in range(2):
        finish_sheet(sheet=sheet_of(batch), by=shop.user)

    assert Posting.objects.count() == before + 1
    assert shop.on("PL", "CUT") == 4


def test_a_scrapped_part_is_not_made_and_is_owed_again(shop, order):
    shop.stock("SH", "1")
    sheet = sheet_of(cut_batch(shop, [order]))
    bad, gone = sheet.placements.all()[:2]

    finish_sheet(
        sheet=sheet, by=shop.user, scrapped={bad.pk: "burnt edge"}, lost={gone.pk: "between the slats"}
    )

    bad.refresh_from_db()
    gone.refresh_from_db()
    assert shop.on("PL", "CUT") == 2
    assert (bad.state, bad.reason) == ("scrap", "burnt edge")
    assert gone.state == "lost"
    assert owed_parts([order]) == {order.pk: {shop.items["PL"].pk: Decimal(2)}}
    assert operation(order, "laser").state == "begun"


def test_parts_that_wait_on_another_open_sheet_are_not_owed_again(shop, order):
    cut_batch(shop, [order])

    assert owed_parts([order]) == {order.pk: {}}


def test_the_recut_of_a_scrapped_part_finishes_the_laser_work(shop, order):
    shop.stock("SH", "2")
    first = sheet_of(cut_batch(shop, [order]))
    finish_sheet(sheet=first, by=shop.user, scrapped={one.pk: "burnt" for one in first.placements.all()[:1]})
    again = sheet_of(cut_batch(shop, [order], "CB-2"))
    again.placements.exclude(pk=again.placements.first().pk).delete()

    finish_sheet(sheet=again, by=shop.user)

    assert operation(order, "laser").state == "done"
    assert owed_parts([order]) == {}


def test_a_bad_part_without_a_reason_is_refused_and_nothing_is_posted(shop, order):
    shop.stock("SH", "1")
    sheet = sheet_of(cut_batch(shop, [order]))

    with pytest.raises(ProblemError, match="no reason"):
        finish_sheet(sheet=sheet, by=shop.user, scrapped={sheet.placements.first().pk: " "})

    assert shop.on("SH", "A1") == 1


def test_a_placement_of_another_sheet_cannot_be_marked(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order], sheets=2)

    with pytest.raises(ProblemError, match="do not lie on this sheet"):
        finish_sheet(
            sheet=sheet_of(batch, 1),
            by=shop.user,
            scrapped={sheet_of(batch, 2).placements.first().pk: "burnt"},
        )


def test_without_a_sheet_on_a_shelf_the_problem_says_which_and_how_to_mend_it(shop, order):
    sheet = sheet_of(cut_batch(shop, [order]))

    with pytest.raises(ProblemError) as refusal:
        finish_sheet(sheet=sheet, by=shop.user)

    assert "No sheet SH (S355 6 mm, 2000 × 1000 mm) lies on a shelf" in str(refusal.value)
    assert "CB-1, sheet 1" in str(refusal.value)
    assert "goods-in" in str(refusal.value)


def test_the_cast_the_operator_names_is_the_one_that_is_used(shop, order):
    old, new = (
        Lot.objects.create(item=shop.items["SH"], code=code, kind="cast") for code in ("51877", "52001")
    )
    supplier, shelf = Location.objects.get(code="SUPPLIER"), Location.objects.get(code="A1")
    for lot in (old, new):
        lines = [
            ledger.Line(shop.items["SH"].pk, supplier.pk, Decimal(-1), lot.pk),
            ledger.Line(shop.items["SH"].pk, shelf.pk, Decimal(1), lot.pk),
        ]
        ledger.post(key=f"in:{lot.code}", kind=Posting.Kind.RECEIPT, lines=lines, by=shop.user)
    sheet = sheet_of(cut_batch(shop, [order]))

    done = finish_sheet(sheet=sheet, by=shop.user, lot=new)

    assert done.lot == new
    assert shop.items["SH"].balances.get(location=shelf, lot=new).quantity == 0
    assert shop.items["SH"].balances.get(location=shelf, lot=old).quantity == 1


def test_undoing_a_count_puts_sheet_and_parts_back_and_it_can_be_counted_again(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order])
    finish_sheet(sheet=sheet_of(batch), by=shop.user)

    undo_sheet(sheet=sheet_of(batch), by=shop.user, reason="wrong sheet")

    assert shop.on("SH", "A1") == 1
    assert shop.on("PL", "CUT") == 0
    assert kept(order, "PL") == 0
    assert operation(order, "laser").state == "begun"
    finish_sheet(sheet=sheet_of(batch), by=shop.user)
    assert shop.on("PL", "CUT") == 4
    assert operation(order, "laser").state == "done"
    assert ledger.audit() == []


def test_a_count_cannot_be_undone_when_its_parts_are_welded(shop, order):
    shop.stock("SH", "1")
    shop.stock("SEC", "6")
    batch = cut_batch(shop, [order])
    finish_sheet(sheet=sheet_of(batch), by=shop.user)
    finish(shop, order, "saw", "weld")

    with pytest.raises(ProblemError, match="went on to the next station"):
        undo_sheet(sheet=sheet_of(batch), by=shop.user, reason="too late")

    assert shop.on("CH", "WELD") == 1


def test_free_parts_on_the_rack_complete_an_order_and_are_kept_for_it(shop, order):
    shop.stock("SH", "1")
    shop.stock("PL", "1", "CUT")
    sheet = sheet_of(cut_batch(shop, [order]))
    sheet.placements.first().delete()

    finish_sheet(sheet=sheet, by=shop.user)

    assert kept(order, "PL") == 4
    assert operation(order, "laser").state == "done"


def test_parts_of_a_cancelled_order_are_counted_and_free_for_others(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order])
    Order.objects.filter(pk=order.pk).update(state=Order.State.CANCELLED)

    finish_sheet(sheet=sheet_of(batch), by=shop.user)

    assert shop.on("PL", "CUT") == 4
    assert kept(order, "PL") == 0


def test_a_stopped_sheet_waits_again_and_keeps_the_reason(shop, order):
    batch = cut_batch(shop, [order])
    begin_sheet(sheet=sheet_of(batch), by=shop.user)

    stop_sheet(sheet=sheet_of(batch), by=shop.user, problem="lens is dirty")

    assert (sheet_of(batch).state, sheet_of(batch).problem) == ("waiting", "lens is dirty")


@pytest.mark.parametrize(("state", "word"), [("proposed", "not released"), ("dropped", "newer plan")])
def test_only_released_batches_are_cut(shop, order, state, word):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order])
    CutBatch.objects.filter(pk=batch.pk).update(state=state)

    with pytest.raises(ProblemError, match=word):
        finish_sheet(sheet=sheet_of(batch), by=shop.user)


def keep(shape: str = "straight") -> Keep:
    return Keep(Location.objects.get(code="A2"), shape)


def cast_sheet(shop, code: str) -> Lot:
    lot = Lot.objects.create(item=shop.items["SH"], code=code, kind="cast")
    supplier, shelf = Location.objects.get(code="SUPPLIER"), Location.objects.get(code="A1")
    lines = [
        ledger.Line(shop.items["SH"].pk, supplier.pk, Decimal(-1), lot.pk),
        ledger.Line(shop.items["SH"].pk, shelf.pk, Decimal(1), lot.pk),
    ]
    ledger.post(key=f"in:{code}", kind=Posting.Kind.RECEIPT, lines=lines, by=shop.user)
    return lot


def test_parts_carry_the_cast_of_their_sheet_to_the_weld(shop, order):
    cast_sheet(shop, "51877")
    shop.stock("SEC", "6")

    finish_sheet(sheet=sheet_of(cut_batch(shop, [order])), by=shop.user)

    parts = shop.items["PL"].balances.get(location__code="CUT")
    assert (parts.lot.code, parts.lot.kind, parts.lot.cast) == ("51877", "cast", "51877")
    finish(shop, order, "saw", "weld")
    assert shop.on("CH", "WELD") == 1
    assert ledger.audit() == []


def test_the_cast_read_off_a_sheet_counts_where_the_shelf_knows_none(shop, order):
    shop.stock("SH", "1")
    done = finish_sheet(sheet=sheet_of(cut_batch(shop, [order])), by=shop.user, cast=" 48121 ")
    assert done.cast == "48121"
    assert shop.items["PL"].balances.get(location__code="CUT").lot.cast == "48121"


def test_the_offcut_goes_back_with_outline_cast_and_its_share_of_a_sheet(shop, order):
    cast_sheet(shop, "51877")

    done = finish_sheet(sheet=sheet_of(cut_batch(shop, [order])), by=shop.user, keep=keep())

    offcut = done.offcut
    assert (offcut.kind, offcut.cast, offcut.code) == ("offcut", "51877", "CB-1-1")
    assert (offcut.length_mm, offcut.width_mm) == (1150, 1000)
    assert offcut.outline == "1150,0,0;1150,1000,0;0,1000,0;0,0,0"
    assert shop.items["SH"].balances.get(location__code="A2", lot=offcut).quantity == Decimal("0.575")
    assert ledger.audit() == []


def test_the_next_nesting_is_offered_the_offcut(shop, order):
    shop.stock("SH", "1")
    done = finish_sheet(sheet=sheet_of(cut_batch(shop, [order])), by=shop.user, keep=keep())

    raws = read_raw()["S355", Decimal(6)]

    [offcut] = [raw for raw in raws if raw.lot_id is not None]
    assert offcut.lot_id == done.offcut_id
    assert (offcut.stock.length_mm, offcut.stock.width_mm, offcut.stock.count) == (1150, 1000, 1)


def test_an_offcut_is_not_taken_for_a_whole_sheet_and_is_used_up_when_cut(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order], sheets=2)
    first = finish_sheet(sheet=sheet_of(batch), by=shop.user, keep=keep())
    with pytest.raises(ProblemError, match="No sheet SH"):
        finish_sheet(sheet=sheet_of(batch, 2), by=shop.user)
    CutSheet.objects.filter(batch=batch, number=2).update(lot=first.offcut, length_mm=1150)

    second = finish_sheet(sheet=sheet_of(batch, 2), by=shop.user, keep=keep())

    assert shop.items["SH"].balances.get(location__code="A2", lot=first.offcut).quantity == 0
    left = shop.items["SH"].balances.get(location__code="A2", lot=second.offcut)
    assert (left.lot.length_mm, left.quantity) == (300, Decimal("0.15"))
    assert ledger.audit() == []


def test_undoing_a_count_takes_the_offcut_back_too(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order])
    finish_sheet(sheet=sheet_of(batch), by=shop.user, keep=keep())

    undone = undo_sheet(sheet=sheet_of(batch), by=shop.user, reason="wrong sheet")

    assert undone.offcut is None
    assert shop.on("SH", "A1") == 1
    assert not shop.items["SH"].balances.filter(lot__kind="offcut", quantity__gt=0).exists()
    again = finish_sheet(sheet=sheet_of(batch), by=shop.user, keep=keep("stepped"))
    assert again.offcut.code == "CB-1-1"
    assert ledger.audit() == []


def test_times_are_kept_over_a_stop(shop, order):
    shop.stock("SH", "1")
    batch = cut_batch(shop, [order])
    begin = timezone.now() - timedelta(minutes=40)
    begin_sheet(sheet=sheet_of(batch), by=shop.user, happened_at=begin)
    stop_sheet(sheet=sheet_of(batch), by=shop.user, problem="gas is out")
    finish_sheet(sheet=sheet_of(batch), by=shop.user)

    first, second = sheet_of(batch).stretches.all()
    assert (first.ended_as, first.reason, second.ended_as) == ("stopped", "gas is out", "done")
    assert round(minutes_taken([sheet_of(batch).pk])[sheet_of(batch).pk]) == 40


def test_two_operators_cannot_take_one_sheet(shop, order):
    batch = cut_batch(shop, [order])
    begin_sheet(sheet=sheet_of(batch), by=shop.user)
    other = User.objects.create_user("second", password="x")

    with pytest.raises(ProblemError, match="office has begun this sheet"):
        begin_sheet(sheet=sheet_of(batch), by=other)
    assert begin_sheet(sheet=sheet_of(batch), by=shop.user).by == shop.user


def test_a_second_count_with_other_marks_is_refused(shop, order):
    shop.stock("SH", "2")
    batch = cut_batch(shop, [order])
    sheet = finish_sheet(sheet=sheet_of(batch), by=shop.user)

    with pytest.raises(ProblemError, match="counted this sheet already"):
        finish_sheet(sheet=sheet, by=shop.user, scrapped={sheet.placements.first().pk: "burnt"})

    assert shop.on("PL", "CUT") == 4
