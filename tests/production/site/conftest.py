"""People at the desk."""

import pytest
from django.contrib.auth.models import Group
from django.test import Client

from bom.people.models import User
from production.site.roles import OFFICE, VIEWER, sync_roles
from tests.production.small_workshop import SmallWorkshop, build


@pytest.fixture
def shop(db) -> SmallWorkshop:
    shop = build()
    sync_roles()
    return shop


def signed_in(role: str) -> Client:
    user = User.objects.create_user(f"a-{role}", password="desk")
    user.groups.add(Group.objects.get(name=role))
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def office(shop: SmallWorkshop) -> Client:
    return signed_in(OFFICE)


@pytest.fixture
def viewer(shop: SmallWorkshop) -> Client:
    return signed_in(VIEWER)
