"""The lines of a draft as they come from the form, and as the form shows them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from django.http import QueryDict

from bom.items.models import Family, Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.structure.editing import LineDraft
from bom.structure.models import BillLine, Revision

FIELDS = (
    "position",
    "part",
    "quantity",
    "condition",
    "colour_of",
    "hand_of",
    "note",
    "centre_x_mm",
    "centre_y_mm",
    "centre_z_mm",
    "centre_basis",
)
EMPTY_ROWS = 3


@dataclass(frozen=True)
class Typed:
    """One row of the form, every field as the text that was typed."""

    position: str = ""
    part: str = ""
    quantity: str = ""
    condition: str = ""
    colour_of: str = ""
    hand_of: str = ""
    note: str = ""
    centre_x_mm: str = ""
    centre_y_mm: str = ""
    centre_z_mm: str = ""
    centre_basis: str = ""
    name: str = ""


def typed_of(revision: Revision) -> list[Typed]:
    """The saved lines, and a few empty rows to go on writing in."""
    lines = revision.lines.select_related("component", "family").order_by("position")
    return [*(_typed(line) for line in lines), *(Typed() for _ in range(EMPTY_ROWS))]


def typed_in(data: QueryDict) -> list[Typed]:
    """The rows of a posted form."""
    columns = [data.getlist(name) for name in FIELDS]
    return [Typed(*(value.strip() for value in row)) for row in zip(*columns, strict=False)]


def drafts_of(rows: Sequence[Typed]) -> list[LineDraft]:
    """The rows that name a part, as lines. A part is found by the code of an item, else of a family; rows without a
    position follow the last one by ten. Two queries.

    Raises:
        ProblemError: an unknown code, or a figure that is not a number, with the line it stands in.
    """
    written = [row for row in rows if row.part]
    codes = {row.part for row in written}
    items = Item.objects.in_bulk(list(codes), field_name="code")
    families = Family.objects.in_bulk(list(codes), field_name="code")
    drafts: list[LineDraft] = []
    problems: list[Problem] = []
    last = 0
    for row in written:
        try:
            draft = draft_of(row, last, items, families)
        except ProblemError as error:
            problems += error.problems
            continue
        last = draft.position
        drafts.append(draft)
    if problems:
        raise ProblemError(*problems)
    return drafts


def draft_of(row: Typed, last: int, items: Mapping[str, Item], families: Mapping[str, Family]) -> LineDraft:
    """One row as a line; `last` is the position before it, for a row that has none of its own."""
    place = f"line {row.position or row.part}"
    item, family = items.get(row.part), families.get(row.part)
    if item is None and family is None:
        raise ProblemError(
            Problem(
                f"There is no item and no family {row.part}",
                place,
                "Write a code as the list of items has it.",
            )
        )
    return LineDraft(
        position=int(_number(row.position, f"{place}, position") or 10 * (1 + last // 10)),
        component=item,
        family=None if item else family,
        colour_of=row.colour_of,
        hand_of=row.hand_of,
        quantity=row.quantity or "1",
        condition=row.condition,
        note=row.note,
        centre_x_mm=_number(row.centre_x_mm, f"{place}, x"),
        centre_y_mm=_number(row.centre_y_mm, f"{place}, y"),
        centre_z_mm=_number(row.centre_z_mm, f"{place}, z"),
        centre_basis=row.centre_basis,
    )


def _number(text: str, place: str) -> Decimal | None:
    if not text:
        return None
    try:
        number = Decimal(text.replace("\u2212", "-"))
        if number.is_finite() and abs(number) < 100000:
            return number
    except InvalidOperation:
        pass
    raise ProblemError(Problem(f"“{text}” is not a number that fits", place, "Write a number such as 10."))


def _typed(line: BillLine) -> Typed:
    part = line.component or line.family
    return Typed(
        str(line.position),
        part.code if part else "",
        line.quantity,
        line.condition,
        line.colour_of,
        line.hand_of,
        line.note,
        _plain(line.centre_x_mm),
        _plain(line.centre_y_mm),
        _plain(line.centre_z_mm),
        line.centre_basis,
        part.name if part else "",
    )


def _plain(value: Decimal | None) -> str:
    return "" if value is None else format_quantity(value)
