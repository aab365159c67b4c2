"""Items from a workbook: looked at first, then brought in whole or not at all."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from bom.items.models import Colour, Family, Item
from bom.items.uploads import number, oddities, text, yes_no
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row, read_rows
from bom.people.models import User

COLUMNS = ("code", "name", "kind", "unit")
NUMBERS = (
    "mass_kg",
    "surface_m2",
    "thickness_mm",
    "length_mm",
    "width_mm",
    "lot_size",
    "safety_stock",
    "standard_cost",
)
YES_NO = {"is_hollow": False, "is_phantom": False, "is_active": True}
"""By column what an empty cell means."""
OPTIONAL = (
    "group",
    "family",
    "colour",
    "hand",
    "grade",
    "lead_days",
    "lot_rule",
    "tracking",
    *NUMBERS,
    *YES_NO,
)
EXAMPLE = ("RO-120-BK", "Keel roller 120 mm", "bought", "pc", "rollers")
_MAY_BE_NOTHING = ("thickness_mm", "length_mm", "width_mm")
_AT_ONCE = 500
_CHOICES: Mapping[str, tuple[dict[str, str], str]] = {
    "kind": (dict(Item.Kind.choices), ""),
    "unit": (dict(Item.Unit.choices), ""),
    "hand": (dict(Item.Hand.choices), Item.Hand.NONE),
    "lot_rule": (dict(Item.LotRule.choices), Item.LotRule.AS_NEEDED),
    "tracking": (dict(Item.Tracking.choices), Item.Tracking.NONE),
}
"""By column: what may be written, and what an empty cell means."""


def rows_out() -> Iterator[tuple[Any, ...]]:
    """Every item, as it can be brought in again. One query."""
    for item in Item.objects.select_related("family", "colour").order_by("code"):
        yield tuple(_cell(item, name) for name in (*COLUMNS, *OPTIONAL))


def _cell(item: Item, name: str) -> Any:
    value = getattr(item, name)
    if name in ("family", "colour"):
        return value.code if value else ""
    if name in YES_NO:
        return "yes" if value else "no"
    return value


@dataclass(frozen=True)
class Checked:
    """What a workbook would do: items to add, items to change (with the fields), how many stay as they are."""

    new: Sequence[Item]
    changed: Sequence[tuple[Item, tuple[str, ...]]]
    same: int
    problems: Sequence[Problem]


@dataclass(frozen=True)
class _Known:
    items: Mapping[str, Item]
    families: Mapping[str, Family]
    colours: Mapping[str, Colour]


def check_items(content: bytes, *, file: str) -> Checked:
    """Look at a workbook without writing anything. Every problem is told with its row and column."""
    try:
        rows = read_rows(content, file=file, columns=COLUMNS, optional=OPTIONAL)
    except ProblemError as error:
        return Checked([], [], 0, [*error.problems, *oddities(content, file)])
    problems = [*oddities(content, file), *_doubled(rows)]
    if not rows:
        problems.append(Problem("There is no item in it", file, "Write one item a row, below the headings."))
    known = _known()
    new: list[Item] = []
    changed: list[tuple[Item, tuple[str, ...]]] = []
    for row in rows:
        item, fields, wrong = _item(row, known)
        problems += wrong
        if item._state.adding:
            new.append(item)
        elif fields:
            changed.append((item, fields))
    problems += _same_place(rows, [*new, *(item for item, _ in changed)])
    return Checked(new, changed, len(rows) - len(new) - len(changed), problems)


@transaction.atomic
def bring_in_items(*, content: bytes, file: str, by: User | None) -> Checked:
    """Add and change the items of a workbook, all of them or none.

    Raises:
        ProblemError: everything that `check_items` finds.
    """
    checked = check_items(content, file=file)
    if checked.problems:
        raise ProblemError(*checked.problems)
    Item.objects.bulk_create(checked.new, batch_size=_AT_ONCE)
    fields = sorted({field for _, names in checked.changed for field in names})
    if fields:
        Item.objects.bulk_update([item for item, _ in checked.changed], fields, batch_size=_AT_ONCE)
    return checked


def _known() -> _Known:
    return _Known(
        {item.code: item for item in Item.objects.select_related("family", "colour")},
        {family.code: family for family in Family.objects.all()},
        {colour.code: colour for colour in Colour.objects.all()},
    )


def _doubled(rows: Iterable[Row]) -> list[Problem]:
    first: dict[str, int] = {}
    problems = []
    for row in rows:
        code = text(row, "code")
        if code and code in first:
            problems.append(
                Problem(
                    f"{code} stands in row {first[code]} already",
                    row.where("code"),
                    "Keep one of the two rows.",
                )
            )
        first.setdefault(code, row.number)
    return problems


def _same_place(rows: Iterable[Row], items: Iterable[Item]) -> list[Problem]:
    """Two items of one file may not take the same place in a family; the database only knows the others."""
    where = {text(row, "code"): row for row in rows}
    taken: dict[tuple[int | None, int | None, str], str] = {}
    problems = []
    for item in items:
        if item.family_id is None or item.code not in where:
            continue
        place = (item.family_id, item.colour_id, item.hand)
        if taken.setdefault(place, item.code) != item.code:
            problems.append(
                Problem(
                    f"{item.code} has the same family, colour and hand as {taken[place]}",
                    where[item.code].where("family"),
                    "Change the colour or hand of one of them.",
                )
            )
    return problems


def _item(row: Row, known: _Known) -> tuple[Item, tuple[str, ...], list[Problem]]:
    """The item of a row as it would be, the fields that differ from what is there, and what is wrong."""
    code = text(row, "code")
    item = known.items.get(code) or Item(code=code)
    before = {name: getattr(item, name) for name in _fields(row)}
    problems: list[Problem] = []
    for name in _fields(row):
        try:
            setattr(item, name, _value(row, name, known))
        except ProblemError as error:
            problems += error.problems
    if not problems:
        problems = _rule_problems(item, row)
    differing = tuple(name for name in _fields(row) if before[name] != getattr(item, name))
    return item, differing, problems


def _fields(row: Row) -> list[str]:
    """The columns that the file has; a column that is not there leaves its field alone."""
    return [name for name in (*COLUMNS, *OPTIONAL) if name in row.letters]


def _value(row: Row, name: str, known: _Known) -> Any:
    if name in _CHOICES:
        return _choice(row, name)
    if name in NUMBERS:
        found = number(row, name)
        return found if found is not None or name in _MAY_BE_NOTHING else Decimal(0)
    if name in YES_NO:
        return yes_no(row, name, empty=YES_NO[name])
    if name == "lead_days":
        return int(number(row, name, whole=True) or 0)
    if name == "family":
        return _named(row, name, known.families)
    if name == "colour":
        return _named(row, name, known.colours)
    return text(row, name)


def _named(row: Row, name: str, known: Mapping[str, Any]) -> Any:
    code = text(row, name)
    if not code:
        return None
    if code not in known:
        listed = ", ".join(list(known)[:12]) or "none yet"
        raise ProblemError(Problem(f"There is no {name} {code}", row.where(name), f"There are: {listed}."))
    return known[code]


def _choice(row: Row, name: str) -> str:
    """A choice may be written as its code or as its word, in any case."""
    choices, default = _CHOICES[name]
    written = text(row, name).lower()
    if not written:
        if name in COLUMNS:
            raise ProblemError(
                Problem(
                    f"The {name} is not filled in", row.where(name), f"Write one of: {', '.join(choices)}."
                )
            )
        return default
    for code, label in choices.items():
        if written in (code.lower(), label.lower()):
            return code
    listed = ", ".join(code for code in choices if code)
    raise ProblemError(
        Problem(
            f"“{text(row, name)}” is not a {name.replace('_', ' ')}",
            row.where(name),
            f"Write one of: {listed}.",
        )
    )


def _rule_problems(item: Item, row: Row) -> list[Problem]:
    try:
        item.full_clean()
    except ValidationError as error:
        return [
            Problem(
                message, row.where(name if name in row.letters else "code"), "Correct it in the workbook."
            )
            for name, messages in error.message_dict.items()
            for message in messages
        ]
    return []
