"""Two bins: the empty one asks, a full one answers at once."""

from decimal import Decimal

import pytest

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from inventory.stores import bins, undoing
from inventory.stores.models import BinSignal
from inventory.stores.rules import Handling, set_handling


@pytest.fixture
def bolt(room) -> Item:
    bolt = Item.objects.create(code="BLT-10", name="Bolt M10", kind="bought", group="fixings")
    set_handling(item=bolt, handling=Handling(bin_quantity=Decimal(200)), by=room.keeper)
    return bolt


def _issue(room, bolt, key="stores:bin"):
    return bins.issue_bin(item=bolt, by=room.keeper, key=key)


def test_an_empty_bin_told_twice_is_one_signal(room, bolt):
    first = bins.raise_signal(item=bolt, by=room.keeper)

    assert bins.raise_signal(item=bolt, by=room.keeper) == first
    assert BinSignal.objects.count() == 1


def test_a_full_bin_is_filled_in_walking_order_and_answers_the_signal(room, bolt):
    room.bring(bolt, 150, "A1")
    room.bring(bolt, 150, "A2")
    bins.raise_signal(item=bolt, by=room.keeper)
    posting = _issue(room, bolt)

    assert [room.at(bolt, code) for code in ("A1", "A2", "FLOOR")] == [0, 100, 200]
    assert BinSignal.objects.get().answered_by == posting
    assert bins.raise_signal(item=bolt, by=room.keeper).answered_by is None


def test_half_a_bin_is_not_issued_and_the_signal_stays(room, bolt):
    room.bring(bolt, 150, "A1")
    bins.raise_signal(item=bolt, by=room.keeper)
    with pytest.raises(ProblemError, match="The shelves hold 150 of BLT-10; a full bin is 200"):
        _issue(room, bolt)

    assert BinSignal.objects.get().answered_by is None


def test_sent_twice_it_is_one_bin(room, bolt):
    room.bring(bolt, 500, "A1")

    assert _issue(room, bolt) == _issue(room, bolt)
    assert room.at(bolt, "FLOOR") == 200


def test_a_bin_taken_back_opens_its_signal_again(room, bolt):
    room.bring(bolt, 500, "A1")
    bins.raise_signal(item=bolt, by=room.keeper)
    undoing.take_back(posting=_issue(room, bolt), by=room.keeper, reason="wrong bolt")

    assert room.at(bolt, "A1") == 500
    assert BinSignal.objects.get().answered_by is None


def test_what_is_picked_has_no_bins(room):
    for act in (
        lambda: bins.raise_signal(item=room.roller, by=room.keeper),
        lambda: _issue(room, room.roller),
        lambda: set_handling(item=room.axle, handling=Handling(bin_quantity=Decimal(2)), by=room.keeper),
    ):
        with pytest.raises(ProblemError, match=r"two bins|could not be traced"):
            act()


def test_empty_bins_stand_first(room, bolt, django_assert_num_queries):
    nut = Item.objects.create(code="ANUT-10", name="Nut M10", kind="bought")
    set_handling(item=nut, handling=Handling(bin_quantity=Decimal(100)), by=room.keeper)
    room.bring(bolt, 450, "A2")
    bins.raise_signal(item=bolt, by=room.keeper)
    with django_assert_num_queries(3):
        rows = bins.bin_rows()

    assert [(row.item.code, row.bins_left, row.shelf) for row in rows] == [
        ("BLT-10", 2, "A2"),
        ("ANUT-10", 0, ""),
    ]
