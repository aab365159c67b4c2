"""The small workshop with a released plan: a sheet to cut, a load to fill, kits to pick."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from django.contrib.auth.models import Permission
from django.utils import timezone

from bom.geometry.models import FlatContour, FlatPart
from bom.items.models import Colour, Item
from inventory.buying.models import Supplier
from inventory.buying.outside_models import OutsideService
from inventory.stock.models import Location
from production.assembly.kits import ensure_kits, pick_all_available
from production.assembly.models import Kit
from production.coating.loads import sign_vents
from production.coating.models import GalvanisingLoad, LoadLine, PowderBatch, PowderLine
from production.cutting.models import CutBatch, CutPlacement, CutSheet
from production.orders.models import Order
from production.planning.models import Plan
from production.shop.models import LorryDay
from production.works.confirming import confirm_order
from production.works.models import WorksOperation
from production.works.tracking import finish_operation
from tests.production.small_workshop import SmallWorkshop, build

PLATES = 4
FLOOR_PERMISSIONS = ("cut_sheets", "coat_parts", "report_work", "issue_stock")


def floor_shop() -> SmallWorkshop:
    """The small workshop, whose person may do everything on the floor, with raw sheets and the plate's outline."""
    shop = build()
    shop.user.user_permissions.set(Permission.objects.filter(codename__in=FLOOR_PERMISSIONS))
    shop.items["SH"] = Item.objects.create(
        code="SH",
        name="Sheet",
        kind=Item.Kind.SHEET,
        grade="S355",
        thickness_mm=6,
        length_mm=2000,
        width_mm=1000,
    )
    part = FlatPart.objects.create(
        item=shop.items["PL"],
        grade="S355",
        thickness_mm=6,
        area_mm2=18000,
        cut_length_mm=600,
        pierces=2,
        length_mm=200,
        width_mm=100,
    )
    FlatContour.objects.create(part=part, sequence=0, vertices="0,0,0;200,0,0;200,100,0;0,100,0")
    FlatContour.objects.create(part=part, sequence=1, vertices="90,50,1;110,50,1")
    return shop


def the_plan(shop: SmallWorkshop) -> Plan:
    plan, _ = Plan.objects.get_or_create(
        number=1, defaults={"is_current": True, "released_at": timezone.now()}
    )
    return plan


def released(shop: SmallWorkshop, **changes: object) -> Order:
    order = confirm_order(order=shop.draft(**changes), by=shop.user)
    order.state = Order.State.RELEASED
    order.save(update_fields=["state"])
    return order


def operation(order: Order, process: str) -> WorksOperation:
    return WorksOperation.objects.get(works_order__order=order, process__code=process)


def finish(shop: SmallWorkshop, order: Order, *processes: str) -> None:
    for process in processes:
        finish_operation(operation=operation(order, process), by=shop.user)


def cut_batch(
    shop: SmallWorkshop, orders: Sequence[Order], number: str = "CB-1", sheets: int = 1
) -> CutBatch:
    """A released batch whose every sheet holds the plates of all the orders, side by side."""
    batch = CutBatch.objects.create(
        number=number,
        plan=the_plan(shop),
        grade="S355",
        thickness_mm=6,
        state=CutBatch.State.RELEASED,
        needed_on=timezone.localdate(),
        starts_at=timezone.now(),
        minutes=20,
        use=Decimal("0.5"),
    )
    part = FlatPart.objects.get(item=shop.items["PL"])
    for index in range(1, sheets + 1):
        sheet = CutSheet.objects.create(
            batch=batch,
            number=index,
            item=shop.items["SH"],
            length_mm=2000,
            width_mm=1000,
            used_length_mm=900,
            use=Decimal("0.5"),
            minutes=10,
        )
        CutPlacement.objects.bulk_create(
            CutPlacement(
                sheet=sheet,
                part=part,
                order=order,
                x_mm=10 + 210 * plate,
                y_mm=10 + 110 * row,
                rotation_deg=0,
            )
            for row, order in enumerate(orders)
            for plate in range(PLATES)
        )
    return batch


def welded(shop: SmallWorkshop, **changes: object) -> Order:
    """An order whose chassis lies welded at WELD."""
    order = released(shop, **changes)
    shop.stock("SEC", "6")
    shop.stock("PL", "4", "CUT")
    finish(shop, order, "laser", "saw", "weld")
    return order


def assembled(shop: SmallWorkshop, **changes: object) -> Order:
    """An order whose trailer stands assembled at READY, to be inspected."""
    order = welded(shop, **changes)
    shop.stock("RO-RED", "2")
    shop.stock("RO-GREEN", "2")
    pick_all_available(kit=kit_of(order), by=shop.user)
    finish(shop, order, "galvanise", "assemble")
    return order


def load(
    shop: SmallWorkshop, orders: Sequence[Order], number: str = "GL-1", **changes: object
) -> GalvanisingLoad:
    values: dict[str, object] = {
        "state": GalvanisingLoad.State.RELEASED,
        "leaves_at": timezone.now() + timedelta(days=1),
        "back_at": timezone.now() + timedelta(days=6),
        "max_kg": 1000,
        "minimum_charge_kg": 500,
        "bath_length_mm": 7000,
    }
    made = GalvanisingLoad.objects.create(number=number, plan=the_plan(shop), **{**values, **changes})
    for order in orders:
        LoadLine.objects.create(
            load=made, order=order, item=shop.items["CH"], quantity=1, mass_kg=120, length_mm=5000
        )
    return made


def signed(shop: SmallWorkshop, made: GalvanisingLoad) -> GalvanisingLoad:
    """The load, its every line signed for."""
    for line in made.lines.all():
        sign_vents(line=line, by=shop.user)
    return made


def galvaniser() -> OutsideService:
    """Buying knows who galvanises, and what he asks."""
    LorryDay.objects.update(price_per_kg=Decimal("0.50"))
    return OutsideService.objects.create(
        work="galvanise",
        name="hot-dip galvanising",
        supplier=Supplier.objects.create(code="ZINC", name="Zinc Bath"),
        place=Location.objects.get(code="GALV"),
        price_per_kg=Decimal("0.68"),
        minimum_kg=Decimal(100),
        days_away=4,
    )


def powder_batch(shop: SmallWorkshop, orders: Sequence[Order], number: str = "PB-1") -> PowderBatch:
    batch = PowderBatch.objects.create(
        number=number,
        plan=the_plan(shop),
        colour=Colour.objects.get(code="blue"),
        state=PowderBatch.State.RELEASED,
        starts_at=timezone.now(),
        ends_at=timezone.now() + timedelta(hours=2),
        frames=4,
    )
    PowderLine.objects.bulk_create(PowderLine(batch=batch, order=order) for order in orders)
    return batch


def kit_of(order: Order) -> Kit:
    ensure_kits([order])
    return Kit.objects.get(order=order)
