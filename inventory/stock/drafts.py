"""What is asked of the ledger, and the checks that need no lock."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from bom.items.models import Item
from bom.kernel.errors import Problem
from bom.people.models import User
from inventory.stock.models import Location, Lot, Posting, Purpose, ReasonCode

PLACES = Decimal("0.0001")
# Sixteen digits with four after the point, as the columns hold; one digit is left for sums.
MOST = Decimal(10) ** 11

# The same number of places, for sums worked out by the database.
DECIMALS = 4

Spot = tuple[int, int, int | None]
"""Item, location and lot: what one balance is kept for."""


@dataclass(frozen=True)
class Line:
    """So much of an item (in its stock unit) into (plus) or out of (minus) a location."""

    item_id: int
    location_id: int
    quantity: Decimal
    lot_id: int | None = None

    @property
    def spot(self) -> Spot:
        return (self.item_id, self.location_id, self.lot_id)

    def rounded(self) -> Line:
        """The same line with its quantity rounded, half to even, to the four places that the ledger keeps."""
        if not self.quantity.is_finite() or abs(self.quantity) >= MOST:
            return self
        return Line(self.item_id, self.location_id, self.quantity.quantize(PLACES), self.lot_id)


@dataclass(frozen=True)
class Draft:
    """A posting asked for. `happened_at` is aware; none means now."""

    key: str
    kind: str
    lines: Sequence[Line]
    by: User | None = None
    happened_at: datetime | None = None
    reason: str = ""
    purpose: Purpose | None = None
    reverses: Posting | None = None
    reason_code: ReasonCode | None = None

    def rounded_lines(self) -> list[Line]:
        return [line.rounded() for line in self.lines]


@dataclass(frozen=True)
class Known:
    """The items, locations and lots that the lines name, by their ids."""

    items: Mapping[int, Item]
    locations: Mapping[int, Location]
    lots: Mapping[int, Lot]

    @classmethod
    def to(cls, lines: Sequence[Line]) -> Known:
        """Fetched in three queries (two where no line names a lot)."""
        lot_ids = {line.lot_id for line in lines if line.lot_id is not None}
        return cls(
            items=Item.objects.only("code").in_bulk({line.item_id for line in lines}),
            locations=Location.objects.in_bulk({line.location_id for line in lines}),
            lots=Lot.objects.only("code", "kind", "item_id").in_bulk(lot_ids) if lot_ids else {},
        )

    def item(self, item_id: int) -> str:
        return self.items[item_id].code

    def place(self, location_id: int) -> str:
        return self.locations[location_id].code


def by_spot(lines: Sequence[Line]) -> dict[Spot, Decimal]:
    """The net change of each balance."""
    changes: dict[Spot, Decimal] = defaultdict(Decimal)
    for line in lines:
        changes[line.spot] += line.quantity
    return dict(changes)


def shape_problems(draft: Draft, known: Known) -> list[Problem]:
    """What is wrong with a draft, whatever lies on the shelves."""
    where = f"posting {draft.key}" if draft.key else ""
    lines = draft.rounded_lines()
    problems = [*_head_problems(draft, where), *_line_problems(lines, known, where)]
    return problems or list(_unbalanced(lines, known, where))


def _head_problems(draft: Draft, where: str) -> Iterator[Problem]:
    if not draft.key or len(draft.key) > 120:
        yield Problem("A posting needs a key of 1 to 120 characters", where, "Name the event it stands for.")
    if draft.kind not in Posting.Kind.values:
        yield Problem(f"{draft.kind!r} is not a kind of posting", where, "")
    if len(draft.reason) > 200:
        yield Problem("The reason is longer than 200 characters", where, "Shorten it.")
    if draft.happened_at is not None and draft.happened_at.tzinfo is None:
        yield Problem("The time it happened has no time zone", where, "Give an aware time.")
    if not draft.lines:
        yield Problem("A posting needs at least two movements", where, "Say what moved from where to where.")


def _line_problems(lines: Sequence[Line], known: Known, where: str) -> Iterator[Problem]:
    for line in lines:
        if line.item_id not in known.items:
            yield Problem(f"There is no item with the number {line.item_id}", where, "Choose an item.")
            continue
        if line.location_id not in known.locations:
            yield Problem(
                f"There is no location with the number {line.location_id}", where, "Choose a location."
            )
        code = known.item(line.item_id)
        if not line.quantity.is_finite() or abs(line.quantity) >= MOST:
            yield Problem(
                f"{line.quantity} of {code} is not a quantity", where, "Write a number below 10^11."
            )
        elif line.quantity == 0:
            yield Problem(f"The quantity of {code} is zero", where, "Write a quantity, at least 0.0001.")
        if line.lot_id is not None:
            yield from _lot_problems(line.lot_id, line.item_id, known, where)


def _lot_problems(lot_id: int, item_id: int, known: Known, where: str) -> Iterator[Problem]:
    lot = known.lots.get(lot_id)
    if lot is None:
        yield Problem(f"There is no lot with the number {lot_id}", where, "Choose a lot.")
    elif lot.item_id != item_id:
        yield Problem(
            f"Lot {lot.code} is not a lot of {known.item(item_id)}", where, "Choose a lot of that item."
        )


def _unbalanced(lines: Sequence[Line], known: Known, where: str) -> Iterator[Problem]:
    totals: dict[int, Decimal] = defaultdict(Decimal)
    for line in lines:
        totals[line.item_id] += line.quantity
    for item_id, total in totals.items():
        if total:
            yield Problem(
                f"The movements of {known.item(item_id)} add up to {total.normalize():f}, not to zero",
                where,
                "Every quantity leaves one place and arrives at another.",
            )
