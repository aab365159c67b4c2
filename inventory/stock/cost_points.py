"""Keeping the worth of all stock at the ends of months and of yesterday, so that no page begins at the beginning.

The only writer of cost points. They are a cache: nothing is lost with them.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max, Min
from django.utils import timezone

from inventory.stock import cost_rows
from inventory.stock.cost_models import ChargeShare, CostLayer, CostPoint, ItemCost, StatedCost
from inventory.stock.cost_rows import end_of, to_e8
from inventory.stock.costs import NOTHING, Books, Event, Heap
from inventory.stock.models import Location, Posting

_ROWS_AT_ONCE = 1000

# What a point says of an item: where it lies, what is owed, the latest cost, and its layers.
Said = tuple[object, ...]


def keep_points() -> int:
    """Add the points that are missing: each month's end, and yesterday's. Returns how many were written.

    Points that no longer hold are thrown away first; older days but month ends go when a later day is kept.
    """
    with transaction.atomic():
        CostPoint.objects.exclude(pk__in=cost_rows.valid_points().values("pk")).delete()
        over = cost_rows.span(end_of(timezone.localdate() - timedelta(days=1)))
        written = _write(over, _wanted(over))
        _drop_days_but_month_ends()
        return written


def rebuild_points() -> list[str]:
    """Work every kept point out anew from the whole ledger. Returns a sentence for each figure that was wrong."""
    with transaction.atomic():
        kept = {point.until: _said(cost_rows.heaps(point, None)) for point in CostPoint.objects.all()}
        CostPoint.objects.all().delete()
        wanted = sorted(kept)
        if wanted:
            _write(cost_rows.whole(wanted[-1]), wanted)
        new = {point.until: _said(cost_rows.heaps(point, None)) for point in CostPoint.objects.all()}
        return [
            f"item {item_id} at {until:%Y-%m-%d}: kept {kept[until].get(item_id)}, is {said.get(item_id)}"
            for until, said in new.items()
            for item_id in sorted({*said, *kept[until]})
            if said.get(item_id) != kept[until].get(item_id)
        ]


def forget_points() -> None:
    """After a change that values the past anew, such as another method."""
    CostPoint.objects.all().delete()


def _write(over: cost_rows.Span, wanted: list[datetime]) -> int:
    """Lead the books over the span once, and write them down at each of these moments."""
    marks = _marks()
    books = cost_rows.books(over, None)
    left = [until for until in wanted if over.point is None or until > over.point.until]
    for events in _cut(cost_rows.events(over, None), left):
        for _ in books.lead(events):
            pass
        _write_point(left.pop(0), marks, books)
    return len(wanted)


def _cut(events: Iterator[Event], moments: list[datetime]) -> Iterator[list[Event]]:
    """The events before each moment, moment by moment."""
    pending: list[Event] = []
    waiting = list(moments)
    for event in events:
        while waiting and event.at >= waiting[0]:
            waiting.pop(0)
            yield pending
            pending = []
        if not waiting:
            return
        pending.append(event)
    for _ in waiting:
        yield pending
        pending = []


def _wanted(over: cost_rows.Span) -> list[datetime]:
    first = over.point.until if over.point else Posting.objects.aggregate(at=Min("happened_at"))["at"]
    if first is None or first >= over.until:
        return []
    return [*_month_ends(timezone.localdate(first), over.until), over.until]


def _month_ends(first: date, until: datetime) -> Iterator[datetime]:
    """The first moments of months after `first` and before `until`."""
    year, month = first.year, first.month
    while True:
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        moment = end_of(date(year, month, 1) - timedelta(days=1))
        if moment >= until:
            return
        yield moment


def _drop_days_but_month_ends() -> None:
    points = list(CostPoint.objects.order_by("until"))
    days = [point.pk for point in points[:-1] if timezone.localtime(point.until).day != 1]
    CostPoint.objects.filter(pk__in=days).delete()


def _marks() -> dict[str, int]:
    """The last rows there are now: what comes after them may belong before a point."""
    return {
        "last_posting": Posting.objects.aggregate(last=Max("pk"))["last"] or 0,
        "last_stated": StatedCost.objects.aggregate(last=Max("pk"))["last"] or 0,
        "last_share": ChargeShare.objects.aggregate(last=Max("pk"))["last"] or 0,
    }


def _write_point(until: datetime, marks: dict[str, int], books: Books) -> None:
    point = CostPoint.objects.create(until=until, **marks)
    filled = books.heaps
    costs = ItemCost.objects.bulk_create(
        [_item_cost(point, item_id, heap) for item_id, heap in sorted(filled.items())],
        batch_size=_ROWS_AT_ONCE,
    )
    CostLayer.objects.bulk_create(
        [
            CostLayer(
                item_cost=cost,
                posting_id=layer.posting_id,
                at=layer.at,
                quantity=layer.quantity,
                value_e8=to_e8(layer.value),
            )
            for cost in costs
            for layer in filled[cost.item_id].layers
        ],
        batch_size=_ROWS_AT_ONCE,
    )


def _item_cost(point: CostPoint, item_id: int, heap: Heap) -> ItemCost:
    return ItemCost(
        point=point,
        item_id=item_id,
        shelf=heap.by_kind.get(Location.Kind.SHELF, NOTHING),
        work=heap.by_kind.get(Location.Kind.WORK, NOTHING),
        outside=heap.by_kind.get(Location.Kind.OUTSIDE, NOTHING),
        owed=heap.owed,
        latest_cost_e8=None if heap.latest_cost is None else to_e8(heap.latest_cost),
    )


def _said(heaps: dict[int, Heap]) -> dict[int, Said]:
    return {
        item_id: (
            tuple(sorted((kind, quantity) for kind, quantity in heap.by_kind.items() if quantity)),
            heap.owed,
            heap.latest_cost,
            tuple((layer.posting_id, layer.quantity, layer.value) for layer in heap.layers),
        )
        for item_id, heap in heaps.items()
    }
