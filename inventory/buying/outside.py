"""Outside work bought like goods: our goods go to a supplier, are worked on, and are counted back.

Sending makes a purchase order with one line of work (`OutsideLine`) and moves the goods to the supplier's place in
the ledger, in one transaction. What is not back lies there until it turns up or its claim is settled.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.buying.models import PurchaseOrder
from inventory.buying.ordering import close_when_complete, new_order
from inventory.buying.outside_models import OutsideClaim, OutsideLine, OutsidePiece, OutsideService
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.models import Location, Posting

PENNY = Decimal("0.01")
NOTHING = Decimal(0)
COUNTED_SHORT = "counted back short"

Kind, State = OutsideClaim.Kind, OutsideClaim.State


@dataclass(frozen=True)
class Goods:
    """So much of an item (stock unit) that goes along, for an order (`label`) or for the shelf."""

    item_id: int
    quantity: Decimal
    label: str = ""
    lot_id: int | None = None


@dataclass(frozen=True)
class Terms:
    """The price of a kilogram and the least mass charged, where the load has terms of its own."""

    price_per_kg: Decimal
    minimum_kg: Decimal


@dataclass(frozen=True)
class Load:
    """What goes away together: its number, the goods, their mass, and the day it is wanted back."""

    reference: str
    goods: Sequence[Goods]
    mass_kg: Decimal
    back_on: date


def charge(*, mass_kg: Decimal, price_per_kg: Decimal, minimum_kg: Decimal) -> Decimal:
    """What a load costs, to the penny: its mass, at least the minimum, at the price of a kilogram."""
    return (max(mass_kg, minimum_kg) * price_per_kg).quantize(PENNY, ROUND_HALF_UP)


def service_for(work: str) -> OutsideService | None:
    """Who does this work for us; the preferred supplier of several."""
    services = OutsideService.objects.filter(work=work).select_related("supplier", "place")
    return services.order_by("-is_preferred", "pk").first()


def line_of(reference: str, work: str) -> OutsideLine | None:
    """The line of a load, if it was sent by an order."""
    return OutsideLine.objects.filter(reference=reference, service__work=work).order_by("-pk").first()


@transaction.atomic
def send(
    *,
    key: str,
    service: OutsideService,
    load: Load,
    source: Location,
    by: User | None,
    terms: Terms | None = None,
    is_counted_at_station: bool = False,
    happened_at: datetime | None = None,
) -> OutsideLine:
    """The goods leave `source` for the supplier's place, and the work is ordered. A repeat of the key sends once.

    No limit of money is asked for here: what is to be galvanised was decided with the orders it belongs to.

    Raises:
        ProblemError: nothing goes along, the mass is not above zero, the day has passed, the supplier's place is not
            one for outside work, or too little lies at `source`.
    """
    before = OutsideLine.objects.filter(posting__key=key).first()
    if before is not None:
        return before
    left_at = happened_at or timezone.now()
    _refuse_unsendable(service, load, timezone.localdate(left_at))
    posting = move(
        key=key,
        goods=load.goods,
        source=source,
        target=service.place,
        by=by,
        reason=f"load {load.reference}",
        happened_at=happened_at,
    )
    line = _ordered(service, load, terms or Terms(service.price_per_kg, service.minimum_kg), posting, by)
    line.is_counted_at_station = is_counted_at_station
    line.save()
    OutsidePiece.objects.bulk_create(
        OutsidePiece(line=line, item_id=one.item_id, lot_id=one.lot_id, label=one.label, sent=one.quantity)
        for one in load.goods
    )
    return line


def _ordered(
    service: OutsideService, load: Load, terms: Terms, posting: Posting, by: User | None
) -> OutsideLine:
    """A released order to the supplier and its line, not saved yet."""
    order = new_order(supplier=service.supplier, by=by)
    order.state, order.released_by = PurchaseOrder.State.RELEASED, by
    order.ordered_on = timezone.localdate(posting.happened_at)
    order.save(update_fields=["state", "released_by", "ordered_on"])
    return OutsideLine(
        order=order,
        position=1,
        service=service,
        reference=load.reference,
        mass_kg=load.mass_kg,
        price_per_kg=terms.price_per_kg,
        minimum_kg=terms.minimum_kg,
        value=charge(mass_kg=load.mass_kg, price_per_kg=terms.price_per_kg, minimum_kg=terms.minimum_kg),
        posting=posting,
        wanted_on=load.back_on,
        due_on=load.back_on,
    )


@transaction.atomic
def bring_back(
    *,
    key: str,
    line: OutsideLine,
    back: Mapping[int, Decimal],
    target: Location,
    by: User | None,
    rest_is_missing: bool = False,
    happened_at: datetime | None = None,
) -> OutsideLine:
    """So much of each piece (by its id) is back and lies at `target`. A repeat of the key changes nothing.

    `rest_is_missing` says the load was counted whole: what is not back is claimed from the supplier. What turns up
    later closes the claim it stands on.

    Raises:
        ProblemError: nothing is back although nothing is claimed either, a piece is not of this load, or more came
            than lies outside.
    """
    line = locked_line(line)
    if Posting.objects.filter(key=key).exists():
        return line
    pieces = {piece.pk: piece for piece in line.pieces.select_related("item").order_by("pk")}
    counted = {pk: quantity.quantize(PLACES) for pk, quantity in back.items() if quantity}
    _refuse_more_than_outside(line, pieces, counted)
    at = happened_at or timezone.now()
    if counted:
        _book_back(line, [(pieces[pk], quantity) for pk, quantity in counted.items()], key, target, by, at)
        line.came_at = line.came_at or at
    elif not rest_is_missing:
        raise ProblemError(Problem("Nothing was counted back", str(line), "Write how many of each came."))
    if rest_is_missing:
        _claim_missing(pieces.values(), key, by, at)
    close_when_empty(line, at)
    return line


def _book_back(
    line: OutsideLine,
    counted: Sequence[tuple[OutsidePiece, Decimal]],
    key: str,
    target: Location,
    by: User | None,
    at: datetime,
) -> None:
    move(
        key=key,
        goods=[Goods(piece.item_id, quantity, piece.label, piece.lot_id) for piece, quantity in counted],
        source=line.service.place,
        target=target,
        by=by,
        reason=f"load {line.reference}",
        happened_at=at,
    )
    for piece, quantity in counted:
        piece.back += quantity
        piece.came_to = target
    OutsidePiece.objects.bulk_update([piece for piece, _ in counted], ["back", "came_to"])
    _find(dict(counted), at, by)


def _find(counted: Mapping[OutsidePiece, Decimal], at: datetime, by: User | None) -> None:
    """What has turned up is no longer claimed, the oldest claim first."""
    left = {piece.pk: quantity for piece, quantity in counted.items()}
    claims = OutsideClaim.objects.filter(piece__in=left, kind=Kind.MISSING, state=State.OPEN)
    for claim in claims.order_by("at", "pk"):
        found = min(left[claim.piece_id], claim.quantity - claim.found)
        claim.found += found
        left[claim.piece_id] -= found
        if claim.found == claim.quantity:
            claim.state, claim.settled_by, claim.settled_at = State.FOUND, by, at
        claim.save(update_fields=["found", "state", "settled_by", "settled_at"])


def _claim_missing(pieces: Iterable[OutsidePiece], key: str, by: User | None, at: datetime) -> None:
    OutsideClaim.objects.bulk_create(
        OutsideClaim(
            piece=piece,
            key=f"{key}:{piece.pk}",
            kind=Kind.MISSING,
            quantity=quantity,
            reason=COUNTED_SHORT,
            by=by,
            at=at,
        )
        for piece in pieces
        if (quantity := piece.outside - claimed(piece, Kind.MISSING)) > 0
    )


def move(
    *,
    key: str,
    goods: Sequence[Goods],
    source: Location,
    target: Location,
    by: User | None,
    reason: str,
    happened_at: datetime | None = None,
    kind: Posting.Kind = Posting.Kind.MOVE,
) -> Posting:
    """One posting for what goes between two places, by item and lot. A repeat of the key moves once."""
    totals: defaultdict[tuple[int, int | None], Decimal] = defaultdict(Decimal)
    for one in goods:
        totals[one.item_id, one.lot_id] += one.quantity
    lines = [
        line
        for (item_id, lot_id), total in sorted(totals.items(), key=lambda row: (row[0][0], row[0][1] or 0))
        if total
        for line in (
            ledger.Line(item_id, source.pk, -total, lot_id),
            ledger.Line(item_id, target.pk, total, lot_id),
        )
    ]
    return ledger.post(key=key, kind=kind, lines=lines, by=by, reason=reason, happened_at=happened_at)


def close_when_empty(line: OutsideLine, at: datetime) -> None:
    """Close the line, and its order with it, once nothing of it lies outside."""
    pieces = list(line.pieces.all())
    if all(piece.outside <= 0 for piece in pieces):
        line.is_closed = True
        if line.complete_at is None and all(piece.back == piece.sent for piece in pieces):
            line.complete_at = at
    line.save(update_fields=["came_at", "complete_at", "is_closed"])
    if line.order.state == PurchaseOrder.State.RELEASED:
        close_when_complete(line.order)


def claimed(piece: OutsidePiece, kind: OutsideClaim.Kind, *states: OutsideClaim.State) -> Decimal:
    """How many of a piece are claimed and not found, in these states (in open ones, where none are named)."""
    claims = piece.claims.filter(kind=kind, state__in=states or (State.OPEN,))
    return sum((claim.quantity - claim.found for claim in claims), NOTHING)


def locked_line(line: OutsideLine) -> OutsideLine:
    """The line, with its order locked until the transaction ends."""
    order = PurchaseOrder.objects.select_for_update().get(pk=line.order_id)
    found = OutsideLine.objects.select_related("service__place", "service__supplier").get(pk=line.pk)
    found.order = order
    return found


def _refuse_unsendable(service: OutsideService, load: Load, today: date) -> None:
    where = f"load {load.reference}"
    if not load.goods or any(one.quantity <= 0 for one in load.goods):
        raise ProblemError(Problem("Nothing goes along", where, "Choose what is sent and how many."))
    if not math.isfinite(load.mass_kg) or load.mass_kg <= 0:
        raise ProblemError(
            Problem(f"{load.mass_kg} kg cannot be sent", where, "Weigh it, or add its masses up.")
        )
    if load.back_on < today:
        raise ProblemError(
            Problem("It would be back before it leaves", where, "Choose a day after it leaves.")
        )
    if service.place.kind != Location.Kind.OUTSIDE:
        raise ProblemError(
            Problem(
                f"{service.place.code} is not a place for outside work",
                str(service),
                "Choose the supplier's place in his terms.",
            )
        )


def _refuse_more_than_outside(
    line: OutsideLine, pieces: Mapping[int, OutsidePiece], counted: Mapping[int, Decimal]
) -> None:
    if set(counted) - set(pieces):
        raise ProblemError(Problem("A piece is not of this load", str(line), "Load the page again."))
    wrong = [
        Problem(
            f"{format_quantity(quantity)} of {pieces[pk].item.code} were counted back and "
            f"{format_quantity(pieces[pk].outside)} lie outside",
            str(line),
            "Count again; write a number between nothing and what lies outside.",
        )
        for pk, quantity in counted.items()
        if not 0 <= quantity <= pieces[pk].outside
    ]
    if wrong:
        raise ProblemError(*wrong)
