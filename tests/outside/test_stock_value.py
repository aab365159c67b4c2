"""What stock is worth, against worked examples of accounting textbooks and against lots carried out one by one.

Each example names where its figures were published. The second half values random days again by a model that knows
nothing of heaps: it carries every unit about on its own (first in, first out) or as an exact fraction (average).
"""

from collections import deque
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.stock.costs import Basis, Books, Change, Event, Facts, Given, Method, by_place, shared

START = datetime(2026, 1, 5, 8, tzinfo=UTC)
ITEM = 1
PENNY = Decimal("0.01")


def _books(method: Method, steps) -> tuple[Books, list]:
    """Steps are (quantity, unit cost): a delivery above zero, an issue below zero with no cost."""
    events, known = [], {}
    for number, (quantity, cost) in enumerate(steps, start=1):
        across = "supplier" if quantity > 0 else "conversion"
        events.append(
            Event(number, START + timedelta(hours=number), [Change(ITEM, Decimal(str(quantity)), across)])
        )
        if cost is not None:
            known[number, ITEM] = Given(Decimal(str(cost)))
    books = Books({ITEM: Facts(method)}, known)
    return books, list(books.lead(events))


def _issued(entries) -> list[Decimal]:
    return [-entry.value.quantize(PENNY) for entry in entries if entry.quantity < 0]


# Perpetual moving average, Warren/Reeve/Duchac, Accounting (27th ed.), practice exercise 7-4B, as published at
# https://www.bartleby.com/solution-answer/chapter-7-problem-74bpe-accounting-27th-edition/9781337272094/
# (300 at 8; 175 sold; 375 bought at 10; 280 sold: average 9.50, sold 2 660, left 220 worth 2 090).
# The second exercise is published at tutorsglobe.com, question 53259250 (310 at 9; 160; 350 at 11; 400).
@pytest.mark.parametrize(
    ("steps", "issued", "left"),
    [
        pytest.param([(300, 8), (-175, None), (375, 10), (-280, None)], [1400, 2660], (220, 2090), id="7-4B"),
        pytest.param(
            [(310, 9), (-160, None), (350, 11), (-400, None)], [1440, 4160], (100, 1040), id="10.40"
        ),
    ],
)
def test_moving_average_as_published(steps, issued, left):
    books, entries = _books(Method.AVERAGE, steps)

    assert _issued(entries) == issued
    assert (books.heap(ITEM).quantity, books.heap(ITEM).value) == left


# First in, first out gives the same result perpetually and periodically; the same two exercises worked by hand:
# 125 at 8 and 155 at 10 leave with the second sale (2 550), 220 at 10 are left. The method is that of IAS 2,
# paragraph 27: "the items of inventory that were purchased or produced first are sold first".
@pytest.mark.parametrize(
    ("steps", "issued", "left"),
    [
        pytest.param([(300, 8), (-175, None), (375, 10), (-280, None)], [1400, 2550], (220, 2200), id="7-4B"),
        pytest.param(
            [(310, 9), (-160, None), (350, 11), (-400, None)], [1440, 4100], (100, 1100), id="two lots"
        ),
    ],
)
def test_first_in_first_out_by_hand(steps, issued, left):
    books, entries = _books(Method.FIFO, steps)

    assert _issued(entries) == issued
    assert (books.heap(ITEM).quantity, books.heap(ITEM).value) == left


def test_an_average_is_not_rounded_before_it_is_used():
    """A published lesson rounds an average of 2.7667 to 2.77 first and books 692.50 for 250; unrounded it is 691.67."""
    books, entries = _books(Method.AVERAGE, [(500, "2.60"), (1000, "2.85"), (-250, None)])

    assert books.heap(ITEM).unit_cost.quantize(Decimal("0.0001")) == Decimal("2.7667")
    assert _issued(entries) == [Decimal("691.67")]


# Landed cost: the total of a bill is shared by a base and must come out whole. The method of largest remainders
# (Hamilton's) for parts of 100 among 47 000, 16 000, 15 800, 12 000, 6 100 and 3 100 is the standard example of
# the quota method: 10 seats go 5, 2, 1, 1, 1, 0 (published in Wikipedia, "Quota method", from memory).
def test_largest_remainders_as_published():
    votes = [Decimal(vote) for vote in (47000, 16000, 15800, 12000, 6100, 3100)]

    assert shared(Decimal(10), votes, 0) == [5, 2, 1, 1, 1, 0]


STEPS = st.lists(
    st.tuples(st.integers(1, 30), st.one_of(st.none(), st.integers(1, 900))), min_size=1, max_size=40
)


def _possible(steps):
    """The same steps with issues cut down to what is there."""
    there, found = 0, []
    for quantity, cents in steps:
        if cents is not None:
            there += quantity
            found.append((quantity, Decimal(cents) / 100))
        elif there:
            taken = min(there, quantity)
            there -= taken
            found.append((-taken, None))
    return found


@given(STEPS)
@settings(max_examples=60)
def test_first_in_first_out_is_that_of_single_units(steps):
    shelf, sold = deque(), []
    possible = _possible(steps)
    for quantity, cost in possible:
        if cost is not None:
            shelf.extend([cost] * quantity)
        else:
            sold.append(sum(shelf.popleft() for _ in range(-quantity)))
    books, entries = _books(Method.FIFO, possible)

    assert [-entry.value for entry in entries if entry.quantity < 0] == sold
    assert (books.heap(ITEM).quantity, books.heap(ITEM).value) == (len(shelf), sum(shelf))


