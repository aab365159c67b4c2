"""Two people at one purchase order: one approves, one confirms, and the other is told or finds it done."""

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.db import connection
from django.utils import timezone

from bom.people.models import User
from inventory.buying import approving, ordering
from inventory.buying.confirming import Promise, confirm_line
from inventory.buying.models import BuyingLimit, Confirmation, PurchaseOrder, Supplier, SupplierItem
from tests.concurrency.test_ledger_writers import WAIT_SECONDS, _refusals, _together
from tests.inventory.stock_room import StockRoom, furnish

pytestmark = [
    pytest.mark.postgres,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor != "postgresql", reason="DATABASE_URL names no PostgreSQL server to lock rows in"
    ),
]


@pytest.fixture
def room(db) -> StockRoom:
    return furnish()


@pytest.fixture
def draft(room) -> PurchaseOrder:
    supplier = Supplier.objects.create(code="R", name="Rollers")
    SupplierItem.objects.create(supplier=supplier, item=room.roller, price=3, lead_days=4)
    due_on = timezone.localdate() + timedelta(days=10)
    want = ordering.Want(room.roller.pk, None, Decimal(20), due_on)
    return ordering.raise_orders(wants=[want], by=room.keeper)[0]


@pytest.fixture
def chiefs(room) -> list[User]:
    BuyingLimit.objects.create(person=room.keeper, releases_up_to=1)
    right = Permission.objects.get(codename="approve_purchaseorder")
    people = [User.objects.create_user(name, password="-") for name in ("ada", "ben")]
    for person in people:
        person.user_permissions.add(right)
        BuyingLimit.objects.create(person=person, releases_up_to=0)
    return people


def test_control_without_the_lock_both_would_find_it_unapproved(draft, chiefs):
    seen, meet = [], threading.Barrier(2)

    def look(person: User) -> None:
        found = PurchaseOrder.objects.get(pk=draft.pk)
        meet.wait(WAIT_SECONDS)
        seen.append(found.approved_at)
        found.approved_by, found.approved_at = person, timezone.now()
        found.save()

    _together(*(lambda person=person: look(person) for person in chiefs))

    assert seen == [None, None]


def test_two_people_approving_at_once_approve_once(room, draft, chiefs):
    approving.ask_approval(order=draft, by=room.keeper)
    ends = _together(*(lambda person=person: approving.approve(order=draft, by=person) for person in chiefs))
    draft.refresh_from_db()

    (refusal,) = _refusals(ends)
    assert "has approved it already" in refusal
    assert draft.approved_by in chiefs


def test_a_release_and_a_change_at_once_never_release_what_nobody_approved(room, draft, chiefs):
    approving.ask_approval(order=draft, by=room.keeper)
    approving.approve(order=draft, by=chiefs[0])
    line = draft.lines.get()
    _together(
        lambda: ordering.release_order(order=draft, by=room.keeper),
        lambda: ordering.change_line(line=line, quantity=Decimal(900), due_on=line.due_on, by=room.keeper),
    )
    draft.refresh_from_db()
    line.refresh_from_db()

    assert (draft.state, line.quantity) in {("released", 20), ("draft", 900)}


def test_one_confirmation_sent_twice_at_once_is_kept_once(room, draft):
    ordering.release_order(order=draft, by=None)
    line, day = draft.lines.get(), timezone.localdate() + timedelta(days=3)
    promise = Promise(day, Decimal(12), day + timedelta(days=7))

    ends = _together(
        *([lambda: confirm_line(line=line, promise=promise, by=room.keeper, key="confirm:1")] * 2)
    )

    assert _refusals(ends) == []
    assert (Confirmation.objects.count(), draft.lines.count()) == (2, 2)  # the part and its rest, once
