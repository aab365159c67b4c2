"""Count sheets: what is to be counted, begun for a place, for chosen items, or by whoever counts at the shelf."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.drafts import Spot
from inventory.stock.models import Balance, Location, Lot
from inventory.stock.queries import ON_HAND_KINDS
from inventory.stores import count_classes
from inventory.stores.models import CountLine, CountSheet

State = CountSheet.State
COUNTED_KINDS = (*ON_HAND_KINDS, Location.Kind.HOLD)
"""Kinds of places that can be counted."""


@transaction.atomic
def begin_place(*, location: Location, by: User | None, key: str, note: str = "") -> CountSheet:
    """A sheet for everything that the ledger has at one place, lot by lot.

    Raises:
        ProblemError: the place is not in the house, or is on an open sheet already.
    """
    if (done := CountSheet.objects.filter(key=key).first()) is not None:
        return done
    if location.kind not in COUNTED_KINDS:
        raise ProblemError(
            Problem(f"{location.code} is no place in the house", "place", "Choose a shelf, a rack or hold.")
        )
    Location.objects.select_for_update().get(pk=location.pk)
    other = CountSheet.objects.filter(location=location, state__in=[State.COUNTING, State.COUNTED]).first()
    if other is not None:
        raise ProblemError(
            Problem(
                f"{location.code} is on {other.number} already, which {other.get_state_display()}",
                "place",
                "Finish that sheet, or cancel it.",
            )
        )
    balances = Balance.objects.filter(location=location).exclude(quantity=0)
    return _sheet(list(balances), key, by, note, location)


@transaction.atomic
def begin_items(*, items: Sequence[Item], by: User | None, key: str, note: str = "") -> CountSheet:
    """A sheet for chosen items, at every place where they lie; one that lies nowhere is looked for where it last lay.

    Raises:
        ProblemError: nothing was chosen, or an item never lay anywhere.
    """
    if (done := CountSheet.objects.filter(key=key).first()) is not None:
        return done
    if not items:
        raise ProblemError(Problem("Nothing was chosen to be counted", "items", "Tick the items to count."))
    ids = {item.pk for item in items}
    rows = list(Balance.objects.filter(item__in=ids, location__kind__in=COUNTED_KINDS).exclude(quantity=0))
    nowhere = ids - {row.item_id for row in rows}
    last: dict[int, Balance] = {}
    empty = Balance.objects.filter(item__in=nowhere, location__kind=Location.Kind.SHELF, lot=None)
    for row in empty.order_by("pk"):
        last[row.item_id] = row
    lost = [item.code for item in items if item.pk in nowhere and item.pk not in last]
    if lost:
        raise ProblemError(
            Problem(
                f"{', '.join(lost[:5])} never lay on a shelf",
                "items",
                "Count it on its own page, where you find it.",
            )
        )
    return _sheet([*rows, *last.values()], key, by, note, None)


@transaction.atomic
def begin_bare(*, by: User | None, key: str, note: str = "") -> CountSheet:
    """A sheet without lines, for what somebody counts as he comes by it."""
    return CountSheet.objects.filter(key=key).first() or _sheet([], key, by, note, None)


@dataclass(frozen=True)
class Place:
    """A thing at a place: what one line of a sheet is for."""

    item: Item
    location: Location
    lot: Lot | None = None

    @property
    def spot(self) -> Spot:
        return (self.item.pk, self.location.pk, self.lot.pk if self.lot else None)


def add_line(
    *, sheet: CountSheet, item: Item, location: Location, lot: Lot | None, by: User | None
) -> CountLine:
    """Something was found that is not on the sheet; see `add_lines`."""
    return add_lines(sheet=sheet, places=[Place(item, location, lot)], by=by)[0]


@transaction.atomic
def add_lines(*, sheet: CountSheet, places: Sequence[Place], by: User | None) -> list[CountLine]:
    """The lines for these things, in their order; those not on the sheet yet are added. Eight queries at most.

    Raises:
        ProblemError: the sheet is closed, a place is not the sheet's, or a lot is missing.
    """
    locked = locked_sheet(sheet, State.COUNTING)
    problems = [problem for one in places for problem in _line_problems(locked, one)]
    if problems:
        raise ProblemError(*problems)
    known = {spot(line): line for line in locked.lines.select_related("item", "lot")}
    new = {one.spot: one for one in places if one.spot not in known}
    codes = count_classes.class_codes({one.item.pk for one in new.values()}) if new else {}
    made = CountLine.objects.bulk_create(
        [
            CountLine(
                sheet=locked,
                item=one.item,
                location=one.location,
                lot=one.lot,
                count_class=codes[one.item.pk],
            )
            for one in new.values()
        ],
        batch_size=500,
    )
    known |= {spot(line): line for line in made}
    return [known[one.spot] for one in places]


def _line_problems(sheet: CountSheet, one: Place) -> list[Problem]:
    problems = []
    if sheet.location_id not in (None, one.location.pk) or one.location.kind not in COUNTED_KINDS:
        problems.append(
            Problem(
                f"{one.location.code} is not counted on {sheet.number}", "place", "Write it on its own sheet."
            )
        )
    if one.item.tracking != Item.Tracking.NONE and one.lot is None:
        problems.append(
            Problem(
                f"{one.item.code} is kept {one.item.get_tracking_display()}", "lot", "Read it off the label."
            )
        )
    return problems


@transaction.atomic
def cancel_sheet(*, sheet: CountSheet, by: User | None) -> CountSheet:
    """The sheet is not wanted; nothing is posted. One that is cancelled is left as it is."""
    locked = CountSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if locked.state == State.CANCELLED:
        return locked
    locked = locked_sheet(locked, State.COUNTING, State.COUNTED)
    locked.state = State.CANCELLED
    locked.save(update_fields=["state"])
    return locked


def spot(line: CountLine) -> Spot:
    return (line.item_id, line.location_id, line.lot_id)


def _sheet(
    balances: Sequence[Balance], key: str, by: User | None, note: str, location: Location | None
) -> CountSheet:
    classes = count_classes.class_codes({row.item_id for row in balances})
    sheet = CountSheet.objects.create(
        number=key[-20:], key=key, made_by=by, location=location, note=note.strip()
    )
    sheet.number = f"ST-{sheet.pk:04d}"
    sheet.save(update_fields=["number"])
    CountLine.objects.bulk_create(
        [
            CountLine(
                sheet=sheet,
                item_id=row.item_id,
                location_id=row.location_id,
                lot_id=row.lot_id,
                count_class=classes[row.item_id],
            )
            for row in balances
        ],
        batch_size=500,
    )
    return sheet


def locked_sheet(sheet: CountSheet, *states: CountSheet.State) -> CountSheet:
    """The sheet under its lock.

    Raises:
        ProblemError: it is in another state than these.
    """
    locked = CountSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if locked.state not in states:
        raise ProblemError(
            Problem(
                f"The sheet is {locked.get_state_display()}"
                if locked.state != State.COUNTED
                else "The sheet waits for approval",
                locked.number,
                "Load its page again and see how far it is.",
            )
        )
    return locked
