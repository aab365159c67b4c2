"""The ledger as a list: the same postings by any way of finding them, counted no further than it must say."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from bom.kernel import long_lists
from inventory.stock import ledger
from inventory.stock.models import Posting


def _listed(browser, **asked) -> list[int]:
    page = browser.get("/stores/ledger/", asked).content.decode()
    return [int(number) for number in re.findall(r'href="/stores/postings/(\d+)/"', page)]


def _said(browser, **asked) -> str:
    page = browser.get("/stores/ledger/", asked).content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def _at(room, moment, *moves, key):
    lines = [line for item, quantity, source, to in moves for line in room.both(item, quantity, source, to)]
    return ledger.post(key=key, kind="move", lines=lines, by=room.keeper, happened_at=moment)


@pytest.fixture
def written(room) -> list[Posting]:
    """Four events, written down in another order than that in which they happened; two of them at one moment."""
    now = timezone.now()
    return [
        _at(room, now - timedelta(days=1), (room.roller, 9, "SUPPLIER", "A1"), key="b"),
        _at(room, now - timedelta(days=5), (room.axle, 4, "SUPPLIER", "A2"), key="a"),
        _at(room, now, (room.roller, 2, "A1", "A2"), (room.axle, 1, "A2", "A1"), key="c"),
        _at(room, now, (room.roller, 1, "A1", "KIT"), key="d"),
    ]


def test_the_latest_event_comes_first_whatever_is_asked_for(keeper, written):
    first, early, both, last = (posting.pk for posting in written)

    assert _listed(keeper) == [last, both, first, early]
    assert _listed(keeper, sort="happened_at") == [early, first, both, last]
    assert _listed(keeper, item="rlr-120-blu") == [last, both, first]
    assert _listed(keeper, item="AXL-750") == [both, early]


def test_a_posting_that_touched_a_place_twice_is_listed_and_counted_once(keeper, written):
    first, _, both, last = (posting.pk for posting in written)

    assert _listed(keeper, place="a1") == [last, both, first]
    assert "3 rows" in _said(keeper, place="a1")


def test_filters_narrow_each_other(keeper, written):
    first, _, both, last = (posting.pk for posting in written)

    assert _listed(keeper, item="AXL-750", place="A1") == [both]
    assert _listed(keeper, place="A2", kind="receipt") == []
    assert _listed(keeper, since=f"{timezone.localdate() - timedelta(days=1):%Y-%m-%d}") == [
        last,
        both,
        first,
    ]
    assert _listed(keeper, item="no such item") == []


def test_a_long_list_says_more_than_it_counts_and_still_shows_every_page(keeper, room, monkeypatch):
    monkeypatch.setattr(long_lists, "COUNTED_UP_TO", 100)
    moves = [
        ledger.Draft(f"k{n}", "move", room.both(room.roller, 1, "SUPPLIER", "A1"), None) for n in range(130)
    ]
    keys = [posting.pk for posting in reversed(ledger.post_many(moves))]

    assert _listed(keeper) == keys[:50]
    assert _listed(keeper, page=3, place="A1") == keys[100:]
    said = _said(keeper, page=2)
    assert "more than 100 rows" in said
    assert "page 2 " in said
    assert "page 2 of" not in said
    assert "After" in said
    assert "After" not in _said(keeper, page=3)


def test_a_page_behind_the_last_is_the_last(keeper, room, monkeypatch):
    monkeypatch.setattr(long_lists, "COUNTED_UP_TO", 10)
    moves = [
        ledger.Draft(f"k{n}", "move", room.both(room.roller, 1, "SUPPLIER", "A1"), None) for n in range(60)
    ]
    ledger.post_many(moves)

    assert len(_listed(keeper, page=77)) == 10
    assert "page 2" in _said(keeper, page=77)
    assert len(_listed(keeper, page=0)) > 0


def test_a_list_that_is_short_is_counted_to_its_end(keeper, room):
    assert "0 rows" in _said(keeper)

    room.bring(room.roller, 1)

    assert "1 row " in _said(keeper)
