"""What may be cut up: whole sheets that lie here, sheets that can be bought, offcuts with their true outline."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import Count, Sum

from bom.items.models import Item
from inventory.levels.queries import offers
from inventory.stock.models import Balance, Location, Lot
from inventory.stock.queries import ON_HAND_KINDS
from production.cutting.clamping import clamps_of_the_laser
from production.cutting.metal import true_metal
from production.cutting.models import CutBatch, CutSheet
from production.cutting.nesting.job import Clamp, SheetStock
from production.cutting.resting import polygon_area_mm2

# A size of sheet that does not lie here must save so much of the price to be taken before one that does: waiting
# for it and finding it a place cost too (common practice, no source).
NOT_HERE = 1.25

Metal = tuple[str, Decimal]
"""Grade and thickness in mm: what is nested together."""


@dataclass(frozen=True)
class Raw:
    """A kind of sheet, or one offcut (then `lot_id`), that may be cut up. `price` is what one costs to buy.

    The stock's own price also weighs whether it lies here, and is 0 for an offcut.
    """

    item_id: int
    lot_id: int | None
    stock: SheetStock
    is_here: bool = True
    price: float = 0.0

    @property
    def area_mm2(self) -> float:
        stock = self.stock
        if not stock.outline:
            return stock.length_mm * stock.width_mm
        return polygon_area_mm2(stock.outline) - sum(map(polygon_area_mm2, stock.holes))


def read_raw() -> dict[Metal, list[Raw]]:
    """What may be cut up, by grade and thickness: sheets that lie here and are spoken for by no begun batch, as many
    more as wanted at a higher weight, and offcuts, which are paid for.

    Seven queries.
    """
    items = list(Item.objects.filter(kind=Item.Kind.SHEET, is_active=True))
    sold = offers([item.pk for item in items])
    here = _whole_sheets_here()
    clamps = clamps_of_the_laser()
    by_pk = {item.pk: item for item in items}
    found: dict[Metal, list[Raw]] = defaultdict(list)
    for item in items:
        price = sold[item.pk].price if item.pk in sold else item.standard_cost
        found[_metal(item)] += _sheets(item, float(price), here.get(item.pk, 0), clamps)
    for lot in _offcuts():
        sheet = by_pk.get(lot.item_id)
        stock = _offcut_stock(sheet, lot, clamps) if sheet is not None else None
        if sheet is not None and stock is not None:
            found[_metal(sheet)].append(Raw(sheet.pk, lot.pk, stock))
    return dict(found)


def sheet_areas(raws: Mapping[Metal, Sequence[Raw]]) -> dict[Metal, float]:
    """Area of the largest whole sheet of each metal, in mm²."""
    return {metal: max(raw.area_mm2 for raw in kinds) for metal, kinds in raws.items() if kinds}


def raws_left(raws: Sequence[Raw], taken: Iterable[Raw]) -> list[Raw]:
    """The sheets still to be had when those were taken, one for each time they are named."""
    used: dict[str, int] = defaultdict(int)
    for raw in taken:
        used[raw.stock.code] += 1
    left = []
    for raw in raws:
        count = raw.stock.count
        if count is None:
            left.append(raw)
        elif count > used[raw.stock.code]:
            left.append(replace(raw, stock=replace(raw.stock, count=count - used[raw.stock.code])))
    return left


def _metal(item: Item) -> Metal:
    return item.grade, item.thickness_mm or Decimal(0)


def _sheets(item: Item, price: float, here: int, clamps: tuple[Clamp, ...]) -> list[Raw]:
    length, width = float(item.length_mm or 0), float(item.width_mm or 0)
    # A sheet without a price is worth its area, so that a large one is not taken for a small one's price.
    worth = price or length * width / 1e6
    bought = SheetStock(f"{item.code}, to buy", length, width, None, worth * NOT_HERE, clamps=clamps)
    lying = replace(bought, code=item.code, count=here, price=worth)
    kinds = [Raw(item.pk, None, lying, True, worth)] if here > 0 else []
    return [*kinds, Raw(item.pk, None, bought, False, worth)]


def _offcut_stock(item: Item, lot: Lot, clamps: tuple[Clamp, ...]) -> SheetStock | None:
    """The offcut as it may be cut up; none where its size is not known. Without an outline it is a rectangle."""
    code = f"{item.code} offcut {lot.code}"
    metal = true_metal(lot.outline, lot.holes)
    if metal.outline:
        length, width = max(x for x, _ in metal.outline), max(y for _, y in metal.outline)
        return SheetStock(code, length, width, 1, 0.0, metal.outline, metal.holes, clamps)
    if not lot.length_mm or not lot.width_mm:
        return None
    return SheetStock(code, float(lot.length_mm), float(lot.width_mm), 1, 0.0, clamps=clamps)


def _whole_sheets_here() -> dict[int, int]:
    """By item how many whole sheets lie on shelves, less those that begun batches still cut. Two queries."""
    rows = (
        Balance.objects.filter(
            item__kind=Item.Kind.SHEET, location__kind=Location.Kind.SHELF, quantity__gte=1
        )
        .exclude(lot__kind=Lot.Kind.OFFCUT)
        .values_list("item_id", "quantity")
    )
    here: dict[int, int] = defaultdict(int)
    for item_id, quantity in rows:
        here[item_id] += int(quantity)
    waiting = CutSheet.objects.filter(
        state__in=[CutSheet.State.WAITING, CutSheet.State.BEGUN],
        batch__state=CutBatch.State.BEGUN,
    ).exclude(lot__kind=Lot.Kind.OFFCUT)
    for item_id, count in waiting.values_list("item_id").annotate(count=Count("id")).order_by():
        here[item_id] -= count
    return dict(here)


def _offcuts() -> Iterable[Lot]:
    here = Lot.objects.filter(kind=Lot.Kind.OFFCUT, balances__location__kind__in=ON_HAND_KINDS)
    waiting = here.filter(cut_sheets__state__in=["waiting", "begun"], cut_sheets__batch__state="begun")
    return (
        here.exclude(pk__in=waiting.values("pk"))
        .annotate(total=Sum("balances__quantity"))
        .filter(total__gt=0)
        .order_by("code")
    )
