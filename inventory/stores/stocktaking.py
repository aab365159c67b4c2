"""Stocktakes: sheets counted blind, counted again where far out, approved by a person and posted in one go.

A count is compared with what the ledger says lay there at the moment it was counted. What moves afterwards, up to
the approval and beyond, is not counted away; and what was carried off before and written down late is seen, because
the comparison goes by when things happened. Only differences are posted, never new balances.

What the guard misses: goods that moved before the count and are written down only after the approval are then
missing twice. The next count finds them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.drafts import PLACES
from inventory.stock.ledger import Line
from inventory.stock.models import Lot, Posting
from inventory.stock.queries import place
from inventory.stores import count_classes
from inventory.stores.count_sheets import locked_sheet, spot
from inventory.stores.handling import COUNT, KEY, refuse_no_reason
from inventory.stores.models import CountClass, CountEntry, CountLine, CountSheet
from inventory.stores.variances import Variance, book_at, variances_of

State = CountSheet.State

AGREES = Decimal(0)


@dataclass(frozen=True)
class Finding:
    """So much was found on a line; `counted_at` (aware) is when, none means now."""

    line: CountLine
    quantity: Decimal
    counted_at: datetime | None = None


@transaction.atomic
def record(*, sheet: CountSheet, findings: Sequence[Finding], by: User | None, key: str) -> list[CountLine]:
    """Write down what was found. Returns the lines that are to be counted again, because they are far out.

    Nothing tells the counter what was expected, nor which way he is out. A line is settled by a count within the
    limits of its class, or by two counts in a row that come to the same difference. A repeat of the key changes
    nothing. Six queries and the writing.

    Raises:
        ProblemError: the sheet is not being counted, a quantity is negative, a serial number is found twice, or a
            time lies in the future.
    """
    locked = locked_sheet(sheet, State.COUNTING)
    lines = {
        line.pk: line
        for line in locked.lines.filter(pk__in=[one.line.pk for one in findings]).select_related(
            "item", "lot"
        )
    }
    known = set(
        CountEntry.objects.filter(line__in=lines, key__startswith=f"{key}:").values_list("key", flat=True)
    )
    fresh = [one for one in findings if f"{key}:{one.line.pk}" not in known]
    now = timezone.now()
    _refuse_bad_findings(fresh, lines, now)
    CountEntry.objects.bulk_create(
        [
            CountEntry(
                line=lines[one.line.pk],
                quantity=one.quantity.quantize(PLACES),
                counted_at=one.counted_at or now,
                by=by,
                key=f"{key}:{one.line.pk}",
            )
            for one in fresh
        ],
        batch_size=500,
    )
    return _settle(list(lines.values()))


@transaction.atomic
def ask_again(*, line: CountLine, by: User | None) -> CountLine:
    """The approver wants a line counted once more: its sheet goes back to the counter."""
    sheet = locked_sheet(line.sheet, State.COUNTING, State.COUNTED)
    CountLine.objects.filter(pk=line.pk).update(is_recount_asked=True)
    if sheet.state == State.COUNTED:
        sheet.state = State.COUNTING
        sheet.save(update_fields=["state"])
    line.refresh_from_db()
    return line


@transaction.atomic
def hand_in(*, sheet: CountSheet, by: User | None, leave_rest: bool = False) -> CountSheet:
    """The counter is done; the sheet waits for approval. With `leave_rest` lines not counted stay as they are.

    Raises:
        ProblemError: lines are not counted, or are to be counted again.
    """
    locked = locked_sheet(sheet, State.COUNTING)
    again = locked.lines.filter(is_recount_asked=True).count()
    bare = locked.lines.filter(entries=None).count()
    if again:
        raise ProblemError(
            Problem(
                f"{again} lines are to be counted again", locked.number, "Count them, best by another person."
            )
        )
    if bare and not leave_rest:
        raise ProblemError(
            Problem(
                f"{bare} lines are not counted",
                locked.number,
                "Count them (nothing there is a count of 0), or say that the rest is left as it is.",
            )
        )
    if not locked.lines.exclude(entries=None).exists():
        raise ProblemError(Problem("Nothing was counted", locked.number, "Count, or cancel the sheet."))
    locked.state = State.COUNTED
    locked.save(update_fields=["state"])
    return locked


@transaction.atomic
def approve(*, sheet: CountSheet, by: User | None, reason: str) -> CountSheet:
    """Post the differences of a sheet in one go. A sheet that is done is left as it is.

    Raises:
        ProblemError: it is not handed in, differences have no reason, or goods have moved so that a place would
            hold less than nothing (count that line again).
    """
    sheet = CountSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if sheet.state == State.DONE:
        return sheet
    locked = locked_sheet(sheet, State.COUNTED)
    variances = variances_of(locked, for_update=True)
    differing = [one for one in variances if one.difference]
    if differing:
        refuse_no_reason(reason, "Say why the differences are accepted, e.g. yearly stocktake.")
        locked.posting = _post(locked, differing, by, reason)
    for one in variances:
        one.line.book, one.line.difference, one.line.unit_cost = one.book, one.difference, one.unit_cost
    CountLine.objects.bulk_update(
        [one.line for one in variances], ["book", "difference", "unit_cost"], batch_size=500
    )
    locked.state, locked.approved_by, locked.approved_at = State.DONE, by, timezone.now()
    locked.reason = reason.strip()
    locked.save(update_fields=["state", "approved_by", "approved_at", "reason", "posting"])
    return locked


def _settle(lines: Sequence[CountLine]) -> list[CountLine]:
    """Say of each line whether it is to be counted again. Returns those that are."""
    rules = {one.code: one for one in count_classes.classes()}
    entries: dict[int, list[CountEntry]] = defaultdict(list)
    for entry in CountEntry.objects.filter(line__in=lines).order_by("pk"):
        entries[entry.line_id].append(entry)
    last = {line.pk: entries[line.pk][-2:] for line in lines if entries[line.pk]}
    wanted = {entry.pk: (spot(line), entry.counted_at) for line in lines for entry in last.get(line.pk, [])}
    books = book_at(wanted)
    for line in lines:
        differences = [(entry.quantity - books[entry.pk], books[entry.pk]) for entry in last.get(line.pk, [])]
        if differences:
            line.is_recount_asked = _is_far_out(differences, line.item, rules.get(line.count_class))
    CountLine.objects.bulk_update(lines, ["is_recount_asked"], batch_size=500)
    return [line for line in lines if line.is_recount_asked]


def _is_far_out(differences: Sequence[tuple[Decimal, Decimal]], item: Item, rule: CountClass | None) -> bool:
    difference, book = differences[-1]
    if rule is None or difference == AGREES or (len(differences) > 1 and differences[-2][0] == difference):
        return False
    share = abs(difference) * 100 / book if book > 0 else Decimal(100)
    return share > rule.recount_percent or abs(difference) * item.standard_cost > rule.recount_value


def _post(sheet: CountSheet, differing: Sequence[Variance], by: User | None, reason: str) -> Posting:
    counts = place(COUNT)
    lines = [
        line
        for one in differing
        for line in (
            Line(one.line.item_id, one.line.location_id, one.difference, one.line.lot_id),
            Line(one.line.item_id, counts.pk, -one.difference, one.line.lot_id),
        )
    ]
    try:
        return ledger.post(
            key=f"{KEY}:count-sheet:{sheet.pk}",
            kind=Posting.Kind.COUNT,
            lines=lines,
            by=by,
            reason=f"{sheet.number}: {reason.strip()}"[:200],
        )
    except ProblemError as refusal:
        raise refusal.within(
            f"{sheet.number}, goods have moved since; have the line counted again"
        ) from refusal


def _refuse_bad_findings(findings: Sequence[Finding], lines: Mapping[int, CountLine], now: datetime) -> None:
    problems = []
    for one in findings:
        line = lines.get(one.line.pk)
        if line is None:
            problems.append(Problem("A line is not on this sheet", "sheet", "Load the page again."))
            continue
        named = f"{line.item.code}, {line.lot.code}" if line.lot else line.item.code
        if not one.quantity.is_finite() or one.quantity < 0:
            problems.append(
                Problem(f"{one.quantity} of {named} cannot lie there", named, "Count from zero up.")
            )
        elif line.lot and line.lot.kind == Lot.Kind.SERIAL and one.quantity not in (0, 1):
            problems.append(
                Problem(f"Serial number {named} stands for one piece", named, "It is there (1) or not (0).")
            )
        if one.counted_at is not None and one.counted_at > now:
            problems.append(Problem(f"{named} is counted in the future", named, "Put the time right."))
    if problems:
        raise ProblemError(*problems)
