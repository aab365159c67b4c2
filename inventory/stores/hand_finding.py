"""From what was scanned or typed to the place, item or lot that is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import HttpRequest

from bom.items.identifying import items_called
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.scans import Kind, Scan, read, why_unknown
from inventory.stock.models import Location, Lot
from inventory.stock.queries import ON_HAND_KINDS


@dataclass(frozen=True)
class FoundItem:
    """An item, and what its label said besides: lot or serial number, and how many stock units it stands for."""

    item: Item
    lot_code: str = ""
    quantity: Decimal | None = None


def find_place(text: str, kinds: Sequence[str] = ON_HAND_KINDS) -> Location:
    """The shelf or rack, or place of these kinds, that a label or a typed code names.

    Raises:
        ProblemError: it cannot be read, names something else, or is no place in the house.
    """
    scan = read(text)
    if scan.kind not in (Kind.PLACE, Kind.PLAIN):
        raise _something_else(scan, "a place")
    found = Location.objects.filter(code__iexact=scan.code).first()
    if found is None:
        raise why_unknown(scan)
    if found.kind not in kinds:
        where = "in the house" if kinds == ON_HAND_KINDS else "for goods on hold"
        mend = "Choose a shelf or a rack." if kinds == ON_HAND_KINDS else "Scan the place where they stand."
        raise ProblemError(Problem(f"{found.code} is no place {where}", "place", mend))
    return found


def scanned(request: HttpRequest) -> dict[str, Any]:
    """What a link or a scan on another page has already filled in."""
    place = request.GET.get("place", "")
    names = ("item", "lot", "quantity", "target", "source")
    given = {name: request.GET[name] for name in names if name in request.GET}
    return {"place": place, "source": place} | given


def find_item(text: str) -> FoundItem:
    """The item that a label of ours, a GTIN, a supplier's code or a typed code names.

    Raises:
        ProblemError: it cannot be read, names something else, nothing, or more than one item.
    """
    scan = read(text)
    if scan.kind not in (Kind.ITEM, Kind.LOT, Kind.TRADE_ITEM, Kind.PLAIN):
        raise _something_else(scan, "an item")
    own = Item.objects.filter(code__iexact=scan.code).first()
    lot_code = scan.lot or scan.serial
    if own is not None:
        return FoundItem(own, lot_code, scan.count)
    called = items_called(scan.code)
    if len({row.item_id for row in called}) > 1:
        names = ", ".join(row.item.code for row in called)
        raise ProblemError(Problem(f"{scan.code} is the number of {names}", "item", "Type our own code."))
    if not called:
        raise why_unknown(scan)
    pack = called[0]
    quantity = (scan.count or Decimal(1)) * pack.holds if scan.count or pack.holds != 1 else None
    return FoundItem(pack.item, lot_code, quantity)


def find_lot(item: Item, text: str) -> Lot | None:
    """The lot of the item that was scanned or typed; none where nothing was, and the item needs none.

    Raises:
        ProblemError: the item has no such lot, or has lots and none was given.
    """
    if not text.strip():
        if item.tracking != Item.Tracking.NONE:
            raise ProblemError(
                Problem(
                    f"{item.code} is kept {item.get_tracking_display()} and none was given",
                    "lot",
                    "Scan the label of the lot, or type its number.",
                )
            )
        return None
    scan = read(text)
    code = scan.lot or scan.serial or text.strip()
    found = Lot.objects.filter(item=item, code__iexact=code).first()
    if found is None:
        raise ProblemError(Problem(f"{item.code} has no lot {code}", "lot", "Check the label."))
    return found


def _something_else(scan: Scan, wanted: str) -> ProblemError:
    names = {
        Kind.PLACE: "the label of a place",
        Kind.ITEM: "the label of an item",
        Kind.LOT: "the label of a lot",
        Kind.PURCHASE: "a purchase order",
        Kind.ORDER: "an order",
        Kind.KIT: "a kit",
        Kind.WORKS: "a works order",
        Kind.TRADE_ITEM: "an item number (GTIN)",
        Kind.PACKAGE: "a package number (SSCC)",
        Kind.SITE: "the number of a firm or site (GLN)",
    }
    return ProblemError(
        Problem(f"{scan.code} is {names[scan.kind]}; {wanted} is asked for", "", "Scan the other label.")
    )
