import pytest

from production.dispatch import inspecting
from production.dispatch.inspecting import Finding
from production.dispatch.models import CheckLine, Maker
from production.dispatch.plating import set_maker
from production.dispatch.shipped_checks import add_shipped_lists
from production.orders.models import Order
from tests.production.floor import floor_shop
from tests.production.small_workshop import SmallWorkshop


@pytest.fixture
def shop(db) -> SmallWorkshop:
    """The small workshop with the usual check lists and a maker."""
    shop = floor_shop()
    add_shipped_lists()
    set_maker(maker=Maker(name="Works", wmi="ZZ9", small_code="ABC", descriptor="BT000"))
    return shop


@pytest.fixture
def screen(client, shop):
    client.force_login(shop.user)
    return client


def good(line: CheckLine) -> Finding:
    """A finding that passes."""
    return (
        Finding(value=line.low if line.low is not None else line.high) if line.unit else Finding(is_good=True)
    )


def all_good(order: Order, **changes: Finding) -> dict[int, Finding]:
    """Every check good, but those whose words begin as `changes` says."""
    found = {}
    for line in inspecting.wanted_lines(order):
        other = [finding for words, finding in changes.items() if line.words.startswith(words)]
        found[line.pk] = other[0] if other else good(line)
    return found
