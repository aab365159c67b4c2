"""The ledger's rows as the arithmetic of cost wants them: events in the order in which they happened."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from itertools import groupby
from operator import itemgetter

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from bom.items.models import Item
from inventory.stock.cost_models import ChargeShare, CostMethod, CostPoint, ItemCost, StatedCost
from inventory.stock.costs import (
    KEPT_PLACES,
    NOTHING,
    Basis,
    Books,
    Change,
    Event,
    Facts,
    Given,
    Heap,
    Layer,
    Method,
)
from inventory.stock.models import Location, Movement, Posting

OURS = (Location.Kind.SHELF, Location.Kind.WORK, Location.Kind.OUTSIDE)
"""Kinds of place whose contents belong to the workshop, also while they are away."""

_ROWS_AT_ONCE = 5000

# Posting, when, what it reverses, item, kind of place, quantity.
Row = tuple[int, datetime, int | None, int, str, Decimal]


@dataclass(frozen=True)
class Span:
    """From the first moment after a point (without one, from the first posting) up to, not including, `until`.

    `taken_back` are the postings whose reversal happened in it.
    """

    point: CostPoint | None
    until: datetime
    taken_back: frozenset[int] = frozenset()

    def of(self, path: str = "") -> Q:
        """Condition on postings, or on movements, which say when they happened; `path` leads there from other rows."""
        found = Q((f"{path}happened_at__lt", self.until))
        return found & Q((f"{path}happened_at__gte", self.point.until)) if self.point else found


def end_of(day: date | None) -> datetime:
    """The first moment after a day of the workshop's calendar; without one, after today."""
    following = (day or timezone.localdate()) + timedelta(days=1)
    return timezone.make_aware(datetime.combine(following, time()))


def span(until: datetime, *, since: datetime | None = None) -> Span:
    """The latest point that still holds and lies early enough, and what follows it up to `until`.

    Early enough: not after `since`, and not after a posting that is reversed in the span, because the reversal
    asks what that posting took.
    """
    latest = min(until, since) if since else until
    while True:
        point = valid_points().filter(until__lte=latest).order_by("-until").first()
        mirrors = _mirrors(Span(point, until))
        earliest = min(mirrors.values(), default=None)
        if point is None or earliest is None or earliest >= point.until:
            return Span(point, until, frozenset(mirrors))
        latest = earliest


def whole(until: datetime) -> Span:
    """From the first posting on."""
    return Span(None, until, frozenset(_mirrors(Span(None, until))))


def valid_points() -> QuerySet[CostPoint]:
    """Points before which nothing was written down later."""
    # Wrapped, so that the few latest rows are looked at by their number, not all earlier ones by their day.
    late = Posting.objects.annotate(at=Coalesce("happened_at", "happened_at")).filter(
        pk__gt=OuterRef("last_posting"), at__lt=OuterRef("until")
    )
    stated = StatedCost.objects.filter(
        pk__gt=OuterRef("last_stated"), posting__happened_at__lt=OuterRef("until")
    )
    shares = ChargeShare.objects.filter(
        pk__gt=OuterRef("last_share"), posting__happened_at__lt=OuterRef("until")
    )
    return CostPoint.objects.exclude(Exists(late)).exclude(Exists(stated)).exclude(Exists(shares))


def with_inputs(item_ids: Collection[int], over: Span) -> set[int]:
    """These items and all that was used up to make them in the span, level by level. Two queries at most."""
    conversion = Movement.objects.filter(over.of(), location__kind=Location.Kind.CONVERSION)
    made = conversion.filter(item_id__in=item_ids, quantity__lt=0).order_by().values("posting")
    used = conversion.filter(posting__in=made, quantity__gt=0).order_by()
    found, new = set(item_ids), set(used.values_list("item_id", flat=True).distinct())
    if new <= found:
        return found
    inputs = _inputs(conversion)
    while new - found:
        found |= new
        new = {one for item_id in found for one in inputs[item_id]}
    return found


def _inputs(conversion: QuerySet[Movement]) -> dict[int, set[int]]:
    """What was used up in the same postings as each item was made in. One query."""
    making = conversion.filter(quantity__lt=0).order_by().values("posting")
    made: dict[int, set[int]] = defaultdict(set)
    used: dict[int, set[int]] = defaultdict(set)
    rows = conversion.filter(posting__in=making).order_by()
    for posting_id, item_id, quantity in rows.values_list("posting_id", "item_id", "quantity"):
        (made if quantity < 0 else used)[posting_id].add(item_id)
    found: dict[int, set[int]] = defaultdict(set)
    for posting_id, items in made.items():
        for item_id in items:
            found[item_id] |= used[posting_id]
    return found


def books(over: Span, item_ids: Collection[int] | None) -> Books:
    """The heaps as the point kept them, with everything that is known of the items' costs in the span."""
    return Books(
        facts=facts(item_ids),
        given=given(over, item_ids),
        taken_back=over.taken_back,
        heaps=heaps(over.point, item_ids) if over.point else {},
    )


def facts(item_ids: Collection[int] | None) -> dict[int, Facts]:
    """Method, standard cost and mass by item. One query."""
    house = CostMethod.objects.filter(item=None).values("method")[:1]
    rows = Item.objects.order_by().annotate(
        method=Coalesce("cost_method__method", Subquery(house), Value(str(Method.AVERAGE)))
    )
    if item_ids is not None:
        rows = rows.filter(pk__in=item_ids)
    found = rows.values_list("pk", "method", "standard_cost", "mass_kg")
    return {pk: Facts(Method(method), cost, mass) for pk, method, cost, mass in found}


