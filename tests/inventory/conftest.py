import pytest
from django.contrib.auth.models import Permission
from django.test import Client

from bom.people.models import User
from tests.inventory.stock_room import StockRoom, furnish


@pytest.fixture
def room(db) -> StockRoom:
    return furnish()


@pytest.fixture
def keeper(client: Client, room: StockRoom) -> Client:
    """A browser signed in as the storekeeper, who may do everything in stores and buying."""
    room.keeper.user_permissions.set(Permission.objects.filter(content_type__app_label="inventory"))
    client.force_login(room.keeper)
    return client


@pytest.fixture
def visitor(room: StockRoom) -> Client:
    """A browser signed in as somebody who may only look."""
    browser = Client()
    browser.force_login(User.objects.create_user("visitor", password="only looking"))
    return browser
