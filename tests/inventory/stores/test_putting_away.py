"""From goods-in to the shelf where a thing belongs."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.stores import putting_away
from inventory.stores.rules import Handling, set_handling


def _proposed(room):
    found = putting_away.proposed_places([room.roller.pk]).get(room.roller.pk)
    return (found[0].code, found[1]) if found else None


def test_the_place_proposed_is_its_own_else_where_most_lies_else_where_it_last_lay(room):
    assert _proposed(room) is None
    room.bring(room.roller, 5, "DOOR")
    assert _proposed(room) is None

    room.bring(room.roller, 5, "A2")
    room.move(room.roller, 5, "A2", "KIT")
    assert _proposed(room) == ("A2", "it last lay here")

    room.bring(room.roller, 2, "A1")
    room.bring(room.roller, 1, "A2")
    assert _proposed(room) == ("A1", "most of it lies here")

    set_handling(item=room.roller, handling=Handling(home=room.places["A2"]), by=room.keeper)
    assert _proposed(room) == ("A2", "its own place")


def test_what_waits_is_listed_the_longest_waiting_first(room, django_assert_num_queries):
    room.bring(room.roller, 5, "DOOR")
    room.bring(room.axle, 1, "DOOR")
    room.bring(room.roller, 1, "A1")
    with django_assert_num_queries(6):
        rows = putting_away.waiting()

    assert [(row.balance.item.code, row.proposed.code if row.proposed else "") for row in rows] == [
        ("RLR-120-BLU", "A1"),
        ("AXL-750", ""),
    ]


def _put(room, source="DOOR", target="A1", quantity=5):
    return putting_away.put_away(
        item=room.roller,
        quantity=Decimal(quantity),
        source=room.places[source],
        target=room.places[target],
        by=room.keeper,
        key="stores:p",
    )


def test_goods_are_put_away_once(room):
    room.bring(room.roller, 5, "DOOR")

    assert _put(room) == _put(room)
    assert (room.at(room.roller, "DOOR"), room.at(room.roller, "A1")) == (0, 5)


@pytest.mark.parametrize(
    "places",
    [
        pytest.param({"source": "A1", "target": "A2"}, id="not from goods-in"),
        pytest.param({"target": "DOOR"}, id="to goods-in"),
        pytest.param({"target": "KIT"}, id="to no shelf"),
    ],
)
def test_only_from_goods_in_to_a_shelf(room, places):
    room.bring(room.roller, 5, places.get("source", "DOOR"))
    with pytest.raises(ProblemError, match=r"goods-in|put goods away"):
        _put(room, **places)
