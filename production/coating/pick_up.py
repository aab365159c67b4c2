"""How much a load grew heavier in the zinc bath, weighed against what the standard's thickness classes ask for.

The estimate is the least that a good coating weighs: surfaces of the parts, outside and inside, times the mean
coating mass of their thickness class (ISO 1461:2009, table 3; see `bom.costing.coating`). A bath usually gives more.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from production.coating.models import LoadLine
from production.orders.rolling import RolledBill, rolled_bills

NOTHING = Decimal(0)


@dataclass(frozen=True)
class PickUp:
    """A load's mass before and after the bath in kg. `reckoned_kg` adds up the cards of its parts; the weighed
    figures are the scale's, None where nobody weighed. `unknown` are parts without a known surface."""

    reckoned_kg: Decimal
    surface_m2: Decimal
    least_kg: Decimal
    weighed_out_kg: Decimal | None = None
    weighed_back_kg: Decimal | None = None
    unknown: tuple[str, ...] = ()

    @property
    def black_kg(self) -> Decimal:
        """Before the bath: weighed, else reckoned."""
        return self.weighed_out_kg if self.weighed_out_kg is not None else self.reckoned_kg

    @property
    def picked_kg(self) -> Decimal | None:
        """Zinc that came with it; None where it was not weighed both times."""
        if self.weighed_out_kg is None or self.weighed_back_kg is None:
            return None
        return self.weighed_back_kg - self.weighed_out_kg

    @property
    def picked_share(self) -> Decimal | None:
        """Zinc as a share of the black mass, 0 to 1."""
        return None if self.picked_kg is None or not self.black_kg else self.picked_kg / self.black_kg

    @property
    def mean_g_m2(self) -> Decimal | None:
        """Zinc on a square metre of surface, on average over the load."""
        if self.picked_kg is None or not self.surface_m2:
            return None
        return self.picked_kg * 1000 / self.surface_m2

    @property
    def is_thin(self) -> bool:
        """Less zinc than the standard's classes ask for on average. A scale that is a per cent wrong can do it too."""
        return self.picked_kg is not None and self.picked_kg < self.least_kg


def pick_up(lines: Iterable[LoadLine], out_kg: Decimal | None, back_kg: Decimal | None) -> PickUp:
    """The pick-up of a load from its lines (with order and item). Five queries."""
    lines = list(lines)
    bills = rolled_bills({line.order.bill_id for line in lines if line.order.bill_id})
    surface = least = NOTHING
    unknown: set[str] = set()
    for line in lines:
        bill: RolledBill | None = bills.get(line.order.bill_id or 0)
        own = bill.surfaces.get(line.item.code) if bill else None
        if own is None or not own.zinc_kg:
            unknown.add(line.item.code)
            continue
        surface += (own.outside_m2 + own.inside_m2) * line.quantity
        least += own.zinc_kg * line.quantity
    reckoned = sum((line.mass_kg for line in lines), NOTHING)
    return PickUp(reckoned, surface, least, out_kg, back_kg, tuple(sorted(unknown)))
