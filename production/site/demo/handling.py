"""How stores handle things in the demonstration: bins at work, inspection, substitutes; and some of it under way.

What is under way is done by the verbs that people use: goods at the door, a few on hold, an empty bin, one sheet
counted and approved, one that waits for approval, one being counted.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from bom.items.models import Item
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Balance, Location, Posting
from inventory.stores import bins, count_sheets, holding, reasons, rules, stocktaking
from inventory.stores.models import CountLine, CountSheet
from inventory.stores.stocktaking import Finding

# code → what a full bin holds
BINS = {"WASH-M6": 100, "WASH-M8": 100, "NUT-M6": 50, "NUT-M8": 50}
EMPTY = ("NUT-M8",)
INSPECTED = ("axles", "couplings")
# wanted, taken instead, both ways, what to mind
SUBSTITUTES = (
    ("KEEL-160-RED", "KEEL-160-BLACK", True, "colour agreed with the customer"),
    ("SIDE-120-BLUE", "SIDE-120-BLACK", False, "colour agreed with the customer"),
    ("SIDE-120-YELLOW", "SIDE-120-BLACK", False, "colour agreed with the customer"),
    ("BOLT-M8x25", "BOLT-M8x40", False, "only where 15 mm more thread does not touch the tyre"),
)
AT_THE_DOOR = (("BOLT-M8x40", 200), ("KEEL-160-BLACK", 24), ("BOLT-M10x30", 100))
COUNTED_PLACE, WAITING_PLACE, BEGUN_PLACE = "D2", "A2", "C2"


def add_handling(items: Mapping[str, Item], by: User) -> None:
    """Bins, inspection and substitutes, as far as their items exist."""
    for code, quantity in BINS.items():
        if code in items:
            rules.set_handling(
                item=items[code], handling=rules.Handling(bin_quantity=Decimal(quantity)), by=by
            )
    for item in items.values():
        if item.group in INSPECTED:
            rules.set_handling(item=item, handling=rules.Handling(is_inspected=True), by=by)
    for wanted, instead, both_ways, note in SUBSTITUTES:
        if wanted in items and instead in items:
            rules.add_substitute(
                item=items[wanted], instead=items[instead], note=note, both_ways=both_ways, by=by
            )


def begin_handling(
    items: Mapping[str, Item], places: Mapping[str, Location], storekeeper: User, manager: User
) -> None:
    """Goods at the door, some on hold, bins at work, and three count sheets."""
    _bring_to_the_door(items, places, storekeeper)
    _set_apart(storekeeper)
    _fill_bins(items, storekeeper)
    _count(places, storekeeper, manager)


def _bring_to_the_door(items: Mapping[str, Item], places: Mapping[str, Location], by: User) -> None:
    lines = []
    for code, quantity in AT_THE_DOOR:
        if code in items:
            pk = items[code].pk
            lines += [
                ledger.Line(pk, places["SUPPLIER"].pk, Decimal(-quantity)),
                ledger.Line(pk, places["DOOR"].pk, Decimal(quantity)),
            ]
    if lines:
        ledger.post(
            key="demo:door", kind=Posting.Kind.RECEIPT, lines=lines, by=by, reason="delivery note seen"
        )


def _set_apart(by: User) -> None:
    """Two pieces of the first coupling and some of a roller, each for a reason."""
    for group, code, remark in (
        ("couplings", "papers", "type plate cannot be read"),
        ("rollers", "size", "bore too tight for the pin"),
    ):
        heap = _first_heap(group)
        if heap is not None:
            holding.put_on_hold(
                item=heap.item,
                quantity=min(Decimal(2), heap.quantity),
                source=heap.location,
                by=by,
                key=f"stores:demo-hold-{group}",
                code=reasons.reason_codes("hold").get(code=code),
                remark=remark,
                lot=heap.lot,
            )


def _first_heap(group: str) -> Balance | None:
    """The fullest heap of a group on a shelf."""
    rows = Balance.objects.filter(item__group=group, location__kind=Location.Kind.SHELF, quantity__gte=1)
    return rows.select_related("item", "location", "lot").order_by("-quantity", "pk").first()


def _fill_bins(items: Mapping[str, Item], by: User) -> None:
    for row in bins.bin_rows():
        if row.bins_left:
            bins.issue_bin(item=row.item, by=by, key=f"stores:demo-bin-{row.item.code}")
    for code in EMPTY:
        if code in items:
            bins.raise_signal(item=items[code], by=by)


def _count(places: Mapping[str, Location], storekeeper: User, manager: User) -> None:
    done = _sheet(places[COUNTED_PLACE], storekeeper, (0, 0, -1, 0))
    if done is not None:
        stocktaking.approve(sheet=done, by=manager, reason="weekly count")
    _sheet(places[WAITING_PLACE], storekeeper, (0, -3, 0, 5, 0))
    count_sheets.begin_place(location=places[BEGUN_PLACE], by=storekeeper, key="stores:demo-count-begun")


def _sheet(place: Location, by: User, out: Sequence[int]) -> CountSheet | None:
    """A sheet counted and handed in; `out` says how far each line in turn is out. None where nothing lies there."""
    sheet = count_sheets.begin_place(location=place, by=by, key=f"stores:demo-count-{place.code}")
    lines = list(sheet.lines.select_related("item"))
    if not lines:
        return None
    found = [Finding(line, _seen(line, out[number % len(out)])) for number, line in enumerate(lines)]
    for turn in range(2):
        stocktaking.record(sheet=sheet, findings=found, by=by, key=f"{sheet.key}:{turn}")
    return stocktaking.hand_in(sheet=sheet, by=by)


def _seen(line: CountLine, out: int) -> Decimal:
    lies = Balance.objects.get(item=line.item_id, location=line.location_id, lot=line.lot_id).quantity
    return max(Decimal(0), lies + (out if line.lot_id is None else 0))