def given(over: Span, item_ids: Collection[int] | None) -> dict[tuple[int, int], Given]:
    """What is known of the cost of deliveries in the span, by posting and item. Two queries.

    A cost stated by a person goes before the price of the purchase line; charges come on top of either.
    """
    prices = Posting.objects.filter(over.of(), receipt__isnull=False).order_by()
    stated = StatedCost.objects.filter(over.of("posting__")).order_by()
    shares = ChargeShare.objects.filter(over.of("posting__")).order_by()
    if item_ids is not None:
        prices = prices.filter(Q(("receipt__line__item__in", item_ids)))
        stated, shares = stated.filter(item__in=item_ids), shares.filter(item__in=item_ids)
    said = stated.annotate(is_charge=Value(0)).values_list(
        "is_charge", "pk", "posting_id", "item_id", "unit_cost"
    )
    charged = shares.annotate(is_charge=Value(1)).values_list(
        "is_charge", "pk", "posting_id", "item_id", "amount"
    )
    found: dict[tuple[int, int], Given] = {}
    # Purchase lines stand in the room of buying, above this one; they are reached from the posting.
    for posting_id, item_id, price in prices.values_list(
        "pk", "receipt__line__item_id", "receipt__line__price"
    ):
        found[posting_id, item_id] = Given(price)
    # Costs stated first, the latest last; then the charges.
    for is_charge, _, posting_id, item_id, amount in sorted(said.union(charged, all=True)):
        before = found.get((posting_id, item_id), Given(None))
        if is_charge:
            found[posting_id, item_id] = replace(before, charges=before.charges + amount)
        else:
            found[posting_id, item_id] = replace(before, unit_cost=amount, basis=Basis.STATED)
    return found


def heaps(point: CostPoint, item_ids: Collection[int] | None) -> dict[int, Heap]:
    """The heaps that a point kept. One query."""
    costs = ItemCost.objects.filter(point=point).order_by("item", "layers__at", "layers__posting_id")
    if item_ids is not None:
        costs = costs.filter(item__in=item_ids)
    kept = ("item_id", "shelf", "work", "outside", "owed", "latest_cost_e8")
    layer = ("layers__at", "layers__posting_id", "layers__quantity", "layers__value_e8")
    found: dict[int, Heap] = {}
    for item_id, shelf, work, outside, owed, latest, at, *rest in costs.values_list(*kept, *layer):
        if item_id not in found:
            places = dict(zip(OURS, (shelf, work, outside), strict=True))
            found[item_id] = Heap([], places, owed, None if latest is None else from_e8(latest))
        if at is not None:
            posting_id, quantity, value = rest
            found[item_id].layers.append(Layer(at, posting_id, quantity, from_e8(value)))
    return found


def events(over: Span, item_ids: Collection[int] | None) -> Iterator[Event]:
    """The postings of the span in the order in which they happened. One query, read a piece at a time."""
    rows = Movement.objects.filter(over.of() if item_ids is not None else over.of("posting__"))
    if item_ids is not None:
        rows = rows.filter(item__in=item_ids)
    moment = "happened_at" if item_ids is not None else "posting__happened_at"
    ordered = rows.order_by(moment, "posting_id").values_list(
        "posting_id", "happened_at", "posting__reverses_id", "item_id", "location__kind", "quantity"
    )
    return in_events(ordered.iterator(chunk_size=_ROWS_AT_ONCE))


def in_events(rows: Iterable[Row]) -> Iterator[Event]:
    for posting_id, group in groupby(rows, key=itemgetter(0)):
        lines = list(group)
        items: dict[int, dict[str, Decimal]] = {}
        for _, _, _, item_id, kind, quantity in lines:
            items.setdefault(item_id, defaultdict(Decimal))[_valued_as(kind)] += quantity
        changes_of = [_change(item_id, items[item_id]) for item_id in sorted(items)]
        yield Event(posting_id, lines[0][1], changes_of, lines[0][2])


def _valued_as(kind: str) -> str:
    """What is on hold is ours still, and is valued as if it lay on its shelf."""
    return str(Location.Kind.SHELF) if kind == Location.Kind.HOLD else kind


def _change(item_id: int, by_kind: Mapping[str, Decimal]) -> Change:
    ours = {kind: quantity for kind, quantity in by_kind.items() if kind in OURS and quantity}
    net = sum(ours.values(), NOTHING)
    # The other side: the outside place that gave or took most of it.
    sides = [
        (-quantity if net > 0 else quantity, kind) for kind, quantity in by_kind.items() if kind not in OURS
    ]
    across = max(sides)[1] if sides and net else ""
    return Change(item_id, net, across, ours)


def _mirrors(over: Span) -> dict[int, datetime]:
    """The postings that are reversed in the span, and when they happened."""
    rows = Posting.objects.filter(over.of(), reverses__isnull=False).order_by()
    return dict(rows.values_list("reverses_id", "reverses__happened_at"))


def from_e8(value: int) -> Decimal:
    return Decimal(value).scaleb(-KEPT_PLACES)


def to_e8(value: Decimal) -> int:
    return int(value.scaleb(KEPT_PLACES))
