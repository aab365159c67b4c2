"""What the saw owes is gathered into bars; a bar is counted once; what is bad is sawn again from the next batch."""

from decimal import Decimal

import pytest

from bom.geometry.models import SawnEnds
from bom.kernel.errors import ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Balance, Location, Lot, Reservation
from production.cutting.saw.asking import ask_to_gather
from production.cutting.saw.counting import KeepBar, begin_bar, finish_bar, stop_bar, undo_bar
from production.cutting.saw.gathering import carry_out
from production.cutting.saw.models import BarBatch, BarGather, BarLength, SawBar
from production.works.tracking import finish_operation
from tests.production.floor import floor_shop, operation, released, the_plan

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return floor_shop()


def gather(shop) -> BarGather:
    run = ask_to_gather(plan=the_plan(shop), by=shop.user)
    carry_out(run.pk)
    run.refresh_from_db()
    assert run.outcome == "succeeded", run.failure
    return run


def bars() -> list[SawBar]:
    return list(SawBar.objects.order_by("batch__number", "number"))


def kept(order, code: str) -> Decimal:
    row = Reservation.objects.filter(purpose=order.purpose, item__code=code).first()
    return row.quantity if row else Decimal(0)


def test_what_orders_need_is_planned_on_as_few_bars_as_can_be(shop):
    """Four beams of 1500 go on a bar of 6100 with three saw cuts of 3 and 15 of trim; three orders need six."""
    BarLength.objects.create(item=shop.items["SEC"], length_mm=6100)
    for _ in range(3):
        released(shop)

    gather(shop)

    batch = BarBatch.objects.get()
    assert [bar.cuts.count() for bar in bars()] == [4, 2]
    assert (batch.item.code, batch.is_proven) == ("SEC", True)
    assert {cut.length_mm for bar in bars() for cut in bar.cuts.all()} == {Decimal(1500)}


def test_a_counted_bar_leaves_its_shelf_in_metres_and_its_pieces_are_kept(shop):
    order = released(shop)
    shop.stock("SEC", "12")
    gather(shop)
    (bar,) = bars()

    finish_bar(bar=bar, by=shop.user, cast="K77")

    assert shop.on("SEC", "A1") == 6
    assert kept(order, "BM") == 2
    assert Lot.objects.get(item=shop.items["BM"]).cast == "K77"
    assert BarBatch.objects.get().state == "done"
    assert operation(order, "saw").state == "done"
    assert operation(order, "saw").posting is None
    assert ledger.audit() == []


def test_the_rest_goes_back_with_its_length_and_is_the_first_to_be_used(shop):
    released(shop)
    shop.stock("SEC", "6")
    gather(shop)
    (bar,) = bars()

    finish_bar(bar=bar, by=shop.user, keep=KeepBar(Location.objects.get(code="A2"), bar.rest_mm))
    lot = Lot.objects.get(kind=Lot.Kind.OFFCUT)
    assert lot.length_mm == bar.rest_mm == Decimal("2979.0")
    assert Balance.objects.get(lot=lot, location__code="A2").quantity == Decimal("2.979")

    for _ in range(2):
        released(shop)
    gather(shop)

    again = bars()[1:]
    assert [one.lot for one in again] == [lot, None]
    finish_bar(bar=again[0], by=shop.user)
    assert not Balance.objects.filter(lot=lot, location__code="A2", quantity__gt=0).exists()


def test_a_bad_piece_is_not_made_and_joins_the_next_batch(shop, django_capture_on_commit_callbacks):
    order = released(shop)
    shop.stock("SEC", "12")
    gather(shop)
    (bar,) = bars()
    cut = bar.cuts.first()

    finish_bar(bar=bar, by=shop.user, scrapped={cut.pk: "wrong length"})

    assert kept(order, "BM") == 1
    assert operation(order, "saw").state == "begun"
    run = BarGather.objects.get(state="queued")
    carry_out(run.pk)
    again = bars()[1]
    assert [one.order for one in again.cuts.all()] == [order]
    finish_bar(bar=again, by=shop.user)
    assert operation(order, "saw").state == "done"


