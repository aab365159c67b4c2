"""A small workshop whose released plan is short of battery boxes."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission
from django.utils import timezone

from bom.people.models import User
from inventory.buying.models import Supplier, SupplierItem
from inventory.levels.models import ItemLevel
from production.orders.models import Order
from production.planning.alert_models import Alert
from production.planning.alerting.watching import watch
from production.planning.models import Peg, Plan, Shortage, Suggestion
from production.works.confirming import confirm_order
from tests.production.small_workshop import SmallWorkshop, build


@dataclass
class Trouble:
    """Short ways to what runs short."""

    shop: SmallWorkshop
    plan: Plan

    @property
    def today(self) -> date:
        return timezone.localdate()

    def day(self, days: int) -> date:
        return self.today + timedelta(days=days)

    def order(self) -> Order:
        return confirm_order(order=self.shop.draft(), by=self.shop.user)

    def shortage(self, order=None, code="BOX", quantity=2, needed=5, there=12, **more) -> Shortage:
        return Shortage.objects.create(
            plan=self.plan,
            order=order or self.order(),
            item=self.shop.items[code],
            quantity=quantity,
            needed_on=self.day(needed),
            available_on=self.day(there),
            days_short=there - needed,
            **more,
        )

    def suggestion(self, code="BOX", quantity=2) -> Suggestion:
        return Suggestion.objects.create(
            plan=self.plan,
            number=self.plan.suggestions.count() + 1,
            item=self.shop.items[code],
            kind="buy",
            quantity=quantity,
            begin_on=self.today,
            needed_on=self.day(5),
        )

    def peg(self, order, code="BOX", quantity=2, needed=30, there=0, source="shelf") -> Peg:
        return Peg.objects.create(
            plan=self.plan,
            order=order,
            item=self.shop.items[code],
            source=source,
            quantity=quantity,
            needed_on=self.day(needed),
            available_on=self.day(there),
        )

    def shelf(self, code="BOX", level=5, a_day="0.5") -> ItemLevel:
        return ItemLevel.objects.create(
            item=self.shop.items[code],
            reorder_point=level,
            daily_mean=Decimal(a_day),
            worked_out_on=self.today,
        )

    def look(self, days: int = 0) -> list[Alert]:
        """Look for alerts so many days from now; those open, by item and order."""
        watch(now=timezone.now() + timedelta(days=days))
        return list(Alert.objects.filter(gone_at__isnull=True).order_by("item__code", "order__number"))


@pytest.fixture
def trouble(db) -> Trouble:
    shop = build()
    supplier = Supplier.objects.create(code="S1", name="Supplier One")
    for code in ("BOX", "RO-RED"):
        SupplierItem.objects.create(supplier=supplier, item=shop.items[code], price=3, lead_days=10)
    plan = Plan.objects.create(
        number=1, state="finished", outcome="succeeded", is_current=True, released_at=timezone.now()
    )
    shop.user.email = "office@sample.example"
    shop.user.save()
    rights = ("silence_alert", "add_purchaseorder", "set_digest")
    shop.user.user_permissions.set(Permission.objects.filter(codename__in=rights))
    shop.user = User.objects.get(pk=shop.user.pk)
    return Trouble(shop, plan)
