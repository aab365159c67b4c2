"""What of ours lies outside: by supplier and load, for how long, and whether loads and ledger agree."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from inventory.buying.measured import lead_days
from inventory.buying.models import Supplier
from inventory.buying.outside_models import OutsideClaim, OutsideLine, OutsidePiece
from inventory.stock.models import Balance

NOTHING = Decimal(0)


@dataclass(frozen=True)
class LoadView:
    """A load as the page shows it: calendar days away, working days, and how it stands."""

    line: OutsideLine
    pieces: tuple[OutsidePiece, ...]
    claims: tuple[OutsideClaim, ...]
    left_on: date
    days_away: int
    days_late: int

    @property
    def standing(self) -> str:
        """*away, confirmed, counted back in part, back* or *closed short*."""
        if self.line.is_closed:
            return "back" if self.line.complete_at else "closed short"
        if self.line.came_at:
            return "back in part"
        return "confirmed" if self.line.confirmed_on else "away"

    @property
    def still_out(self) -> tuple[OutsidePiece, ...]:
        return tuple(piece for piece in self.pieces if piece.outside > 0)


@dataclass(frozen=True)
class Place:
    """A supplier with what lies at his place, his loads the oldest first."""

    supplier: Supplier
    loads: tuple[LoadView, ...]

    @property
    def mass_kg(self) -> Decimal:
        return sum((view.line.mass_kg for view in self.loads), NOTHING)


@dataclass(frozen=True)
class Difference:
    """An item of which the ledger and the loads say different quantities at a supplier's place."""

    item_code: str
    place_code: str
    ledger: Decimal
    loads: Decimal


def loads(rows: QuerySet[OutsideLine], *, today: date | None = None) -> list[LoadView]:
    """Loads with their pieces and claims. Three queries."""
    today = today or timezone.localdate()
    claims = OutsideClaim.objects.select_related("by", "settled_by").order_by("at", "pk")
    pieces = OutsidePiece.objects.select_related("item", "lot", "came_to").order_by(
        "label", "item__code", "pk"
    )
    found = rows.select_related("order__supplier", "service__place", "posting").prefetch_related(
        Prefetch("pieces", pieces.prefetch_related(Prefetch("claims", claims)))
    )
    return [_view(line, today) for line in found]


def lying_outside(*, today: date | None = None) -> list[Place]:
    """Everything that lies with suppliers, by supplier, the load that left first at the head. Three queries."""
    rows = OutsideLine.objects.filter(is_closed=False).order_by("posting__happened_at", "pk")
    by_supplier: dict[Supplier, list[LoadView]] = defaultdict(list)
    for view in loads(rows, today=today):
        by_supplier[view.line.order.supplier].append(view)
    return [
        Place(supplier, tuple(views))
        for supplier, views in sorted(by_supplier.items(), key=lambda row: row[0].name)
    ]


def open_claims() -> QuerySet[OutsideClaim]:
    """What suppliers are asked to make good, the oldest first."""
    return (
        OutsideClaim.objects.filter(state=OutsideClaim.State.OPEN)
        .select_related("piece__item", "piece__line__order__supplier", "piece__line__service", "by")
        .order_by("at", "pk")
    )


def ledger_differences() -> list[Difference]:
    """Where the ledger's balance at a supplier's place is not what the loads say. Two queries.

    Goods that a station moved there before buying knew the supplier stand here too.
    """
    said: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    rows = OutsidePiece.objects.filter(line__is_closed=False)
    for code, spot, sent, back, lost in rows.values_list(
        "item__code", "line__service__place__code", "sent", "back", "written_off"
    ):
        said[code, spot] += sent - back - lost
    lies: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    balances = Balance.objects.filter(location__kind="outside").exclude(quantity=0)
    for code, spot, quantity in balances.values_list("item__code", "location__code", "quantity"):
        lies[code, spot] += quantity
    return [
        Difference(code, spot, lies[code, spot], said[code, spot])
        for code, spot in sorted({*said, *lies})
        if lies[code, spot] != said[code, spot]
    ]


def _view(line: OutsideLine, today: date) -> LoadView:
    pieces: Sequence[OutsidePiece] = list(line.pieces.all())
    left_on = timezone.localdate(line.posting.happened_at)
    end = timezone.localdate(line.complete_at) if line.complete_at else today
    return LoadView(
        line=line,
        pieces=tuple(pieces),
        claims=tuple(claim for piece in pieces for claim in piece.claims.all()),
        left_on=left_on,
        days_away=lead_days(left_on, end),
        days_late=0 if line.is_closed else max(0, (today - line.due_on).days),
    )
