"""Claims on the supplier of outside work: what is lost with him, what came back spoilt, and how he answers."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.buying.outside import Goods, claimed, close_when_empty, locked_line, move
from inventory.buying.outside_models import OutsideClaim, OutsideLine, OutsidePiece
from inventory.stock.drafts import PLACES
from inventory.stock.models import Location, Posting
from inventory.stock.queries import place

PENNY = Decimal("0.01")
SCRAP = "SCRAP"

Kind, State = OutsideClaim.Kind, OutsideClaim.State


@transaction.atomic
def claim_missing(*, key: str, piece: OutsidePiece, reason: str, by: User | None) -> OutsideClaim:
    """What of a piece lies outside and is not claimed yet is claimed as lost.

    Raises:
        ProblemError: no reason, or nothing of it is outside unclaimed.
    """
    line = locked_line(piece.line)
    before = OutsideClaim.objects.filter(key=key).first()
    if before is not None:
        return before
    piece = line.pieces.select_related("item").get(pk=piece.pk)
    quantity = piece.outside - claimed(piece, Kind.MISSING)
    if quantity <= 0:
        raise ProblemError(
            Problem(f"Nothing of {piece.item.code} is outside and unclaimed", str(line), "Look at the load.")
        )
    return OutsideClaim.objects.create(
        piece=piece,
        key=key,
        kind=Kind.MISSING,
        quantity=quantity,
        reason=_reason(reason, line),
        by=by,
        at=timezone.now(),
    )


@transaction.atomic
def claim_damaged(
    *, key: str, piece: OutsidePiece, quantity: Decimal, reason: str, is_scrap: bool, by: User | None
) -> OutsideClaim:
    """So many of a piece came back spoilt. With `is_scrap` they are scrapped from where they were put.

    Raises:
        ProblemError: no reason, more than came back unclaimed, or (to be scrapped) they no longer lie there.
    """
    line = locked_line(piece.line)
    before = OutsideClaim.objects.filter(key=key).first()
    if before is not None:
        return before
    piece = line.pieces.select_related("item", "came_to").get(pk=piece.pk)
    most = piece.back - claimed(piece, Kind.DAMAGED, *State)
    if not quantity.is_finite() or not 0 < quantity.quantize(PLACES) <= most:
        raise ProblemError(
            Problem(
                f"{quantity} of {piece.item.code} were written down as spoilt; {format_quantity(most)} came back "
                "and are not claimed yet",
                str(line),
                "Write no more than that.",
            )
        )
    words = _reason(reason, line)
    goods = [Goods(piece.item_id, quantity.quantize(PLACES), piece.label, piece.lot_id)]
    posting = (
        _scrap(goods, piece.came_to, f"claim:{key}", f"load {line.reference}: {words}", by)
        if is_scrap
        else None
    )
    return OutsideClaim.objects.create(
        piece=piece,
        key=key,
        kind=Kind.DAMAGED,
        quantity=quantity.quantize(PLACES),
        reason=words,
        posting=posting,
        by=by,
        at=timezone.now(),
    )


@transaction.atomic
def settle_claim(
    *, claim: OutsideClaim, is_made_good: bool, credit: Decimal, answer: str, by: User | None
) -> OutsideClaim:
    """The supplier makes it good or refuses. What is missing and has not turned up is written off to scrap.

    A claim that is settled stays as it is.

    Raises:
        ProblemError: the credit is below zero, or is given although the claim is refused.
    """
    line = locked_line(claim.piece.line)
    claim = OutsideClaim.objects.select_related("piece__item").get(pk=claim.pk)
    if claim.state != State.OPEN:
        return claim
    if not credit.is_finite() or credit < 0 or (credit and not is_made_good):
        raise ProblemError(
            Problem("The credit does not fit", str(line), "Write nothing, or a sum where he makes it good.")
        )
    if claim.kind == Kind.MISSING:
        claim.posting = _write_off(line, claim, by)
    claim.state = State.MADE_GOOD if is_made_good else State.REFUSED
    claim.credit, claim.answer = credit.quantize(PENNY), answer.strip()[:200]
    claim.settled_by, claim.settled_at = by, timezone.now()
    claim.save()
    close_when_empty(line, timezone.now())
    return claim


def _write_off(line: OutsideLine, claim: OutsideClaim, by: User | None) -> Posting:
    piece, lost = claim.piece, claim.quantity - claim.found
    posting = _scrap(
        [Goods(piece.item_id, lost, piece.label, piece.lot_id)],
        line.service.place,
        f"claim:{claim.pk}:off",
        f"load {line.reference}: lost at {line.service.supplier}"[:200],
        by,
    )
    piece.written_off += lost
    piece.save(update_fields=["written_off"])
    return posting


def _scrap(
    goods: Sequence[Goods], source: Location | None, key: str, reason: str, by: User | None
) -> Posting:
    assert source is not None  # what came back came somewhere
    return move(
        key=key,
        goods=goods,
        source=source,
        target=place(SCRAP),
        by=by,
        reason=reason[:200],
        kind=Posting.Kind.SCRAP,
    )


def _reason(reason: str, line: OutsideLine) -> str:
    if not reason.strip():
        raise ProblemError(Problem("A claim needs a reason", str(line), "Say what is wrong with the goods."))
    return reason.strip()[:200]
