"""Moving, counting, scrapping by hand, and taking it back."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stock.models import Lot, Posting
from inventory.stores import handling, pasting, queries


def _count(room, counted, key="stores:1", reason="stocktake", place="A1", lot=None):
    return handling.count_stock(
        item=room.roller,
        location=room.places[place],
        counted=Decimal(str(counted)),
        reason=reason,
        by=room.keeper,
        key=key,
        lot=lot,
    )


def _move(room, quantity, source="A1", target="A2", key="stores:m"):
    return handling.move_stock(
        item=room.roller,
        quantity=Decimal(str(quantity)),
        source=room.places[source],
        target=room.places[target],
        by=room.keeper,
        key=key,
    )


@pytest.mark.parametrize(("counted", "difference"), [(3, 2), (7, -2), (0, 5)])
def test_a_count_posts_the_difference(room, counted, difference):
    room.bring(room.roller, 5)
    _count(room, counted)

    assert room.at(room.roller, "A1") == counted
    assert room.at(room.roller, "COUNT") == difference


def test_a_count_that_agrees_posts_nothing_and_needs_no_reason(room):
    room.bring(room.roller, 5)

    assert _count(room, 5, reason="") is None
    assert Posting.objects.count() == 1


def test_a_count_that_differs_needs_a_reason(room):
    room.bring(room.roller, 5)
    with pytest.raises(ProblemError, match="A reason is missing"):
        _count(room, 4, reason=" ")

    assert room.at(room.roller, "A1") == 5


def test_a_count_sent_twice_posts_once_even_if_goods_moved_between(room):
    room.bring(room.roller, 5)
    first = _count(room, 4)
    _move(room, 1)

    assert _count(room, 4) == first
    assert room.at(room.roller, "A1") == 3


def test_a_count_is_of_one_lot(room):
    lot = Lot.objects.create(item=room.roller, code="L1")
    room.bring(room.roller, 5)
    _count(room, 2, lot=lot)

    assert (room.at(room.roller, "A1"), room.at(room.roller, "A1", lot)) == (5, 2)


def test_less_than_nothing_cannot_be_counted(room):
    with pytest.raises(ProblemError, match="-1 of RLR-120-BLU cannot lie there"):
        _count(room, -1)


@pytest.mark.parametrize("place", ["SUPPLIER", "CONV", "CUSTOMER", "COUNT", "SCRAP"])
def test_only_places_in_the_house_are_counted(room, place):
    with pytest.raises(ProblemError, match=f"{place} is no place in the house"):
        _count(room, 1, place=place)


def test_moving_keeps_the_sum(room):
    room.bring(room.roller, 5)
    _move(room, 2)
    _move(room, 2)

    assert (room.at(room.roller, "A1"), room.at(room.roller, "A2")) == (3, 2)


def test_moving_to_the_same_place_or_out_of_the_house_is_refused(room):
    room.bring(room.roller, 5)
    with pytest.raises(ProblemError, match="already lies at A1"):
        _move(room, 1, target="A1")
    with pytest.raises(ProblemError, match="CUSTOMER is no place in the house"):
        _move(room, 1, target="CUSTOMER")


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN"])
def test_nothing_cannot_be_moved(room, quantity):
    with pytest.raises(ProblemError, match="cannot be taken"):
        _move(room, quantity)


def test_scrapping_needs_a_reason_and_leaves_the_house(room):
    room.bring(room.roller, 5)
    scrap = {
        "item": room.roller,
        "quantity": Decimal(1),
        "source": room.places["A1"],
        "by": room.keeper,
        "key": "stores:s",
    }
    with pytest.raises(ProblemError, match="Say what is wrong"):
        handling.scrap_stock(**scrap, reason="")
    handling.scrap_stock(**scrap, reason="split")

    assert (room.at(room.roller, "A1"), room.at(room.roller, "SCRAP")) == (4, 1)


def test_what_stores_did_can_be_taken_back_once(room):
    room.bring(room.roller, 5)
    posting = _move(room, 2)
    assert handling.can_take_back(posting)
    handling.take_back(posting=posting, reason="wrong shelf", by=room.keeper)

    assert room.at(room.roller, "A1") == 5
    assert not handling.can_take_back(posting)


def test_what_was_made_elsewhere_is_taken_back_there(room):
    posting = room.bring(room.roller, 5)

    assert not handling.can_take_back(posting)
    with pytest.raises(ProblemError, match="Undo it where it was made"):
        handling.take_back(posting=posting, reason="wrong", by=room.keeper)


def test_pasted_counts_are_read_line_by_line(room):
    lot = Lot.objects.create(item=room.axle, code="S 1")
    found = pasting.read_counts("RLR-120-BLU\t12\n\nAXL-750 1 S 1\n")

    assert [(row.item, row.quantity, row.lot) for row in found] == [
        (room.roller, 12, None),
        (room.axle, 1, lot),
    ]


def test_every_bad_line_of_a_paste_is_named(room):
    with pytest.raises(ProblemError) as refusal:
        pasting.read_counts("RLR-120-BLU\nRLR-120-BLU many\nNONE 1\nAXL-750 1 S9")

    assert [problem.where for problem in refusal.value.problems] == ["line 1", "line 2", "line 3", "line 4"]
    assert [problem.what for problem in refusal.value.problems] == [
        "The quantity of RLR-120-BLU is missing",
        "many of RLR-120-BLU is not a number",
        "There is no item NONE",
        "AXL-750 has no lot S9",
    ]


def test_an_empty_paste_is_refused(room):
    with pytest.raises(ProblemError, match="0 lines were pasted"):
        pasting.read_counts("\n \n")


def test_a_thing_counted_twice_in_one_place_is_refused(room):
    with pytest.raises(ProblemError, match="RLR-120-BLU is counted twice"):
        pasting.read_counts("RLR-120-BLU 3\nRLR-120-BLU 4")
    found = [handling.Counted(room.roller, Decimal(quantity)) for quantity in (3, 4)]
    with pytest.raises(ProblemError, match="RLR-120-BLU is counted twice"):
        handling.count_place(
            location=room.places["A1"], found=found, reason="stocktake", by=room.keeper, key="stores:1"
        )


def test_the_ledger_of_an_item_shows_what_was_on_hand_after_each_movement(room):
    room.bring(room.roller, 5)
    room.move(room.roller, 2, "A1", "CUSTOMER")
    room.move(room.roller, 1, "A1", "A2")
    entries = queries.item_ledger(room.roller, Decimal(3))

    assert [(entry.place, entry.other_places, entry.quantity, entry.on_hand) for entry in entries] == [
        ("A2", "A1", 1, 3),
        ("A1", "A2", -1, 2),
        ("A1", "CUSTOMER", -2, 3),
        ("A1", "SUPPLIER", 5, 5),
    ]


def test_the_ledger_of_an_item_asks_two_questions(room, django_assert_num_queries):
    for _ in range(30):
        room.bring(room.roller, 1)

    with django_assert_num_queries(2):
        assert len(queries.item_ledger(room.roller, Decimal(30), 3)) == 3
    with django_assert_num_queries(2):
        assert len(queries.item_ledger(room.roller, Decimal(30), 30)) == 30
