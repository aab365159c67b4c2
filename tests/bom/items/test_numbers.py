"""The page of the numbers by which others know an item."""

import pytest
from django.contrib.auth.models import Permission

from bom.items.models import Item, ItemIdentifier
from bom.people.models import User


@pytest.fixture
def item(db) -> Item:
    return Item.objects.create(code="RLR-1", name="roller", kind="bought")


@pytest.fixture
def keeper(client, item):
    user = User.objects.create_user("keeper", password="-")
    user.user_permissions.add(Permission.objects.get(codename="change_itemidentifier"))
    client.force_login(user)
    return client


ADDRESS = "/items/numbers/RLR-1/"


def test_a_number_is_given_once_and_taken_away(keeper, item):
    for _ in range(2):
        keeper.post(ADDRESS, {"kind": "gtin", "code": "4006381333931", "holds": "10"})
    row = ItemIdentifier.objects.get(item=item)

    assert (row.code, row.holds) == ("04006381333931", 10)
    assert "04006381333931" in keeper.get(ADDRESS).content.decode()
    keeper.post(f"{ADDRESS}{row.pk}/away/")
    assert not ItemIdentifier.objects.exists()


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"kind": "gtin", "code": "4006381333932", "holds": "1"}, "should end in 1"),
        ({"kind": "supplier", "code": "X", "holds": "0"}, "cannot hold 0"),
    ],
)
def test_a_wrong_number_is_refused(keeper, item, values, said):
    answer = keeper.post(ADDRESS, values)

    assert answer.status_code == 409
    assert said in answer.content.decode()
    assert not ItemIdentifier.objects.exists()
