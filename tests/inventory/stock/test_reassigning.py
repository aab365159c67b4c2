"""Reservations by hand and shared out anew, with a history of who gave what to whom, and why."""

from datetime import date
from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import ledger, reassigning
from inventory.stock.models import Reservation, ReservationChange
from inventory.stock.reassigning import Need
from inventory.stores.reasons import reason_codes


def _keep(room, quantity, order):
    return reassigning.keep(
        item=room.roller, purpose=room.purpose(order), quantity=Decimal(quantity), by=room.keeper
    )


def _give(room, quantity, source="1001", target="1002", **more):
    return reassigning.reassign(
        item=room.roller,
        source=room.purpose(source),
        target=room.purpose(target),
        quantity=Decimal(quantity),
        by=room.keeper,
        **({"reason": "1002 goes on Friday"} | more),
    )


def _kept(room):
    rows = Reservation.objects.filter(item=room.roller).order_by("purpose__code")
    return {row.purpose.code: row.quantity for row in rows}


def _history(room):
    return [
        (row.source.code if row.source else None, row.target.code if row.target else None, row.quantity)
        for row in ReservationChange.objects.filter(item=room.roller).order_by("pk")
    ]


def test_what_is_kept_for_one_order_is_given_to_another_with_its_reason(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    _give(room, 3)

    assert _kept(room) == {"1001": 1, "1002": 3}
    assert _history(room) == [(None, "1001", 4), ("1001", "1002", 3)]
    last = ReservationChange.objects.first()
    assert (last.reason, last.by) == ("1002 goes on Friday", room.keeper)


def test_a_code_says_why_as_well(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    code = reason_codes("reassign").get(code="sooner")
    _give(room, 3, reason="", reason_code=code)

    assert ReservationChange.objects.first().reason_code == code


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        pytest.param({"reason": " "}, "A reason is missing", id="no reason"),
        pytest.param({"quantity": 9}, "4 of RLR-120-BLU are kept for 1001", id="more than is kept"),
        pytest.param({"quantity": 0}, "cannot be given up", id="nothing"),
        pytest.param({"target": "1001"}, "already kept for 1001", id="the same order"),
    ],
)
def test_a_gift_is_refused_with_its_cause(room, changes, said):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    with pytest.raises(ProblemError, match=said):
        _give(room, **({"quantity": 3} | changes))

    assert _kept(room) == {"1001": 4}


def test_what_is_picked_is_not_given_away(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    _pick(room, 3, "1001")
    with pytest.raises(ProblemError, match="1 of RLR-120-BLU are kept for 1001 and not picked yet"):
        _give(room, 2)
    with pytest.raises(ProblemError, match="1 of RLR-120-BLU are kept for 1001 and not picked yet"):
        reassigning.let_go(
            item=room.roller, purpose=room.purpose("1001"), quantity=Decimal(2), by=room.keeper, reason="x"
        )


def test_a_closed_order_keeps_nothing_more(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    closed = room.purpose("1002")
    closed.is_open = False
    closed.save()
    with pytest.raises(ProblemError, match="Order 1002 is closed"):
        _give(room, 1)


def test_all_that_is_not_picked_is_let_go(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    _pick(room, 1, "1001")
    reassigning.let_go(
        item=room.roller, purpose=room.purpose("1001"), quantity=None, by=room.keeper, reason="waits"
    )

    assert _kept(room) == {"1001": 1}


def test_shared_out_anew_the_first_needed_is_served_first(room):
    room.bring(room.roller, 5)
    _keep(room, 4, "1001")
    _keep(room, 1, "1003")
    needs = [
        Need(room.roller.pk, room.purpose(code).pk, Decimal(4), date(2026, 5, day))
        for code, day in (("1001", 20), ("1002", 11))
    ]
    assert reassigning.share_out_anew(needs=needs, by=room.keeper) == 1

    # 1003 takes no part and keeps its own.
    assert _kept(room) == {"1002": 4, "1003": 1}
    assert _history(room)[-1] == ("1001", "1002", 4)
    assert reassigning.share_out_anew(needs=needs, by=room.keeper) == 0


def test_sharing_out_leaves_what_is_picked(room):
    room.bring(room.roller, 5)
    _keep(room, 3, "1001")
    _pick(room, 2, "1001")
    needs = [
        Need(room.roller.pk, room.purpose(code).pk, Decimal(4), date(2026, 5, day))
        for code, day in (("1001", 20), ("1002", 11))
    ]
    reassigning.share_out_anew(needs=needs, by=room.keeper)

    assert _kept(room) == {"1001": 2, "1002": 3}


@pytest.mark.parametrize("count", [3, 30])
def test_sharing_out_asks_few_questions_whatever_the_needs(room, django_assert_max_num_queries, count):
    room.bring(room.roller, 5)
    needs = [
        Need(room.roller.pk, room.purpose(str(2000 + number)).pk, Decimal(1), date(2026, 5, 1))
        for number in range(count)
    ]
    with django_assert_max_num_queries(11):
        reassigning.share_out_anew(needs=needs, by=room.keeper)


def _pick(room, quantity, order):
    """Into the kit of an order, for which it stays kept."""
    ledger.post(
        key=f"pick:{order}",
        kind="issue",
        lines=room.both(room.roller, quantity, "A1", "KIT"),
        by=room.keeper,
        purpose=room.purpose(order),
    )
