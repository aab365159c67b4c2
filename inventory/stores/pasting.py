"""Counts pasted from a spreadsheet, line by line, with the line of every mistake."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from inventory.stock.models import Lot
from inventory.stores.handling import Counted

MOST_LINES = 2000


def read_counts(text: str) -> list[Counted]:
    """The counts in `text`: code, quantity and perhaps a lot in each line, empty lines passed over.

    Three queries whatever the number of lines.

    Raises:
        ProblemError: naming each line that cannot be read, or that there is none.
    """
    rows = [
        (number, line.split(maxsplit=2)) for number, line in enumerate(text.splitlines(), 1) if line.strip()
    ]
    if not rows or len(rows) > MOST_LINES:
        raise ProblemError(
            Problem(f"{len(rows)} lines were pasted", "counts", f"Paste 1 to {MOST_LINES} lines.")
        )
    items = {item.code: item for item in Item.objects.filter(code__in={words[0] for _, words in rows})}
    lots = {(lot.item_id, lot.code): lot for lot in Lot.objects.filter(item__in=items.values())}
    found: list[Counted] = []
    lines: list[int] = []
    problems: list[Problem] = []
    for number, words in rows:
        try:
            found.append(_count(words, items, lots))
            lines.append(number)
        except ProblemError as refusal:
            problems.extend(problem.within(f"line {number}") for problem in refusal.problems)
    problems.extend(_twice(found, lines))
    if problems:
        raise ProblemError(*problems)
    return found


def _twice(found: list[Counted], lines: list[int]) -> list[Problem]:
    """Things that stand on two lines: only a person can say whether they are to be added up."""
    seen: dict[tuple[int, int | None], int] = {}
    problems = []
    for one, line in zip(found, lines, strict=True):
        spot = (one.item.pk, one.lot.pk if one.lot else None)
        if spot in seen:
            named = f"{one.item.code}, {one.lot.code}" if one.lot else one.item.code
            what = f"{named} is counted twice, first in line {seen[spot]}"
            problems.append(Problem(what, f"line {line}", "Add the two up and keep one."))
        seen.setdefault(spot, line)
    return problems


def _count(words: list[str], items: dict[str, Item], lots: dict[tuple[int, str], Lot]) -> Counted:
    item = items.get(words[0])
    if item is None:
        raise ProblemError(
            Problem(f"There is no item {words[0]}", "", "Write its code as in the stock list.")
        )
    if len(words) < 2:
        raise ProblemError(Problem(f"The quantity of {item.code} is missing", "", "Write it after the code."))
    lot = lots.get((item.pk, words[2].strip())) if len(words) > 2 else None
    if len(words) > 2 and lot is None:
        raise ProblemError(Problem(f"{item.code} has no lot {words[2].strip()}", "", "Check the label."))
    return Counted(item, _quantity(words[1], item), lot)


def _quantity(text: str, item: Item) -> Decimal:
    try:
        quantity = Decimal(text)
    except InvalidOperation:
        quantity = Decimal("NaN")
    if not quantity.is_finite():
        raise ProblemError(
            Problem(f"{text} of {item.code} is not a number", "", "Write a number such as 12 or 4.5.")
        )
    return quantity
