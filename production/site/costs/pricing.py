"""What costs are worked out with on a day: prices of what is bought, rates, yields of the nests, the lorry."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Count, Subquery, Sum, Value

from bom.costing.costs import OutsideRate, Price, Prices, Rate, Yield
from bom.items.models import Item
from bom.templatetags.workshop import day_text
from production.coating.models import GalvanisingLoad, LoadLine
from production.cutting.models import CutBatch, CutSheet
from production.orders.freezing import GALVANISE
from production.shop.models import CostAllowance, LorryDay, WorkCentreRate
from production.shop.rates import allowances_on, rates_on

BOUGHT = (Item.Kind.BOUGHT, Item.Kind.SHEET, Item.Kind.SECTION)
NESTS_USED = (CutBatch.State.RELEASED, CutBatch.State.BEGUN, CutBatch.State.DONE)
LOADS_USED = (GalvanisingLoad.State.RELEASED, GalvanisingLoad.State.AWAY, GalvanisingLoad.State.BACK)


def prices_on(day: date, items: Iterable[Item]) -> Prices:
    """Everything money is worked out with for these items. Five queries however many there are."""
    wanted = list(items)
    allowances = allowances_on(day)
    return Prices(
        prices=bought_prices(wanted),
        rates={process: _rate(one) for process, one in rates_on(day).items()},
        outside=_outside(allowances),
        yields=_yields(wanted, allowances),
        scrap_share=allowances.scrap_share if allowances else Decimal(0),
        scrap_source=str(allowances) if allowances else "",
    )


def bought_prices(items: Collection[Item]) -> dict[str, Price]:
    """By item code: what stock of it cost by its method, else what the usual supplier asks, else the standard cost
    of the item's card. One query."""
    found: dict[int, Price] = {}
    rows = Item.objects.filter(pk__in=[item.pk for item in items], kind__in=BOUGHT).order_by(
        "pk", "-suppliers__is_preferred", "suppliers__price"
    )
    named: Any = rows.values_list(
        "pk",
        "known_unit_cost__cost",
        "known_unit_cost__basis",
        "known_unit_cost__on",
        "suppliers__price",
        "suppliers__supplier__name",
    )
    for item, cost, basis, on, price, supplier in named:
        if cost is not None:
            found.setdefault(item, Price(cost, f"stock at the end of {day_text(on)}, {basis}"))
        elif price is not None:
            found.setdefault(item, Price(price, f"price of {supplier}"))
    return {
        item.code: found.get(item.pk) or Price(item.standard_cost, "standard cost of the item's card")
        for item in items
    }


def _rate(rate: WorkCentreRate) -> Rate:
    since = f"rate from {day_text(rate.from_day)}" if rate.pk else "its hourly rate; no dated rate is written"
    return Rate(
        rate.labour_per_hour,
        rate.overhead_per_hour,
        f"{rate.work_centre.name}, {since}",
        rate.work_centre.process.name,
    )


def _outside(allowances: CostAllowance | None) -> dict[str, OutsideRate]:
    """The galvaniser's price a kg, his minimum shared over a load as heavy as ours are."""
    lines = (
        LoadLine.objects.filter(load__state__in=LOADS_USED).order_by().annotate(all=Value(1)).values("all")
    )
    lorry = (
        LorryDay.objects.annotate(
            sent_kg=Subquery(lines.annotate(kg=Sum("mass_kg")).values("kg")),
            loads=Subquery(lines.annotate(n=Count("load", distinct=True)).values("n")),
        )
        .order_by("weekday")
        .first()
    )
    if lorry is None:
        return {}
    load_kg, words = _load_kg(lorry.sent_kg, lorry.loads, allowances)
    source = f"lorry on {lorry.get_weekday_display()}; {words}"
    return {GALVANISE: OutsideRate(lorry.price_per_kg, Decimal(lorry.minimum_charge_kg), load_kg, source)}


def _load_kg(
    sent_kg: Decimal | None, loads: int | None, allowances: CostAllowance | None
) -> tuple[Decimal, str]:
    """A load as heavy as ours are, and how that is known."""
    if sent_kg and loads:
        return sent_kg / loads, f"mean of {loads} loads planned or sent"
    if allowances is not None:
        return Decimal(allowances.usual_load_kg), str(allowances)
    return Decimal(0), "load not known, minimum charge left out"


def _yields(items: Iterable[Item], allowances: CostAllowance | None) -> dict[str, Yield]:
    """By raw item: what the nests really made of this grade and thickness, else the stated yield."""
    nests = _nested()
    found: dict[str, Yield] = {}
    for item in items:
        if item.kind == Item.Kind.SHEET:
            known = nests.get((item.grade, item.thickness_mm))
            stated = Yield(allowances.sheet_yield, f"stated yield, {allowances}") if allowances else None
            if one := known or stated:
                found[item.code] = one
        elif item.kind == Item.Kind.SECTION and allowances is not None:
            found[item.code] = Yield(allowances.bar_yield, f"stated yield, {allowances}")
    return found


def _nested() -> dict[tuple[str, Decimal | None], Yield]:
    """Part area over sheet area, up to where the sheet is used: the rest goes back to the rack as an offcut."""
    parts: dict[tuple[str, Decimal | None], Decimal] = defaultdict(Decimal)
    taken: dict[tuple[str, Decimal | None], Decimal] = defaultdict(Decimal)
    sheets: dict[tuple[str, Decimal | None], int] = defaultdict(int)
    rows = CutSheet.objects.filter(batch__state__in=NESTS_USED).exclude(state=CutSheet.State.DROPPED)
    for grade, thickness, use, length, width, used in rows.values_list(
        "batch__grade", "batch__thickness_mm", "use", "length_mm", "width_mm", "used_length_mm"
    ):
        key = (grade, thickness)
        parts[key] += use * length * width
        taken[key] += used * width
        sheets[key] += 1
    return {
        key: Yield(min(parts[key] / taken[key], Decimal(1)), f"yield of {sheets[key]} sheets nested")
        for key in parts
        if parts[key] > 0 and taken[key] > 0
    }
