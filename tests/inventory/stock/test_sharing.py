"""First needed, first served: the arithmetic, on any figures."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from inventory.stock.sharing import Claim, Given, changes, share_out

MONDAY = date(2026, 5, 11)
QUANTITIES = st.integers(0, 20).map(Decimal)
CLAIMS = st.lists(st.tuples(QUANTITIES, st.integers(0, 5) | st.none(), st.integers(0, 20)), max_size=6).map(
    lambda rows: [
        Claim(
            key, wanted, None if day is None else MONDAY + timedelta(days=day), min(wanted, Decimal(picked))
        )
        for key, (wanted, day, picked) in enumerate(rows)
    ]
)


def test_the_order_that_needs_it_first_is_served_first():
    claims = [
        Claim(1, Decimal(4), MONDAY + timedelta(days=9)),
        Claim(2, Decimal(3), None),
        Claim(3, Decimal(4), MONDAY),
    ]

    assert share_out(Decimal(6), claims) == {3: 4, 1: 2, 2: 0}


def test_what_is_picked_stays_with_the_later_order():
    claims = [Claim(1, Decimal(4), MONDAY), Claim(2, Decimal(4), MONDAY + timedelta(days=1), Decimal(3))]

    assert share_out(Decimal(5), claims) == {1: 2, 2: 3}


@given(stock=st.integers(-5, 60).map(Decimal), claims=CLAIMS)
def test_nobody_gets_more_than_he_wants_and_none_is_left_while_somebody_wants(stock, claims):
    kept = share_out(stock, claims)
    picked = sum(claim.picked for claim in claims)

    assert all(claim.picked <= kept[claim.purpose_id] <= max(claim.wanted, claim.picked) for claim in claims)
    assert sum(kept.values()) == max(picked, min(stock, sum(claim.wanted for claim in claims)))


@given(stock=st.integers(0, 60).map(Decimal), claims=CLAIMS)
def test_nobody_waits_while_a_later_one_is_served(stock, claims):
    kept = share_out(stock, claims)
    days = [(claim, claim.needed_on or date.max) for claim in claims]

    assert all(
        kept[first.purpose_id] >= first.wanted or kept[later.purpose_id] <= later.picked
        for first, day in days
        for later, other in days
        if day < other
    )


@given(
    before=st.dictionaries(st.integers(1, 5), QUANTITIES),
    after=st.dictionaries(st.integers(1, 5), QUANTITIES),
)
def test_the_changes_lead_from_what_was_to_what_is(before, after):
    balance = dict(before)
    for one in changes(before, after):
        assert one.quantity > 0
        if one.source_id is not None:
            balance[one.source_id] = balance.get(one.source_id, Decimal(0)) - one.quantity
        if one.target_id is not None:
            balance[one.target_id] = balance.get(one.target_id, Decimal(0)) + one.quantity

    assert {key: value for key, value in balance.items() if value} == {
        key: value for key, value in after.items() if value
    }


def test_who_loses_gives_to_who_gains():
    assert changes({1: Decimal(3)}, {1: Decimal(1), 2: Decimal(4)}) == [
        Given(1, 2, Decimal(2)),
        Given(None, 2, Decimal(2)),
    ]
