"""A small store room for tests: places, items and short ways to post."""

import uuid
from dataclasses import dataclass
from decimal import Decimal

from bom.items.models import Item
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Balance, Location, Lot, Posting, Purpose

PLACES = [
    ("SUPPLIER", "supplier", None),
    ("A1", "shelf", Decimal(0)),
    ("A2", "shelf", Decimal(0)),
    ("CUT", "work", Decimal(0)),
    ("KIT", "work", Decimal(0)),
    ("CONV", "conversion", None),
    ("SCRAP", "scrap", Decimal(0)),
    ("CUSTOMER", "customer", Decimal(0)),
    ("COUNT", "count", None),
    ("HOLD", "hold", Decimal(0)),
    ("FLOOR", "work", Decimal(0)),
    ("DOOR", "shelf", Decimal(0)),
]


@dataclass
class StockRoom:
    """The places by code, one roller, one axle with serial numbers, and the storekeeper."""

    places: dict[str, Location]
    roller: Item
    axle: Item
    keeper: User

    def line(self, item: Item, place: str, quantity, lot: Lot | None = None) -> ledger.Line:
        return ledger.Line(item.pk, self.places[place].pk, Decimal(str(quantity)), lot.pk if lot else None)

    def both(self, item: Item, quantity, source: str, target: str, lot: Lot | None = None):
        return [self.line(item, source, -Decimal(str(quantity)), lot), self.line(item, target, quantity, lot)]

    def move(self, item: Item, quantity, source: str, target: str, *, key: str = "", lot=None, kind="move"):
        return ledger.post(
            key=key or f"test:{uuid.uuid4().hex}",
            kind=kind,
            lines=self.both(item, quantity, source, target, lot),
            by=self.keeper,
        )

    def bring(self, item: Item, quantity, place: str = "A1", *, lot: Lot | None = None) -> Posting:
        return self.move(item, quantity, "SUPPLIER", place, lot=lot, kind="receipt")

    def at(self, item: Item, place: str, lot: Lot | None = None) -> Decimal:
        found = Balance.objects.filter(item=item, location=self.places[place], lot=lot).first()
        return found.quantity if found else Decimal(0)

    def purpose(self, code: str = "1001") -> Purpose:
        return Purpose.objects.get_or_create(code=code)[0]


def furnish() -> StockRoom:
    places = {
        code: Location.objects.create(
            code=code, name=code.title(), kind=kind, floor=floor, walk_order=index, is_goods_in=code == "DOOR"
        )
        for index, (code, kind, floor) in enumerate(PLACES)
    }
    return StockRoom(
        places=places,
        roller=Item.objects.create(
            code="RLR-120-BLU", name="Keel roller 120 blue", kind="bought", group="rollers"
        ),
        axle=Item.objects.create(code="AXL-750", name="Axle 750 kg", kind="bought", tracking="serial"),
        keeper=User.objects.create_user("keeper", password="shelf and box"),
    )
