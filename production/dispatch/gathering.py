"""What an as-built record is made of: parts by lot and number (from the ledger, and read off them), loads and powder
batches, who did which work, what was measured, papers by number. Gathered once, when the trailer leaves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import datetime
from decimal import Decimal

from django.db.models import Count
from django.utils import timezone

from bom.items.models import Item
from inventory.buying.models import Receipt, SupplierItem
from inventory.stock.models import Location, Lot, Movement, Posting
from inventory.stock.sums import summed
from production.assembly.models import FittedNumber
from production.coating.models import LoadLine, PowderLine
from production.dispatch.models import BuiltRow, CheckResult, Origin, Source
from production.dispatch.plating import plate_of
from production.dispatch.shop_rows import certificate_rows, powder_rows, weld_rows
from production.orders.models import Order
from production.orders.rating_models import RatingRecord
from production.works.models import WorksOperation

Kind = BuiltRow.Kind
_KINDS = {
    Lot.Kind.LOT: Source.Kind.LOT,
    Lot.Kind.OFFCUT: Source.Kind.LOT,
    Lot.Kind.CAST: Source.Kind.CAST,
    Lot.Kind.SERIAL: Source.Kind.SERIAL,
}
_IN_THE_HOUSE = (Location.Kind.SHELF, Location.Kind.WORK, Location.Kind.OUTSIDE, Location.Kind.HOLD)


def gathered(order: Order) -> list[BuiltRow]:
    """Every row of the record that is not written yet; sources are made where there are none."""
    return [
        *_parts(order),
        *_coatings(order),
        *_people(order),
        *weld_rows(order),
        *powder_rows(order),
        *_measured(order),
        *_papers(order),
        *certificate_rows(order),
    ]


def _parts(order: Order) -> list[BuiltRow]:
    """Numbers read off parts, then what the ledger says was used up for this order, by item and lot: what left the
    house's places and did not come back to them. What was read off is not counted twice."""
    there = set(
        BuiltRow.objects.filter(order=order, source__isnull=False).values_list("source_id", flat=True)
    )
    read = _read_off(order, there)
    rows = _used_up(order)
    sources = _sources_of_lots({lot for _, lot, _ in rows if lot})
    told = there | {row.source_id for row in read}
    left: defaultdict[int, Decimal] = defaultdict(Decimal, _read_counts(order))
    for item_id, lot_id, quantity in rows:
        if (source := sources.get(lot_id)) and source.pk in told:
            left[item_id] -= quantity
    found = list(read)
    for item_id, lot_id, quantity in rows:
        source = sources.get(lot_id)
        if source is not None and source.pk in told:
            continue
        again = min(quantity, max(left[item_id], Decimal(0)))
        left[item_id] -= again
        if quantity > again:
            found.append(
                BuiltRow(
                    order=order, kind=Kind.PART, item_id=item_id, source=source, quantity=quantity - again
                )
            )
    return found


def _used_up(order: Order) -> list[tuple[int, int | None, Decimal]]:
    """Item, lot and quantity of what the ledger says went into the trailer."""
    if not order.purpose_id:
        return []
    # The postings first: a database without statistics of a new ledger would join all of it to itself.
    postings = list(Posting.objects.filter(purpose=order.purpose_id).values_list("pk", flat=True))
    moved = (
        Movement.objects.filter(posting_id__in=postings, location__kind__in=_IN_THE_HOUSE)
        .exclude(item_id=order.model.item_id)
        .order_by("item__code", "lot__code")
        .values_list("item_id", "lot_id")
        .annotate(total=summed())
    )
    return [
        (item, lot, Decimal(-total).quantize(Decimal("0.0001"))) for item, lot, total in moved if total < 0
    ]


def _read_counts(order: Order) -> dict[int, Decimal]:
    """How many numbers stand as read, by item."""
    rows = FittedNumber.objects.filter(order=order, taken_back_at__isnull=True).order_by()
    return {item: Decimal(many) for item, many in rows.values_list("item_id").annotate(many=Count("pk"))}


def _read_off(order: Order, there: Collection[int]) -> list[BuiltRow]:
    """A row for each number read off; those of one batch together."""
    numbers = FittedNumber.objects.filter(order=order, taken_back_at__isnull=True).select_related("item")
    by_source: dict[int, BuiltRow] = {}
    for one in numbers.order_by("pk"):
        lot = Lot.objects.filter(item=one.item, code__iexact=one.code).first()
        source, _ = Source.objects.get_or_create(
            kind=Source.Kind.LOT if one.is_shared else Source.Kind.SERIAL,
            code=one.code,
            item=one.item,
            defaults={"lot": lot, "supplier_id": _supplier(one.item)},
        )
        row = by_source.get(source.pk)
        if row is None:
            by_source[source.pk] = BuiltRow(
                order=order, kind=Kind.PART, item=one.item, source=source, quantity=1, by=one.by, at=one.at
            )
        elif row.quantity is not None:
            row.quantity += 1
    return [row for pk, row in by_source.items() if pk not in there]


