"""Every address × every role: a page, a refusal with a sentence, or a sign-in; never a fault, never a flood."""

import pytest
from django.contrib.auth.models import Group
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bom.people.models import User
from production.site.roles import MANAGER, ROLES, VIEWER, sync_roles
from tests.house.addresses import every_page, named_patterns

OPEN_TO_ALL = {"site:sign_in", "site:healthy", "site:worker"}
MOST_QUERIES = 20
# 405 is an address that only takes a POST; 404 a number that belongs to another kind of thing.
ANSWERS = {200, 302, 403, 404, 405}


def _client(role: str) -> Client:
    user = User.objects.create_user(f"someone-{role}", password="-")
    user.groups.add(Group.objects.get(name=role))
    client = Client(raise_request_exception=True)
    client.force_login(user)
    return client


@pytest.mark.django_db
def test_every_page_asks_a_stranger_to_sign_in(workshop):
    open_pages = {"/sign-in/", "/healthy/", "/worker.js"}
    stranger = Client()
    answers = {
        address: stranger.get(address).status_code for address in every_page() if address not in open_pages
    }

    assert len(answers) > 25
    assert {address: status for address, status in answers.items() if status != 302} == {}


@pytest.mark.django_db
def test_every_page_answers_the_manager_with_twenty_queries_at_most(workshop):
    sync_roles()
    client = _client(MANAGER)
    faults, floods = {}, {}
    for address in every_page():
        cache.clear()  # what the head keeps for a few seconds is asked anew by somebody
        with CaptureQueriesContext(connection) as queries:
            status = client.get(address).status_code
        if status not in ANSWERS:
            faults[address] = status
        if len(queries) > MOST_QUERIES:
            floods[address] = len(queries)

    assert faults == {}
    assert floods == {}


@pytest.mark.django_db
@pytest.mark.parametrize("role", sorted(set(ROLES) - {MANAGER, VIEWER}))
def test_every_page_answers_every_other_role(workshop, role):
    sync_roles()
    client = _client(role)
    faults = {}
    for address in every_page():
        status = client.get(address).status_code
        if status not in ANSWERS:
            faults[address] = status

    assert faults == {}


@pytest.mark.django_db
def test_a_viewer_may_change_nothing(workshop):
    """Every address that refuses a plain GET is an act; a viewer's POST to it is refused."""
    sync_roles()
    viewer = _client(VIEWER)
    seen = {address: viewer.get(address).status_code for address in every_page()}
    assert {address: status for address, status in seen.items() if status not in ANSWERS} == {}
    acts = [address for address, status in seen.items() if status in {403, 405}]
    acts.remove("/sign-out/")

    assert len(acts) > 5
    answers = {address: viewer.post(address).status_code for address in acts}
    assert {address: status for address, status in answers.items() if status != 403} == {}


def test_every_address_has_a_name():
    assert len(named_patterns()) > 30
