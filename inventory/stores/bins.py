"""Fixings in two bins: work goes on from the second while the first, empty, asks for a full one.

A full bin is issued at once to the floor and is not counted piece by piece. The floor's place counts as on hand, so
that planning still sees what is in the bins; assembly uses it up as far as the ledger knows of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.ledger import Line
from inventory.stock.models import Balance, Location, Posting
from inventory.stock.queries import place
from inventory.stores import handling
from inventory.stores.models import BinSignal, HandlingRule

FLOOR = "FLOOR"
"""The place of the bins at work."""


@dataclass(frozen=True)
class BinRow:
    """An item kept in bins: what a full one holds, what lies on shelves and at work, and its open signal."""

    rule: HandlingRule
    on_shelves: Decimal
    at_work: Decimal
    shelf: str
    signal: BinSignal | None

    @property
    def item(self) -> Item:
        return self.rule.item

    @property
    def bins_left(self) -> int:
        """How many full bins the shelves can still give."""
        return int(self.on_shelves // self.rule.bin_quantity)


def bin_items() -> set[int]:
    """Ids of the items kept in two bins. One query."""
    return set(HandlingRule.objects.filter(bin_quantity__gt=0).values_list("item_id", flat=True))


def bin_quantity(item: Item) -> Decimal:
    """What a full bin of the item holds.

    Raises:
        ProblemError: it is not kept in bins.
    """
    rule = HandlingRule.objects.filter(item=item, bin_quantity__gt=0).first()
    if rule is None:
        raise ProblemError(
            Problem(
                f"{item.code} is not kept in two bins",
                item.code,
                "Set what a full bin holds on the item's page, or pick it.",
            )
        )
    return rule.bin_quantity


def raise_signal(*, item: Item, by: User | None, raised_at: datetime | None = None) -> BinSignal:
    """A bin is empty. Told twice, it is the same signal until a full bin has come.

    Raises:
        ProblemError: the item is not kept in bins.
    """
    bin_quantity(item)
    try:
        with transaction.atomic():
            signal, _ = BinSignal.objects.get_or_create(
                item=item,
                answered_by=None,
                defaults={"raised_by": by, "raised_at": raised_at or timezone.now()},
            )
    except IntegrityError:
        # A colleague told it at the same moment.
        signal = BinSignal.objects.get(item=item, answered_by=None)
    return signal


@transaction.atomic
def issue_bin(
    *,
    item: Item,
    by: User | None,
    key: str,
    source: Location | None = None,
    happened_at: datetime | None = None,
) -> Posting:
    """A full bin goes from the shelf to work at once, and the item's open signal is answered.

    Without a source it is filled from the shelves in walking order.

    Raises:
        ProblemError: the item is not kept in bins, or the shelves cannot fill one.
    """
    done: Posting | None = Posting.objects.filter(key=key).first()
    if done is not None:
        return done
    wanted = bin_quantity(item)
    posting = ledger.post(
        key=key,
        kind=Posting.Kind.ISSUE,
        lines=_filled(item, wanted, place(FLOOR), source),
        by=by,
        reason="full bin",
        happened_at=happened_at,
    )
    signal = BinSignal.objects.select_for_update().filter(item=item, answered_by=None).first()
    if signal is not None:
        signal.answered_by = posting
        signal.save(update_fields=["answered_by"])
    return posting


@transaction.atomic
def undo_bin(*, posting: Posting, by: User | None, reason: str) -> Posting:
    """Take a bin back: it lies on the shelf again, and the signal it answered is open again."""
    mirror = handling.take_back(posting=posting, by=by, reason=reason)
    signal = BinSignal.objects.filter(answered_by=posting).first()
    if signal is not None and not BinSignal.objects.filter(item=signal.item_id, answered_by=None).exists():
        signal.answered_by = None
        signal.save(update_fields=["answered_by"])
    return mirror


def is_bin(posting: Posting) -> bool:
    """Whether the posting brought a full bin to work."""
    return (
        posting.kind == Posting.Kind.ISSUE
        and posting.movements.filter(location__code=FLOOR, quantity__gt=0).exists()
    )


def bin_rows() -> list[BinRow]:
    """Items kept in bins, those with an empty bin first, longest waiting before the others. Three queries."""
    rules = list(
        HandlingRule.objects.filter(bin_quantity__gt=0).select_related("item").order_by("item__code")
    )
    ids = {rule.item_id for rule in rules}
    signals = {
        signal.item_id: signal
        for signal in BinSignal.objects.filter(answered_by=None, item__in=ids).select_related("raised_by")
    }
    shelves: dict[int, Decimal] = {}
    at_work: dict[int, Decimal] = {}
    first: dict[int, str] = {}
    for balance in _lying(ids):
        where = at_work if balance.location.code == FLOOR else shelves
        where[balance.item_id] = where.get(balance.item_id, Decimal(0)) + balance.quantity
        if where is shelves:
            first.setdefault(balance.item_id, balance.location.code)
    rows = [
        BinRow(
            rule,
            shelves.get(rule.item_id, Decimal(0)),
            at_work.get(rule.item_id, Decimal(0)),
            first.get(rule.item_id, ""),
            signals.get(rule.item_id),
        )
        for rule in rules
    ]
    return sorted(
        rows, key=lambda row: (row.signal is None, row.signal.pk if row.signal else 0, row.item.code)
    )


def _lying(item_ids: set[int]) -> list[Balance]:
    rows = Balance.objects.filter(item__in=item_ids, quantity__gt=0).select_related("location")
    here = rows.filter(location__kind=Location.Kind.SHELF) | rows.filter(location__code=FLOOR)
    return list(here.order_by("location__walk_order", "location__code"))


def _filled(item: Item, wanted: Decimal, floor: Location, source: Location | None) -> list[Line]:
    shelves = Balance.objects.filter(item=item, location__kind=Location.Kind.SHELF, quantity__gt=0)
    if source is not None:
        shelves = shelves.filter(location=source)
    lines: list[Line] = []
    left = wanted
    for row in shelves.order_by("location__walk_order", "location__code", "lot__received_on", "lot_id"):
        taken = min(left, row.quantity)
        if taken > 0:
            lines += [
                Line(item.pk, row.location_id, -taken, row.lot_id),
                Line(item.pk, floor.pk, taken, row.lot_id),
            ]
            left -= taken
    if left > 0:
        raise ProblemError(
            Problem(
                f"The shelves hold {(wanted - left).normalize():f} of {item.code}; a full bin is "
                f"{wanted.normalize():f}",
                item.code,
                "Buy more. What there is can be moved to the floor by hand meanwhile.",
            )
        )
    return lines