def _sources_of_lots(lot_ids: Iterable[int]) -> dict[int | None, Source]:
    """The sources of these lots, made where there are none yet, each linked to its cast of steel."""
    lots = Lot.objects.filter(pk__in=set(lot_ids)).select_related("item")
    suppliers = _suppliers(lots)
    found: dict[int | None, Source] = {}
    for lot in lots:
        source, _ = Source.objects.get_or_create(
            kind=_KINDS[Lot.Kind(lot.kind)],
            code=lot.code,
            item=lot.item,
            defaults={"lot": lot, "supplier_id": suppliers.get(lot.pk)},
        )
        found[lot.pk] = source
        if lot.cast and source.kind != Source.Kind.CAST:
            cast, _ = Source.objects.get_or_create(kind=Source.Kind.CAST, code=lot.cast, item=None)
            Origin.objects.get_or_create(source=source, made_from=cast)
    return found


def _suppliers(lots: Iterable[Lot]) -> dict[int, int]:
    """Who delivered each lot: by its goods-in, else the item's preferred supplier."""
    by_lot = {lot.pk: lot.item_id for lot in lots}
    usual = dict(
        SupplierItem.objects.filter(item__in=set(by_lot.values()), is_preferred=True).values_list(
            "item_id", "supplier_id"
        )
    )
    came = dict(
        Receipt.objects.filter(posting__movements__lot__in=by_lot).values_list(
            "posting__movements__lot_id", "line__order__supplier_id"
        )
    )
    pairs = {lot: came.get(lot) or usual.get(item) for lot, item in by_lot.items()}
    return {lot: supplier for lot, supplier in pairs.items() if supplier}


def _supplier(item: Item) -> int | None:
    return (
        SupplierItem.objects.filter(item=item, is_preferred=True)
        .values_list("supplier_id", flat=True)
        .first()
    )


def _coatings(order: Order) -> list[BuiltRow]:
    loads = LoadLine.objects.filter(order=order, load__came_back_at__isnull=False).select_related("load")
    rows = [
        _coated(
            order,
            Source.Kind.LOAD,
            line.load.number,
            line.vents_checked_by_id,
            line.load.came_back_at,
            line.item_id,
        )
        for line in loads
    ]
    batches = PowderLine.objects.filter(order=order, batch__finished_at__isnull=False).select_related("batch")
    rows += [
        _coated(order, Source.Kind.POWDER, line.batch.number, line.batch.by_id, line.batch.finished_at, None)
        for line in batches
    ]
    return rows


def _coated(
    order: Order, kind: str, code: str, by: int | None, at: datetime | None, item: int | None
) -> BuiltRow:
    source, _ = Source.objects.get_or_create(kind=kind, code=code, item=None)
    return BuiltRow(order=order, kind=Kind.COATED, source=source, item_id=item, by_id=by, at=at)


def _people(order: Order) -> list[BuiltRow]:
    done = WorksOperation.objects.filter(
        works_order__order=order, state=WorksOperation.State.DONE, by__isnull=False
    ).select_related("process")
    return [
        BuiltRow(order=order, kind=Kind.PERSON, words=one.process.name, by_id=one.by_id, at=one.finished_at)
        for one in done.order_by("sequence")
    ]


def _measured(order: Order) -> list[BuiltRow]:
    results = CheckResult.objects.filter(inspection__order=order).select_related("clearance__by")
    rows = []
    for one in results.order_by("pk"):
        said = f"{one.words}: {'good' if one.is_good else 'not good'}"
        said += f", {one.value.normalize():f} {one.unit}" if one.value is not None else ""
        said += f", cleared: {one.clearance.reason}" if hasattr(one, "clearance") else ""
        rows.append(
            BuiltRow(
                order=order,
                kind=Kind.MEASURED,
                words=said[:300],
                quantity=one.value,
                by_id=one.by_id,
                at=one.at,
            )
        )
    return rows


def _papers(order: Order) -> list[BuiltRow]:
    words = []
    if plate := plate_of(order):
        words.append(f"Plate: VIN {plate.vin}")
    if order.bill_id:
        words.append(f"Frozen bill {order.bill}")
    rating = RatingRecord.objects.filter(order=order).order_by("-number").first()
    if rating is not None:
        words.append(f"Rating {rating.number}, {rating.get_overall_display()}")
    words += [
        f"Number of {one.item} not read: {one.reason}"
        for one in order.numbers_not_read.select_related("item")
    ]
    return [BuiltRow(order=order, kind=Kind.DOCUMENT, words=text[:300], at=timezone.now()) for text in words]
