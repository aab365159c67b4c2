"""What people decide about reservations: keep, let go, give to another order, share out anew. All with a history."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import reserving
from inventory.stock.drafts import PLACES
from inventory.stock.models import Balance, Movement, Purpose, ReasonCode, Reservation, ReservationChange
from inventory.stock.queries import on_hand_balances
from inventory.stock.sharing import Claim, Given, changes, share_out
from inventory.stock.sums import summed

KIT = "KIT"
FIRST_NEEDED = "first needed, first served"


@dataclass(frozen=True)
class Need:
    """So much of an item (in its stock unit) is wanted for a purpose by a day, what is picked for it counted in."""

    item_id: int
    purpose_id: int
    quantity: Decimal
    needed_on: date | None


@transaction.atomic
def keep(
    *, item: Item, purpose: Purpose, quantity: Decimal, by: User | None, reason: str = ""
) -> Reservation:
    """Keep so much more of an item for an order, by hand.

    Raises:
        ProblemError: the order is closed, the quantity is not above zero, or more than is free.
    """
    _refuse_closed(purpose)
    kept = reserving.reserve(item=item, purpose=purpose, quantity=quantity, by=by)
    _write([Given(None, purpose.pk, quantity.quantize(PLACES))], item.pk, by, reason)
    return kept


@transaction.atomic
def let_go(
    *, item: Item, purpose: Purpose, quantity: Decimal | None, by: User | None, reason: str
) -> Decimal:
    """Let go of so much (or of all) that is kept for an order and not picked; it is free for others.

    Raises:
        ProblemError: no reason, or more than is kept and not picked.
    """
    _refuse_no_reason(reason)
    reserving.locked_items([item.pk])
    loose = _loose(item, purpose)
    gone = loose if quantity is None else quantity.quantize(PLACES)
    _refuse_more_than_loose(item, purpose, gone, loose)
    reserving.release(item=item, purpose=purpose, quantity=gone)
    _write([Given(purpose.pk, None, gone)], item.pk, by, reason)
    return gone


@transaction.atomic
def reassign(
    *,
    item: Item,
    source: Purpose,
    target: Purpose,
    quantity: Decimal,
    by: User | None,
    reason: str = "",
    reason_code: ReasonCode | None = None,
) -> Reservation:
    """Give what is kept for one order to another. Nobody else can take it in between.

    Raises:
        ProblemError: neither reason nor code, the same order twice, a closed one, or more than is kept for the
            first and not picked.
    """
    if reason_code is None:
        _refuse_no_reason(reason)
    _refuse_closed(target)
    if source.pk == target.pk:
        raise ProblemError(Problem(f"It is already kept for {source.code}", "to", "Choose another order."))
    reserving.locked_items([item.pk])
    quantity = quantity.quantize(PLACES)
    _refuse_more_than_loose(item, source, quantity, _loose(item, source))
    reserving.release(item=item, purpose=source, quantity=quantity)
    kept, is_new = Reservation.objects.get_or_create(
        item=item, purpose=target, defaults={"quantity": quantity, "made_by": by}
    )
    if not is_new:
        kept.quantity += quantity
        kept.save(update_fields=["quantity"])
    _write([Given(source.pk, target.pk, quantity)], item.pk, by, reason, reason_code)
    return kept


@transaction.atomic
def share_out_anew(*, needs: Sequence[Need], by: User | None, reason: str = FIRST_NEEDED) -> int:
    """Keep what is on hand of each item for those who need it first. Returns how many items changed hands.

    Only the purposes named take part; what is kept for others stays theirs, and what is picked stays picked.
    Six queries and the writing, however many needs.
    """
    by_item = _claims(needs)
    items = reserving.locked_items(by_item)
    have = _on_hand(items)
    kept = _kept(items)
    new: list[ReservationChange] = []
    shared: dict[int, dict[int, Decimal]] = {}
    for item_id, claims in by_item.items():
        before = kept[item_id]
        named = {claim.purpose_id for claim in claims}
        others = sum((quantity for key, quantity in before.items() if key not in named), Decimal(0))
        shared[item_id] = share_out(have[item_id] - others, claims)
        mine = {key: quantity for key, quantity in before.items() if key in named}
        new += _rows(changes(mine, shared[item_id]), item_id, by, reason)
    _write_kept(kept, shared, by)
    ReservationChange.objects.bulk_create(new, batch_size=500)
    return len({row.item_id for row in new})


def picked(item_ids: Collection[int], purpose_ids: Collection[int]) -> dict[tuple[int, int], Decimal]:
    """What lies in kits, by item and purpose. One query."""
    rows = (
        Movement.objects.filter(location__code=KIT, item_id__in=item_ids, posting__purpose_id__in=purpose_ids)
        .order_by()
        .values_list("item_id", "posting__purpose_id")
        .annotate(total=summed())
    )
    return {(item, purpose): max(total, Decimal(0)) for item, purpose, total in rows}


def _claims(needs: Sequence[Need]) -> dict[int, list[Claim]]:
    inside = picked({need.item_id for need in needs}, {need.purpose_id for need in needs})
    found: dict[int, list[Claim]] = defaultdict(list)
    for need in needs:
        here = inside.get((need.item_id, need.purpose_id), Decimal(0))
        wanted = max(need.quantity.quantize(PLACES), here)
        found[need.item_id].append(Claim(need.purpose_id, wanted, need.needed_on, here))
    return dict(found)


def _on_hand(item_ids: Iterable[int]) -> dict[int, Decimal]:
    """What is on hand now; the ledger waits until we have written who gets it."""
    rows: list[Balance] = list(
        on_hand_balances()
        .select_for_update(of=("self",))
        .filter(item_id__in=item_ids)
        .order_by("item_id", "location_id", "lot_id")
    )
    sums: dict[int, Decimal] = defaultdict(Decimal)
    for row in rows:
        sums[row.item_id] += row.quantity
    return sums


def _kept(item_ids: Iterable[int]) -> defaultdict[int, dict[int, Decimal]]:
    found: defaultdict[int, dict[int, Decimal]] = defaultdict(dict)
    for row in Reservation.objects.filter(item_id__in=item_ids):
        found[row.item_id][row.purpose_id] = row.quantity
    return found


def _write_kept(
    before: Mapping[int, Mapping[int, Decimal]], after: Mapping[int, Mapping[int, Decimal]], by: User | None
) -> None:
    """Write what is kept now, by item and purpose; what is not named in `after` is left alone."""
    changed = {
        (item_id, purpose_id): quantity
        for item_id, kept in after.items()
        for purpose_id, quantity in kept.items()
        if quantity != before[item_id].get(purpose_id, Decimal(0))
    }
    rows = {
        (row.item_id, row.purpose_id): row
        for row in Reservation.objects.filter(item_id__in={item_id for item_id, _ in changed})
        if (row.item_id, row.purpose_id) in changed
    }
    for key, row in rows.items():
        row.quantity = changed[key]
    Reservation.objects.filter(pk__in=[row.pk for row in rows.values() if row.quantity <= 0]).delete()
    Reservation.objects.bulk_update(
        [row for row in rows.values() if row.quantity > 0], ["quantity"], batch_size=500
    )
    Reservation.objects.bulk_create(
        [
            Reservation(item_id=item_id, purpose_id=purpose_id, quantity=quantity, made_by=by)
            for (item_id, purpose_id), quantity in changed.items()
            if quantity > 0 and (item_id, purpose_id) not in rows
        ],
        batch_size=500,
    )


def _loose(item: Item, purpose: Purpose) -> Decimal:
    """What is kept and not picked."""
    kept = Reservation.objects.filter(item=item, purpose=purpose).first()
    inside = picked([item.pk], [purpose.pk]).get((item.pk, purpose.pk), Decimal(0))
    return max(Decimal(0), (kept.quantity if kept else Decimal(0)) - inside)


def _rows(
    given: Iterable[Given],
    item_id: int,
    by: User | None,
    reason: str,
    code: ReasonCode | None = None,
) -> list[ReservationChange]:
    return [
        ReservationChange(
            item_id=item_id,
            source_id=one.source_id,
            target_id=one.target_id,
            quantity=one.quantity,
            reason=reason.strip(),
            reason_code=code,
            by=by,
        )
        for one in given
    ]


def _write(
    given: Iterable[Given], item_id: int, by: User | None, reason: str, code: ReasonCode | None = None
) -> None:
    ReservationChange.objects.bulk_create(_rows(given, item_id, by, reason, code))


def _refuse_closed(purpose: Purpose) -> None:
    if not purpose.is_open:
        raise ProblemError(
            Problem(f"Order {purpose.code} is closed; nothing is kept for it", "to", "Choose an open order.")
        )


def _refuse_no_reason(reason: str) -> None:
    if not reason.strip():
        raise ProblemError(Problem("A reason is missing", "reason", "Say why, for those who ask later."))


def _refuse_more_than_loose(item: Item, purpose: Purpose, quantity: Decimal, loose: Decimal) -> None:
    if not 0 < quantity <= loose:
        raise ProblemError(
            Problem(
                f"{loose.normalize():f} of {item.code} are kept for {purpose.code} and not picked yet; "
                f"{quantity.normalize():f} cannot be given up",
                "quantity",
                "Take no more than that, or put back what is picked first.",
            )
        )
