"""Each lot rule that weighs costs gives the same whether asked alone or with the others, and as its own arithmetic."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from inventory.levels.lotsizing import (
    Need,
    PriceBreak,
    economic_with_breaks,
    in_packs,
    silver_meal,
    wagner_whitin,
)
from inventory.levels.quantities import WEEKS_A_YEAR, WEEKS_AHEAD, Costs, weigh

amounts = st.decimals(1, 500, places=2)
weeks_ahead = st.lists(st.decimals(0, 50, places=1), max_size=WEEKS_AHEAD + 4)
RULES = ("economic", "least_average", "least_total")


@given(weekly=amounts, order_cost=amounts, price=amounts, ahead=weeks_ahead, pack=st.integers(0, 20))
def test_a_rule_asked_alone_gives_what_its_arithmetic_gives(weekly, order_cost, price, ahead, pack):
    costs = Costs(order_cost, Decimal("0.25"), (PriceBreak(Decimal(0), price),))
    weeks = [*ahead[:WEEKS_AHEAD], *[weekly] * (WEEKS_AHEAD - len(ahead))]
    needs = [Need(number, used) for number, used in enumerate(weeks) if used > 0]
    each = {"order_cost": order_cost, "holding_cost": price * Decimal("0.25") / WEEKS_A_YEAR}

    def asked(rule):
        found = weigh(weekly=weekly, costs=costs, pack=Decimal(pack), ahead=ahead)
        return found and found.of(rule)

    if not needs:
        assert [asked(rule) for rule in RULES] == [None] * 3
        return
    economic = economic_with_breaks(
        yearly=weekly * WEEKS_A_YEAR,
        order_cost=order_cost,
        holding_rate=costs.holding_rate,
        breaks=costs.breaks,
    )
    by_hand = [
        economic.quantity,
        silver_meal(needs, **each)[0].quantity,
        wagner_whitin(needs, **each)[0].quantity,
    ]
    packed = [in_packs(Decimal(one).quantize(Decimal("0.0001")), Decimal(pack)) for one in by_hand]
    assert [asked(rule) for rule in RULES] == packed


def test_rules_that_do_not_weigh_costs_have_no_quantity_of_it():
    costs = Costs(Decimal(18), Decimal("0.25"), (PriceBreak(Decimal(0), Decimal(5)),))
    found = weigh(weekly=Decimal(10), costs=costs, pack=Decimal(1))

    assert found is not None
    assert found.of("as_needed") == 0


def test_without_use_or_price_there_is_nothing_to_weigh():
    priced = Costs(Decimal(18), Decimal("0.25"), (PriceBreak(Decimal(0), Decimal(5)),))
    assert weigh(weekly=Decimal(0), costs=priced, pack=Decimal(1)) is None
    assert weigh(weekly=Decimal(10), costs=Costs(Decimal(18), Decimal("0.25"), ()), pack=Decimal(1)) is None