def test_a_double_click_counts_once_and_other_marks_are_refused(shop):
    released(shop)
    shop.stock("SEC", "12")
    gather(shop)
    (bar,) = bars()

    finish_bar(bar=bar, by=shop.user)
    finish_bar(bar=bar, by=shop.user)

    assert shop.on("SEC", "A1") == 6
    with pytest.raises(ProblemError, match="counted this bar already"):
        finish_bar(bar=bar, by=shop.user, lost={bar.cuts.first().pk: "cannot be found"})


def test_two_people_cannot_begin_one_bar(shop):
    released(shop)
    gather(shop)
    (bar,) = bars()
    begin_bar(bar=bar, by=shop.user)

    with pytest.raises(ProblemError, match="has begun this bar"):
        begin_bar(bar=bar, by=User.objects.create_user("other"))


def test_a_stopped_bar_waits_with_its_reason(shop):
    released(shop)
    gather(shop)
    (bar,) = bars()
    begin_bar(bar=bar, by=shop.user)

    with pytest.raises(ProblemError, match="No reason"):
        stop_bar(bar=bar, by=shop.user, problem=" ")
    stopped = stop_bar(bar=bar, by=shop.user, problem="blade is worn")

    assert (stopped.state, stopped.problem) == ("waiting", "blade is worn")


def test_an_undone_count_gives_everything_back(shop):
    order = released(shop)
    shop.stock("SEC", "6")
    gather(shop)
    (bar,) = bars()
    finish_bar(bar=bar, by=shop.user, keep=KeepBar(Location.objects.get(code="A2"), Decimal(2900)))

    undo_bar(bar=bar, by=shop.user, reason="counted the wrong bar")

    assert shop.on("SEC", "A1") == 6
    assert kept(order, "BM") == 0
    assert operation(order, "saw").state == "begun"
    assert bars()[0].state == "waiting"
    assert ledger.audit() == []


def test_a_count_whose_pieces_went_on_cannot_be_undone(shop):
    order = released(shop)
    shop.stock("SEC", "6")
    shop.stock("PL", "4", "CUT")
    gather(shop)
    (bar,) = bars()
    finish_bar(bar=bar, by=shop.user)
    for process in ("laser", "weld"):
        finish_operation(operation=operation(order, process), by=shop.user)

    with pytest.raises(ProblemError, match="went on to the next station"):
        undo_bar(bar=bar, by=shop.user, reason="no")


def test_gathering_anew_leaves_a_begun_batch_alone(shop):
    first = released(shop)
    gather(shop)
    (bar,) = bars()
    begin_bar(bar=bar, by=shop.user)
    second = released(shop)

    gather(shop)
    gather(shop)

    assert [{cut.order for cut in one.cuts.all()} for one in bars()] == [{first}, {second}]


def test_a_bar_planned_anew_meanwhile_cannot_be_begun(shop):
    released(shop)
    gather(shop)
    (bar,) = bars()
    gather(shop)

    with pytest.raises(ProblemError, match="planned anew"):
        begin_bar(bar=bar, by=shop.user)


def test_no_bar_on_a_shelf_is_said_with_what_to_do(shop):
    released(shop)
    shop.stock("SEC", "5")
    gather(shop)

    with pytest.raises(ProblemError, match="No bar of SEC"):
        finish_bar(bar=bars()[0], by=shop.user)


def test_an_offcut_longer_than_what_is_left_is_refused(shop):
    released(shop)
    shop.stock("SEC", "6")
    gather(shop)

    with pytest.raises(ProblemError, match="at most"):
        finish_bar(bar=bars()[0], by=shop.user, keep=KeepBar(Location.objects.get(code="A2"), Decimal(3001)))
    assert shop.on("SEC", "A1") == 6


def test_slanting_ends_stand_on_the_cut_and_are_reckoned(shop):
    """Four of 1500 with an end at 45° take 4 × (1500 + 3 + 4.3) − 3 + 15 = 6041.2."""
    SawnEnds.objects.create(item=shop.items["BM"], first_deg=45)
    length = BarLength.objects.create(item=shop.items["SEC"], length_mm=Decimal("6041.2"))
    for _ in range(2):
        released(shop)

    gather(shop)
    assert [bar.cuts.count() for bar in bars()] == [4]
    assert {cut.first_deg for cut in bars()[0].cuts.all()} == {Decimal(45)}

    length.length_mm = Decimal("6041.1")
    length.save()
    gather(shop)
    assert len(bars()) == 2
