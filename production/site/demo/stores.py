"""Places where things lie, and how fast the order book uses them up."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from django.db.models import Count

from inventory.stock.models import Location
from production.orders.models import FrozenTotal, Order
from production.site.demo.recipes import Thing

_SHELF_LETTERS = "ABCDEF"
_SHELVES_A_ROW = 6
# Which row of shelves a group lies in.
_ROWS = {
    "fixings": "A",
    "lights": "B",
    "plates and labels": "B",
    "rollers": "C",
    "hull supports": "C",
    "running gear": "D",
    "couplings": "D",
    "wheels": "E",
    "axles": "E",
    "powder": "D",
    "sheets": "F",
    "sections": "F",
}
# code, name, kind, floor
_PLACES: tuple[tuple[str, str, str, int | None], ...] = (
    ("SUPPLIER", "suppliers", "supplier", None),
    ("CUT", "cut parts rack", "work", 0),
    ("WELD", "welded work", "work", 0),
    ("KIT", "kits", "work", 0),
    ("READY", "finished trailers", "work", 0),
    ("GALV", "at the galvaniser", "outside", 0),
    ("CONV", "made into something else", "conversion", None),
    ("SCRAP", "scrap", "scrap", 0),
    ("CUSTOMER", "customers", "customer", 0),
    ("COUNT", "count differences", "count", None),
    ("FLOOR", "bins at work", "work", 0),
    ("HOLD", "quality hold", "hold", 0),
    ("DOOR", "goods-in bench", "shelf", 0),
)


def add_places() -> dict[str, Location]:
    shelves = [
        Location(code=f"{letter}{number}", name=f"shelf {letter}{number}", kind="shelf", walk_order=order)
        for order, (letter, number) in enumerate(
            ((letter, number) for letter in _SHELF_LETTERS for number in range(1, _SHELVES_A_ROW + 1)),
            start=1,
        )
    ]
    others = [
        Location(
            code=code,
            name=name,
            kind=kind,
            floor=None if floor is None else Decimal(floor),
            walk_order=1000 + number,
            is_goods_in=code == "DOOR",
        )
        for number, (code, name, kind, floor) in enumerate(_PLACES)
    ]
    return {row.code: row for row in Location.objects.bulk_create([*shelves, *others])}


def shelf_of_each(things: Sequence[Thing], places: Mapping[str, Location]) -> dict[str, Location]:
    """A shelf for each stocked thing: its group's row, filled from the first shelf to the last."""
    in_row: dict[str, list[Thing]] = defaultdict(list)
    for thing in things:
        if thing.is_stocked:
            in_row[_ROWS[thing.group]].append(thing)
    return {
        thing.code: places[f"{row}{1 + number * _SHELVES_A_ROW // len(lying)}"]
        for row, lying in in_row.items()
        for number, thing in enumerate(lying)
    }


def weekly_use(weeks: int) -> dict[str, Decimal]:
    """How many of each item the open orders need in a week, if their work is spread evenly."""
    orders = dict(
        Order.objects.filter(state__in=Order.OPEN)
        .values_list("bill_id")
        .annotate(count=Count("pk"))
        .values_list("bill_id", "count")
    )
    needed: dict[str, Decimal] = defaultdict(Decimal)
    totals: Iterable[tuple[int, str, Decimal]] = FrozenTotal.objects.filter(
        bill_id__in=list(orders)
    ).values_list("bill_id", "item__code", "quantity")
    for bill_id, code, quantity in totals:
        needed[code] += quantity * orders[bill_id]
    return {code: quantity / weeks for code, quantity in needed.items()}
