"""What a supplier confirms, and how lines are chased."""

from datetime import timedelta
from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.buying import ordering
from inventory.buying.chasing import chase_line, lines_to_chase
from inventory.buying.confirming import Promise, confirm_as_ordered, confirm_line
from inventory.buying.models import Chase, Confirmation, PurchaseOrderLine
from inventory.levels.arithmetic import after_working_days
from inventory.stock.queries import open_receipts


def _confirm(room, line, day, quantity=20, key="confirm:1", **more):
    promise = Promise(day, Decimal(str(quantity)), **more)
    return confirm_line(line=line, promise=promise, by=room.keeper, key=key)


def _coming():
    return [(receipt.due_on, receipt.quantity) for receipt in open_receipts()]


def test_planning_counts_on_the_day_confirmed(room, buying):
    line, day = buying.released(), buying.today + timedelta(days=25)
    wanted_on = line.due_on
    found = _confirm(room, line, day)

    assert _coming() == [(day, 20)]
    assert (found.wanted_on, found.asked_quantity, found.confirmed_on) == (wanted_on, 20, day)


def test_less_without_a_rest_is_all_that_comes(room, buying):
    line, day = buying.released(), buying.today + timedelta(days=3)
    found = _confirm(room, line, day, 12)

    assert _coming() == [(day, 12)]
    assert found.asked_quantity == 20


def test_the_rest_is_a_line_of_its_own(room, buying):
    line, day = buying.released(), buying.today + timedelta(days=3)
    later = day + timedelta(days=7)
    found = _confirm(room, line, day, 12, rest_on=later)
    rest = PurchaseOrderLine.objects.exclude(pk=line.pk).get()

    assert _coming() == [(day, 12), (later, 8)]
    assert (rest.rest_of, rest.wanted_on, rest.position) == (line, found.wanted_on, 2)


def test_part_of_it_that_has_come_stays_come(room, buying):
    line, day = buying.released(), buying.today + timedelta(days=3)
    buying.comes(line, 5)
    _confirm(room, line, day, 15)

    assert _coming() == [(day, 15)]
    with pytest.raises(ProblemError, match="16 was confirmed and 15 is to come"):
        _confirm(room, line, day, 16, key="confirm:2")


def test_a_form_sent_twice_confirms_once(room, buying):
    line, day = buying.released(), buying.today + timedelta(days=3)
    _confirm(room, line, day, 12, rest_on=day + timedelta(days=2))
    _confirm(room, line, day, 12, rest_on=day + timedelta(days=2))

    assert PurchaseOrderLine.objects.count() == 2
    assert Confirmation.objects.filter(line=line).count() == 1


@pytest.mark.parametrize(
    ("days", "quantity", "rest", "said"),
    [
        pytest.param(-1, 20, None, "has passed", id="a day that has passed"),
        pytest.param(3, 0, None, "no more than is to come", id="nothing"),
        pytest.param(3, "NaN", None, "no more than is to come", id="no number"),
        pytest.param(3, 21, None, "no more than is to come", id="more than ordered"),
        pytest.param(3, 12, 3, "rest would come before", id="the rest on the same day"),
    ],
)
def test_what_makes_no_sense_is_not_confirmed(room, buying, days, quantity, rest, said):
    line = buying.released()
    rest_on = buying.today + timedelta(days=rest) if rest else None
    with pytest.raises(ProblemError, match=said):
        _confirm(room, line, buying.today + timedelta(days=days), quantity, rest_on=rest_on)

    assert not Confirmation.objects.exists()


def test_a_draft_is_not_confirmed(room, buying):
    line = buying.draft().lines.get()
    with pytest.raises(ProblemError, match="It is draft and cannot be confirmed"):
        _confirm(room, line, buying.today)


def test_everything_as_ordered_confirms_what_is_open(room, buying):
    line = buying.released()
    assert confirm_as_ordered(order=line.order, by=room.keeper, key="all:1") == 1
    assert confirm_as_ordered(order=line.order, by=room.keeper, key="all:2") == 0
    line.refresh_from_db()
    assert line.confirmed_on == line.due_on


def test_a_line_nobody_confirmed_is_chased_after_the_suppliers_days(room, buying, rubber):
    silent = buying.released(days_ago=7)
    buying.released(days_ago=0)
    (one,) = lines_to_chase()

    assert (one.line, one.days_unconfirmed, one.days_late) == (silent, 5, 0)
    rubber.confirm_days = 6
    rubber.save()
    assert lines_to_chase() == []


def test_a_confirmed_line_is_chased_when_its_day_has_passed(room, buying):
    line = buying.released(days_ago=7)
    _confirm(room, line, buying.today + timedelta(days=1))
    assert lines_to_chase() == []

    (one,) = lines_to_chase(today=buying.today + timedelta(days=4))
    assert (one.days_late, one.days_unconfirmed) == (3, 0)


def test_a_chased_line_rests_until_the_day_agreed(room, buying):
    line = buying.released(days_ago=7)
    again = after_working_days(buying.today, 2)
    chase_line(line=line, answer="Lorry broke down", again_on=again, by=room.keeper, key="chase:1")

    assert lines_to_chase() == []
    (one,) = lines_to_chase(today=again)
    assert one.last_answer == "Lorry broke down"


def test_a_chase_is_kept_once_with_who_and_when(room, buying):
    line, again = buying.released(days_ago=7), after_working_days(buying.today, 2)
    for _ in range(2):
        kept = chase_line(line=line, answer="no answer", again_on=again, by=room.keeper, key="chase:1")
    assert (kept.by, Chase.objects.count()) == (room.keeper, 1)


def test_a_chase_needs_an_answer_and_a_day_ahead(room, buying):
    line = buying.released()
    with pytest.raises(ProblemError, match="What they answered is missing"):
        chase_line(line=line, answer=" ", again_on=buying.today, by=room.keeper, key="chase:1")
    with pytest.raises(ProblemError, match="has come already"):
        chase_line(line=line, answer="soon", again_on=buying.today, by=room.keeper, key="chase:1")


def test_what_has_come_is_not_chased(room, buying):
    line = buying.released(days_ago=9)
    buying.comes(line, 20)
    assert lines_to_chase() == []
    with pytest.raises(ProblemError, match="It is done"):
        chase_line(
            line=line, answer="x", again_on=buying.today + timedelta(days=2), by=room.keeper, key="chase:1"
        )


def test_closing_the_rest_ends_the_order(room, buying):
    line, day = buying.released(), buying.today + timedelta(days=3)
    _confirm(room, line, day, 12, rest_on=day + timedelta(days=5))
    buying.comes(line, 12)
    rest = PurchaseOrderLine.objects.get(rest_of=line)
    assert rest.order.state == "released"
    ordering.close_line(line=rest, by=room.keeper)
    line.order.refresh_from_db()
    assert line.order.state == "done"