@given(STEPS)
@settings(max_examples=60)
def test_a_moving_average_is_that_of_exact_fractions(steps):
    quantity, value = 0, Fraction(0)
    possible = _possible(steps)
    for change, cost in possible:
        value += Fraction(cost) * change if cost is not None else value * change / quantity
        quantity += change
    books, entries = _books(Method.AVERAGE, possible)

    assert abs(Fraction(books.heap(ITEM).value) - value) < Fraction(1, 10**6)
    assert books.heap(ITEM).quantity == quantity
    assert books.heap(ITEM).value == sum(entry.value for entry in entries)


WILD = st.lists(
    st.tuples(st.sampled_from(["in", "out", "back"]), st.integers(1, 20), st.integers(1, 900)), max_size=40
)


@pytest.mark.parametrize("method", list(Method))
@given(WILD)
@settings(max_examples=60)
def test_nothing_is_ever_worth_less_than_nothing_and_every_penny_is_accounted_for(method, steps):
    """Any order of deliveries, issues (also of what had not come yet) and reversals."""
    events, known, open_ones, taken_back = [], {}, {}, set()
    for number, (what, quantity, cents) in enumerate(steps, start=1):
        change, reverses = Decimal(quantity if what == "in" else -quantity), None
        if what == "back" and open_ones:
            reverses = sorted(open_ones)[cents % len(open_ones)]
            change = -open_ones.pop(reverses)
            taken_back.add(reverses)
        else:
            open_ones[number] = change
        if change > 0 and reverses is None:
            known[number, ITEM] = Given(Decimal(cents) / 100)
        events.append(
            Event(number, START + timedelta(hours=number), [Change(ITEM, change, "supplier")], reverses)
        )
    books = Books({ITEM: Facts(method, Decimal(2))}, known, frozenset(taken_back))
    before, net = Decimal(0), Decimal(0)
    for entry in books.lead(events):
        net += entry.quantity
        assert entry.value_after == before + entry.value + entry.difference
        assert entry.quantity_after >= 0
        assert entry.value_after >= 0
        assert entry.value_after == 0 or entry.quantity_after > 0
        before = entry.value_after
    heap = books.heap(ITEM)
    assert heap.quantity - heap.owed == net
    assert not (heap.quantity and heap.owed)


@pytest.mark.parametrize("method", list(Method))
def test_a_delivery_taken_back_untouched_leaves_no_trace(method):
    events = [
        Event(1, START, [Change(ITEM, Decimal(10), "supplier")]),
        Event(2, START + timedelta(hours=1), [Change(ITEM, Decimal(5), "supplier")]),
        Event(3, START + timedelta(hours=2), [Change(ITEM, Decimal(-5), "supplier")], reverses=2),
    ]
    known = {(1, ITEM): Given(Decimal(4)), (2, ITEM): Given(Decimal(7))}
    books = Books({ITEM: Facts(method)}, known, frozenset({2}))
    last = list(books.lead(events))[-1]

    assert (last.value, last.difference, last.value_after) == (-35, 0, 40)


def test_an_issue_taken_back_lies_in_its_old_place_again():
    """First in, first out: what comes back is the oldest again, at what it cost."""
    steps = [(10, 4), (10, 6), (-12, None)]
    events = [
        Event(n, START + timedelta(hours=n), [Change(ITEM, Decimal(q), "conversion")])
        for n, (q, _) in enumerate(steps, start=1)
    ]
    events.append(Event(4, START + timedelta(hours=4), [Change(ITEM, Decimal(12), "conversion")], reverses=3))
    known = {(1, ITEM): Given(Decimal(4)), (2, ITEM): Given(Decimal(6))}
    books = Books({ITEM: Facts(Method.FIFO)}, known, frozenset({3}))
    list(books.lead(events))

    assert [(layer.quantity, layer.value) for layer in books.heap(ITEM).layers] == [(10, 40), (10, 60)]


def test_what_is_made_is_worth_what_was_used_up_for_it():
    """One sheet at 90 makes two parts of 6 kg and one of 3 kg: shared by mass, 36, 36 and 18; nothing is lost."""
    sheet, big, small = 1, 2, 3
    events = [
        Event(1, START, [Change(sheet, Decimal(2), "supplier")]),
        Event(
            2,
            START + timedelta(hours=1),
            [
                Change(sheet, Decimal(-1), "conversion"),
                Change(big, Decimal(2), "conversion"),
                Change(small, Decimal(1), "conversion"),
            ],
        ),
    ]
    facts = {sheet: Facts(), big: Facts(mass_kg=Decimal(6)), small: Facts(mass_kg=Decimal(3))}
    books = Books(facts, {(1, sheet): Given(Decimal(90))})
    entries = list(books.lead(events))

    assert [books.heap(item).value for item in (sheet, big, small)] == [90, 72, 18]
    assert entries[-1].basis == Basis.INPUTS


@given(st.integers(-(10**7), 10**7), st.lists(st.integers(0, 10**6), min_size=1, max_size=20).filter(any))
@settings(max_examples=60)
def test_shares_add_up_and_are_never_a_penny_off(cents, weights):
    amount = Decimal(cents) / 100
    parts = shared(amount, [Decimal(weight) for weight in weights], 2)

    assert sum(parts) == amount
    for part, weight in zip(parts, weights, strict=True):
        assert abs(Fraction(part) - Fraction(amount) * weight / sum(weights)) < Fraction(1, 100)


def test_a_value_is_shared_among_places_whole():
    places = by_place(Decimal(100), {"shelf": Decimal(1), "work": Decimal(2), "outside": Decimal(0)}, 2)

    assert places == {"shelf": Decimal("33.33"), "work": Decimal("66.67")}
