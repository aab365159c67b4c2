"""A supplier of rollers with breaks, one of axles, and a colleague who may approve."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.utils import timezone

from bom.people.models import User
from inventory.buying import ordering, receiving
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier, SupplierItem
from inventory.buying.ordering import Want
from inventory.levels.arithmetic import after_working_days


@pytest.fixture
def rubber(room) -> Supplier:
    supplier = Supplier.objects.create(code="RUBBER", name="Rubber and Roll", minimum_value=Decimal(100))
    SupplierItem.objects.create(
        supplier=supplier,
        item=room.roller,
        price=Decimal("3.20"),
        pack=10,
        lead_days=4,
        their_code="RR-120",
    )
    return supplier


@pytest.fixture
def chief(room) -> User:
    """Somebody else, who may do everything in buying."""
    person = User.objects.create_user("chief", password="-", first_name="Ada", last_name="Chief")
    person.user_permissions.set(Permission.objects.filter(content_type__app_label="inventory"))
    return person


@pytest.fixture
def buyer(room) -> User:
    room.keeper.user_permissions.set(Permission.objects.filter(content_type__app_label="inventory"))
    return User.objects.get(pk=room.keeper.pk)


class Buying:
    """Short ways to an order in the state that a test needs."""

    def __init__(self, room) -> None:
        self.room = room
        self.today = timezone.localdate()
        self.count = 0

    def draft(self, quantity=20, due_on=None, item=None) -> PurchaseOrder:
        due_on = due_on or after_working_days(self.today, 10)
        want = Want((item or self.room.roller).pk, None, Decimal(str(quantity)), due_on)
        return ordering.raise_orders(wants=[want], by=self.room.keeper)[0]

    def released(self, quantity=20, due_on=None, *, days_ago=0, item=None) -> PurchaseOrderLine:
        order = ordering.release_order(order=self.draft(quantity, due_on, item), by=None)
        ordered_on = self.today - timedelta(days=days_ago)
        PurchaseOrder.objects.filter(pk=order.pk).update(ordered_on=ordered_on)
        return order.lines.select_related("order", "item").get()

    def comes(self, line, quantity, day=None):
        self.count += 1
        at = (
            timezone.now()
            if day is None
            else timezone.make_aware(
                timezone.datetime.combine(day, timezone.datetime.min.time().replace(hour=12))
            )
        )
        return receiving.receive_line(
            line=line,
            quantity=Decimal(str(quantity)),
            location=self.room.places["A1"],
            by=self.room.keeper,
            key=f"goods-in:test:{self.count}",
            happened_at=at,
        )


@pytest.fixture
def buying(room, rubber) -> Buying:
    return Buying(room)
