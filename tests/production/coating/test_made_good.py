"""What the galvaniser lost is made again, sent with another lorry, and finishes its order."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from bom.kernel.errors import ProblemError
from bom.kernel.pages import new_key
from inventory.stock import ledger
from production.coating.counting_back import Found, load_back, missing_part_back
from production.coating.loads import put_on, send_load
from production.coating.made_good import make_good
from production.coating.models import LoadLine
from production.coating.outstanding import lacking
from production.works.card_queries import standing
from production.works.replacement_models import Replacement
from tests.production.floor import finish, floor_shop, galvaniser, load, operation, signed, welded
from tests.production.small_workshop import SmallWorkshop

pytestmark = pytest.mark.django_db
ONE = Decimal(1)
LOST = Found(missing=ONE)


@pytest.fixture
def shop() -> SmallWorkshop:
    return floor_shop()


def came_back(shop: SmallWorkshop, order, fault: Found = LOST) -> LoadLine:
    made = signed(shop, load(shop, [order]))
    send_load(load=made, by=shop.user)
    load_back(load=made, by=shop.user, faults={made.lines.get().pk: fault})
    return made.lines.get()


@pytest.mark.parametrize(
    "fault",
    [
        pytest.param(LOST, id="lost"),
        pytest.param(Found(damaged=ONE, damage="bent double", then="scrap"), id="spoilt"),
    ],
)
def test_a_replacement_is_cut_welded_sent_and_the_order_goes_on(shop, fault):
    galvaniser()
    order = welded(shop)
    line = came_back(shop, order, fault)

    [made] = make_good(order=order, by=shop.user)
    assert make_good(order=order, by=shop.user) == [made]
    assert (operation(order, "galvanise").state, operation(order, "weld").state) == ("waiting", "waiting")
    assert "being made again" in operation(order, "galvanise").problem
    assert standing().get().comes_next == "Laser"

    shop.stock("PL", "4", "CUT")
    shop.stock("SEC", "3")
    finish(shop, order, "laser", "saw", "weld")
    second = load(shop, [], "GL-2")
    put_on(order=order, load=second, by=shop.user)
    assert second.lines.get().repeats == line
    send_load(load=signed(shop, second), by=shop.user)
    load_back(load=second, by=shop.user)

    assert operation(order, "galvanise").state == "done"
    assert standing().get().comes_next == "Assemble"
    assert ledger.audit() == []


def test_a_lost_part_that_turns_up_ends_its_replacement(shop):
    order = welded(shop)
    line = came_back(shop, order)
    make_good(order=order, by=shop.user)

    missing_part_back(line=line, by=shop.user)

    assert Replacement.objects.get().called_off_at is not None
    assert (operation(order, "weld").state, operation(order, "galvanise").state) == ("done", "done")


def test_what_is_galvanised_once_more_is_not_made_again(shop):
    galvaniser()
    order = welded(shop)
    came_back(shop, order, Found(damaged=ONE, damage="bare", then="again"))
    with pytest.raises(ProblemError, match="Nothing of the order is lost"):
        make_good(order=order, by=shop.user)
    assert not lacking()[0].must_be_made


def test_the_page_asks_for_it_and_says_how_far_it_is(client, shop):
    shop.user.user_permissions.add(Permission.objects.get(codename="replace_part"))
    client.force_login(shop.user)
    order = welded(shop)
    line = came_back(shop, order)
    load(shop, [], "GL-2")
    for page in (
        reverse("coating:load", args=[line.load.number]),
        reverse("coating:galvanising"),
        reverse("coating:lorries"),
    ):
        assert "Have it made again" in client.get(page).content.decode()

    answer = client.post(reverse("coating:make_good", args=[line.pk]), {"key": new_key("load")}, follow=True)

    assert "is made again; its cards are at the stations" in answer.content.decode()
    said = client.get(reverse("coating:galvanising")).content.decode()
    assert "Being made again since" in said
    assert "Have it made again" not in said
