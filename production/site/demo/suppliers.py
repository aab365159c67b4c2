"""Eight invented suppliers and what each sells."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from bom.items.models import Item
from inventory.buying.models import Supplier, SupplierItem
from production.site.demo.recipes import Thing, exact


@dataclass(frozen=True)
class Firm:
    """A supplier: usual lead time in working days, least order in pounds, weekday it delivers (0 Monday)."""

    key: str
    code: str
    name: str
    lead_days: int
    minimum_value: int
    delivery_weekday: int | None


FIRMS = (
    Firm("STEEL", "ULVER", "Ulverdyke Steel Yard", 5, 400, 1),
    Firm("AXLES", "HOBBLE", "Hobbleton Axle Works", 38, 1500, 2),
    Firm("WHEELS", "CARROW", "Carrowmere Wheels", 10, 250, 3),
    Firm("GEAR", "WEXMOOR", "Wexmoor Running Gear", 10, 150, None),
    Firm("ROLLERS", "PENQUILL", "Penquill Roller Mouldings", 12, 200, 0),
    Firm("LIGHTS", "SANDLE", "Sandlewick Lamps and Looms", 10, 150, 4),
    Firm("FIXINGS", "BOLTCROFT", "Boltcroft Fixings", 4, 60, None),
    Firm("POWDER", "TARNHOLLOW", "Tarnhollow Powders", 8, 120, None),
)
# Labels come with the fixings: a ninth firm for eight labels would be one too many.
_SELLERS = {"PAPER": "FIXINGS"}


def add_suppliers(things: Sequence[Thing], items: Mapping[str, Item]) -> dict[str, Supplier]:
    """Write the suppliers and, for everything bought, who sells it at what price. By key of the firm."""
    suppliers = {
        firm.key: Supplier.objects.create(
            code=firm.code,
            name=firm.name,
            lead_days=firm.lead_days,
            minimum_value=Decimal(firm.minimum_value),
            delivery_weekday=firm.delivery_weekday,
        )
        for firm in FIRMS
    }
    sold = [thing for thing in things if thing.is_stocked]
    rows = [_sells(suppliers[seller(thing)], items[thing.code], thing) for thing in sold]
    # Boltcroft also keeps winch straps and clips, dearer but within the week.
    rows += [
        _sells(suppliers["FIXINGS"], items[thing.code], thing, dearer=True)
        for thing in sold
        if thing.code in {"WS-6", "WS-8", "WS-10", "CHAIN-SEC", "BREAKAWAY", "STRAP-TIE"}
    ]
    SupplierItem.objects.bulk_create(rows)
    return suppliers


def seller(thing: Thing) -> str:
    """The key of the firm that a thing is bought from first."""
    return _SELLERS.get(thing.supplier, thing.supplier)


def _sells(supplier: Supplier, item: Item, thing: Thing, *, dearer: bool = False) -> SupplierItem:
    return SupplierItem(
        supplier=supplier,
        item=item,
        price=exact(thing.cost, 4) * (Decimal("1.15") if dearer else 1),
        pack=exact(thing.lot_size, 4) or Decimal(1),
        lead_days=4 if dearer else thing.lead_days,
        is_preferred=not dearer,
        their_code=f"{supplier.code[:3]}-{thing.code}"[:60],
    )
