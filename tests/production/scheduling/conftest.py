"""The small workshop with its shop: stations, hours, the lorry, the oven and sheets to cut."""

from datetime import time
from decimal import Decimal

import pytest
from django.contrib.auth.models import Permission

from bom.structure.models import Process
from inventory.buying.models import Supplier, SupplierItem
from production.shop.models import Calendar, CalendarShift, LorryDay, Oven, WorkCentre
from tests.production.floor import floor_shop
from tests.production.small_workshop import SmallWorkshop

UNITS = {"laser": 1, "saw": 1, "fold": 1, "weld": 2, "powder": 1, "assemble": 1, "inspect": 1}
PLAN_PERMISSIONS = ("run_plan", "release_plan", "add_purchaseorder")


def add_stations() -> None:
    calendar = Calendar.objects.create(code="day", name="day shift")
    CalendarShift.objects.bulk_create(
        CalendarShift(calendar=calendar, weekday=weekday, starts=time(7), ends=time(16))
        for weekday in range(5)
    )
    for sequence, (code, units) in enumerate(UNITS.items()):
        WorkCentre.objects.create(
            code=code,
            name=f"{code} station",
            process=Process.objects.get(code=code),
            units=units,
            calendar=calendar,
            sequence=sequence,
        )
    for weekday in (1, 3):
        LorryDay.objects.create(
            weekday=weekday,
            leaves_at=time(14),
            max_kg=4000,
            bath_length_mm=7500,
            minimum_charge_kg=500,
            back_after_days=3,
        )
    Oven.objects.create(
        work_centre=WorkCentre.objects.get(code="powder"),
        frames=2,
        rail_length_mm=7000,
        batch_minutes=120,
        change_to_darker_minutes=30,
        change_to_lighter_minutes=45,
    )


@pytest.fixture
def shop(db: None) -> SmallWorkshop:
    """Everything needed to plan; the shelves hold steel and rollers, battery boxes must be bought."""
    workshop = floor_shop()
    add_stations()
    workshop.user.user_permissions.add(*Permission.objects.filter(codename__in=PLAN_PERMISSIONS))
    supplier = Supplier.objects.create(code="S1", name="Roller works")
    for code, lead in (("BOX", 30), ("RO-RED", 5), ("RO-GREEN", 5), ("SEC", 4), ("SH", 4)):
        SupplierItem.objects.create(
            supplier=supplier, item=workshop.items[code], price=Decimal("2"), lead_days=lead
        )
    workshop.stock("SEC", "60")
    workshop.stock("SH", "5")
    workshop.stock("RO-RED", "40")
    workshop.stock("RO-GREEN", "40")
    return workshop
