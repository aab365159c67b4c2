"""A load counted back: what is damaged or lost, who is asked to make it good, and how its order goes on."""

from decimal import Decimal

import pytest

from bom.kernel.errors import ProblemError
from inventory.buying.outside_models import OutsideClaim
from inventory.buying.outside_queries import ledger_differences
from inventory.stock import ledger
from production.coating.counting_back import Found, load_back, missing_part_back, weigh_back
from production.coating.loads import put_on, send_load, take_off
from production.coating.models import LoadLine
from production.coating.outstanding import wanted_again
from tests.production.floor import floor_shop, galvaniser, load, operation, released, signed, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db
ONE = Decimal(1)
BARE = Found(damaged=ONE, damage="bare under the drawbar")


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


def came_back(shop: SmallWorkshop, order, fault: Found) -> LoadLine:
    made = signed(shop, load(shop, [order]))
    send_load(load=made, by=shop.user)
    load_back(load=made, by=shop.user, faults={made.lines.get().pk: fault})
    return made.lines.get()


def again(fault: Found, then: str) -> Found:
    return Found(fault.missing, fault.damaged, fault.damage, then)


def test_damaged_parts_that_are_used_all_the_same_are_claimed_and_the_order_goes_on(shop):
    galvaniser()
    order = welded(shop)

    came_back(shop, order, BARE)

    claim = OutsideClaim.objects.get()
    assert (claim.kind, claim.state, claim.reason) == ("damaged", "open", "bare under the drawbar")
    assert operation(order, "galvanise").state == "done"
    assert shop.on("CH", "WELD") == 1


def test_a_part_to_be_galvanised_once_more_goes_with_another_lorry_and_then_finishes_its_order(shop):
    galvaniser()
    order = welded(shop)
    line = came_back(shop, order, again(BARE, "again"))
    assert "galvanised again: 1 × CH" in operation(order, "galvanise").problem
    second = load(shop, [], "GL-2")

    for _ in range(2):
        put_on(order=order, load=second, by=shop.user)
    assert second.lines.get().repeats == line
    assert wanted_again() == {}
    signed(shop, second)
    send_load(load=second, by=shop.user)
    assert operation(order, "galvanise").state == "begun"
    load_back(load=second, by=shop.user)

    assert operation(order, "galvanise").state == "done"
    assert operation(order, "galvanise").problem == ""
    assert ledger.audit() == []
    assert ledger_differences() == []


def test_a_scrapped_part_leaves_the_stock_and_its_order_waits_for_another(shop):
    galvaniser()
    order = welded(shop)

    came_back(shop, order, again(BARE, "scrap"))

    assert (shop.on("CH", "WELD"), shop.on("CH", "SCRAP")) == (0, 1)
    assert "spoilt by the galvaniser: 1 × CH" in operation(order, "galvanise").problem
    assert list(wanted_again().values()) == [ONE]
    assert ledger_differences() == []


def test_scrapping_without_an_order_to_the_galvaniser_is_refused_and_nothing_is_counted(shop):
    order = welded(shop)
    made = signed(shop, load(shop, [order]))
    send_load(load=made, by=shop.user)

    with pytest.raises(ProblemError, match="buying does not know this load"):
        load_back(load=made, by=shop.user, faults={made.lines.get().pk: again(BARE, "scrap")})

    made.refresh_from_db()
    assert made.state == "away"
    assert shop.on("CH", "GALV") == 1


def test_a_second_count_with_other_figures_is_told_and_the_first_stands(shop):
    order = welded(shop)
    line = came_back(shop, order, Found(missing=ONE))

    with pytest.raises(ProblemError, match="counted back meanwhile: 1 missing"):
        load_back(load=line.load, by=shop.user)

    load_back(load=line.load, by=shop.user, faults={line.pk: Found(missing=ONE)})
    line.refresh_from_db()
    assert line.came_back == 0


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        pytest.param(Found(damaged=Decimal(2), damage="bent"), "do not fit", id="more than was sent"),
        pytest.param(Found(ONE, ONE, "bent"), "do not fit", id="missing and damaged at once"),
        pytest.param(Found(damaged=ONE), "not said what is wrong", id="without words"),
        pytest.param(Found(damaged=ONE, damage="bent", then="sold"), "what becomes of", id="unknown end"),
    ],
)
def test_counts_that_cannot_be_are_refused(shop, fault, sentence):
    made = signed(shop, load(shop, [welded(shop)]))
    send_load(load=made, by=shop.user)

    with pytest.raises(ProblemError, match=sentence):
        load_back(load=made, by=shop.user, faults={made.lines.get().pk: fault})


def test_what_is_lost_for_good_is_made_good_by_another_part(shop):
    order = welded(shop)
    line = came_back(shop, order, Found(missing=ONE))
    shop.stock("CH", "1", "WELD")
    second = load(shop, [], "GL-2")
    put_on(order=order, load=second, by=shop.user)
    signed(shop, second)
    send_load(load=second, by=shop.user)

    load_back(load=second, by=shop.user)

    assert operation(order, "galvanise").state == "done"
    missing_part_back(line=line, by=shop.user)
    assert operation(order, "galvanise").state == "done"


def test_an_order_is_put_on_a_lorry_once_and_left_here_again(shop):
    order = released(shop)
    first, second = load(shop, [], "GL-1"), load(shop, [], "GL-2")

    put_on(order=order, load=first, by=shop.user)
    put_on(order=order, load=second, by=shop.user)
    assert LoadLine.objects.get().load == first
    for _ in range(2):
        take_off(order=order, load=first, by=shop.user)

    assert not LoadLine.objects.exists()


def test_an_order_that_is_galvanised_is_not_put_on_a_lorry(shop):
    order = welded(shop)
    came_back(shop, order, Found())

    with pytest.raises(ProblemError, match="Nothing of order"):
        put_on(order=order, load=load(shop, [], "GL-2"), by=shop.user)


def test_the_galvanisers_ticket_is_written_down_later_and_a_mass_that_cannot_be_is_refused(shop):
    line = came_back(shop, welded(shop), Found())
    with pytest.raises(ProblemError, match="not the mass of a load"):
        weigh_back(load=line.load, weighed_kg=Decimal(-3), by=shop.user)

    assert weigh_back(load=line.load, weighed_kg=Decimal("128.5"), by=shop.user).weighed_back_kg == Decimal(
        "128.5"
    )
