"""Raw sheets on the shelves: which to fetch, where it lies, and what to say when there is none."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from bom.items.models import Item
from bom.kernel.errors import Problem
from bom.kernel.quantities import format_quantity
from inventory.buying.models import PurchaseOrderLine
from inventory.stock.models import Balance, Location, Lot
from production.cutting.models import CutSheet

ONE = Decimal(1)


@dataclass(frozen=True)
class Fetch:
    """Where to fetch a raw sheet: the shelf, the cast, how many are left there after it is taken; or which offcut."""

    location: str
    cast: str
    left: Decimal
    offcut: str = ""


def sheets_on_shelf(item_id: int, least: Decimal = ONE) -> list[Balance]:
    """Balances that hold at least one such whole sheet, in the order a picker walks past them.

    For a bar, `least` is its metres.
    """
    return list(
        Balance.objects.filter(item_id=item_id, location__kind=Location.Kind.SHELF, quantity__gte=least)
        .exclude(lot__kind=Lot.Kind.OFFCUT)
        .select_related("location", "lot", "item")
        .order_by("location__walk_order", "location__code", "lot__received_on", "lot_id")
    )


def where_to_fetch(sheets: Iterable[CutSheet]) -> dict[int, Fetch]:
    """By sheet (its key) what to fetch and where: its own offcut, else the first whole sheet on a shelf.

    Absent when it lies on no shelf. One query; the sheets bring their lot.
    """
    sheets = list(sheets)
    balances = (
        Balance.objects.filter(
            item_id__in={one.item_id for one in sheets}, location__kind=Location.Kind.SHELF, quantity__gt=0
        )
        .select_related("location", "lot")
        .order_by("location__walk_order", "location__code", "lot__received_on", "lot_id")
    )
    whole: dict[int, Balance] = {}
    offcuts: dict[int, Balance] = {}
    for one in balances:
        if one.lot is not None and one.lot.kind == Lot.Kind.OFFCUT:
            offcuts[one.lot.pk] = one
        elif one.quantity >= 1:
            whole.setdefault(one.item_id, one)
    found = {}
    for sheet in sheets:
        is_offcut = sheet.lot is not None and sheet.lot.kind == Lot.Kind.OFFCUT
        balance = offcuts.get(sheet.lot_id or 0) if is_offcut else whole.get(sheet.item_id)
        if balance is not None:
            found[sheet.pk] = _fetch(balance, is_offcut)
    return found


def _fetch(balance: Balance, is_offcut: bool) -> Fetch:
    lot = balance.lot
    if lot is not None and is_offcut:
        return Fetch(balance.location.code, lot.cast, Decimal(0), lot.code)
    cast = (lot.cast or lot.code) if lot else ""
    return Fetch(balance.location.code, cast, balance.quantity - 1)


def no_offcut(sheet: CutSheet, where: str) -> Problem:
    """The offcut that a layout was made for is gone."""
    code = sheet.lot.code if sheet.lot else ""
    return Problem(
        f"Offcut {code} of {sheet.item.code} lies on no shelf",
        where=where,
        mend="Look for it and count it on its shelf, or stop the sheet: the next plan lays its parts out anew.",
    )


def no_sheet(sheet: CutSheet, where: str) -> Problem:
    """No sheet of the wanted size lies on a shelf: says what does lie there and what is coming."""
    thickness = format_quantity(sheet.item.thickness_mm or Decimal(0))
    length, width = format_quantity(sheet.length_mm), format_quantity(sheet.width_mm)
    size = f"{sheet.item.grade} {thickness} mm, {length} × {width} mm"
    others = _others(sheet.item)
    coming = (
        PurchaseOrderLine.objects.filter(item=sheet.item, order__state="released", is_closed=False)
        .select_related("order")
        .order_by("due_on")
        .first()
    )
    hint = (
        f" {coming.order.number} brings some on {coming.due_on:%a} {coming.due_on.day} {coming.due_on:%b}."
        if coming
        else ""
    )
    rest = f" Of this grade and thickness there are only {others}." if others else ""
    return Problem(
        f"No sheet {sheet.item.code} ({size}) lies on a shelf.{rest}{hint}",
        where=where,
        mend="Book the sheet in at goods-in, or count the shelf if one is there, and finish again.",
    )


def _others(item: Item) -> str:
    balances = (
        Balance.objects.filter(
            item__kind=Item.Kind.SHEET,
            item__grade=item.grade,
            item__thickness_mm=item.thickness_mm,
            location__kind=Location.Kind.SHELF,
            quantity__gte=1,
        )
        .select_related("item", "location")
        .order_by("location__walk_order")
    )
    return ", ".join(
        f"{format_quantity(one.quantity)} × {one.item.code} at {one.location.code}" for one in balances[:4]
    )
