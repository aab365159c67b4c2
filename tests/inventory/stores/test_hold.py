"""Goods on hold are not on hand; they are released, sent back or scrapped, each with a reason."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock import reserving
from inventory.stock.models import Lot
from inventory.stock.queries import availability
from inventory.stores import handling, holding
from inventory.stores.reasons import reason_codes


def _hold(room, quantity=3, key="stores:h", **more):
    more = {"code": reason_codes("hold").get(code="size")} | more
    return holding.put_on_hold(
        item=room.roller,
        quantity=Decimal(quantity),
        source=room.places["A1"],
        by=room.keeper,
        key=key,
        **more,
    )


def _release(room, quantity=2, target="A2", remark="measured, good", source="HOLD"):
    return holding.release_from_hold(
        item=room.roller,
        quantity=Decimal(quantity),
        source=room.places[source],
        target=room.places[target],
        by=room.keeper,
        key="stores:r",
        remark=remark,
    )


def test_what_is_on_hold_is_neither_on_hand_nor_to_be_kept(room):
    room.bring(room.roller, 5)
    posting = _hold(room, remark="two are oval")

    assert availability([room.roller.pk])[room.roller.pk].on_hand == 2
    assert posting.reason == "wrong size or shape: two are oval"
    assert posting.reason_code.code == "size"
    with pytest.raises(ProblemError, match="2 of RLR-120-BLU are free and 3 were asked for"):
        reserving.reserve(item=room.roller, purpose=room.purpose(), quantity=Decimal(3), by=room.keeper)


def test_hold_needs_a_reason(room):
    room.bring(room.roller, 5)
    with pytest.raises(ProblemError, match="A reason is missing"):
        _hold(room, code=None)


def test_released_goods_lie_on_the_shelf_again(room):
    room.bring(room.roller, 5)
    _hold(room)
    _release(room)

    assert (room.at(room.roller, "HOLD"), room.at(room.roller, "A2")) == (1, 2)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        pytest.param({"remark": ""}, "A reason is missing", id="no ground"),
        pytest.param({"source": "A1"}, "A1 is no place for goods on hold", id="not on hold"),
        pytest.param({"target": "SCRAP"}, "SCRAP is no place in the house", id="to no shelf"),
        pytest.param({"quantity": 9}, "HOLD holds 3", id="too many"),
    ],
)
def test_a_release_is_refused_with_its_cause(room, changes, said):
    room.bring(room.roller, 5)
    _hold(room)
    with pytest.raises(ProblemError, match=said):
        _release(room, **changes)


def test_goods_on_hold_are_scrapped_with_a_code(room):
    room.bring(room.roller, 5)
    _hold(room)
    code = reason_codes("scrap").get(code="damaged")
    posting = handling.scrap_stock(
        item=room.roller,
        quantity=Decimal(1),
        source=room.places["HOLD"],
        reason="",
        code=code,
        by=room.keeper,
        key="stores:s",
    )

    assert (posting.reason_code, room.at(room.roller, "SCRAP")) == (code, 1)


def test_the_list_of_held_goods_says_who_and_why(room, django_assert_num_queries):
    lot = Lot.objects.create(item=room.axle, code="S-1", kind="serial")
    room.bring(room.axle, 1, lot=lot)
    room.bring(room.roller, 5)
    _hold(room)
    holding.put_on_hold(
        item=room.axle,
        quantity=Decimal(1),
        source=room.places["A1"],
        by=room.keeper,
        key="stores:h2",
        remark="hub turns hard",
        lot=lot,
    )
    with django_assert_num_queries(2):
        found = holding.held()

    assert [(one.balance.item.code, one.posting.reason) for one in found] == [
        ("AXL-750", "hub turns hard"),
        ("RLR-120-BLU", "wrong size or shape"),
    ]
