"""Writing bills: lines and revisions, checked before they are saved, never changed once released.

Conditions and quantities are compiled against the names that the catalogue knows (`names`, handed in by the caller
because the catalogue is a room above this one), and a bill that would contain itself is refused with its chain.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max

from bom.items.models import Family, Item
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.structure.conditions import compile_condition, compile_quantity, compile_text
from bom.structure.effectivity import start_problems
from bom.structure.expansion import find_cycle
from bom.structure.models import BillLine, Operation, Revision
from bom.structure.wording import KnownNames

FIRST_LETTER = "A"


@dataclass(frozen=True)
class LineDraft:
    """A bill line as asked for: either `component` or `family`; the other texts are CEL expressions."""

    position: int
    component: Item | None = None
    family: Family | None = None
    colour_of: str = ""
    hand_of: str = ""
    quantity: str = "1"
    condition: str = ""
    note: str = ""
    centre_x_mm: Decimal | None = None
    centre_y_mm: Decimal | None = None
    centre_z_mm: Decimal | None = None
    centre_basis: str = ""

    def row(self, revision: Revision, position: int) -> BillLine:
        """The line as a row, not yet saved."""
        values = {one.name: getattr(self, one.name) for one in fields(self)}
        return BillLine(revision=revision, **(values | {"position": position}))


@transaction.atomic
def begin_revision(
    *, item: Item, effective_from: date, by: User | None, note: str = "", copy_from: Revision | None = None
) -> Revision:
    """Open a new draft revision under the next letter, empty or as a copy of another revision.

    Raises:
        ProblemError: the item is not made here, or has a draft already.
    """
    Item.objects.select_for_update().get(pk=item.pk)
    if not item.is_made:
        raise ProblemError(
            Problem(f"{item.code} is {item.get_kind_display()}", "revision", "Only a made item has a bill.")
        )
    if draft := item.revisions.filter(state=Revision.State.DRAFT).first():
        raise ProblemError(
            Problem(
                f"{item.code} has draft revision {draft.letter} already", "revision", "Release it or edit it."
            )
        )
    letters = sorted(
        item.revisions.values_list("letter", flat=True), key=lambda letter: (len(letter), letter)
    )
    letter = next_letter(letters[-1]) if letters else FIRST_LETTER
    revision = Revision.objects.create(item=item, letter=letter, effective_from=effective_from, note=note)
    if copy_from is not None:
        _copy(copy_from, revision)
    return revision


@transaction.atomic
def save_lines(
    *, revision: Revision, lines: Sequence[LineDraft], names: KnownNames, by: User | None
) -> Revision:
    """Replace the lines of a draft revision.

    Raises:
        ProblemError: the revision is released; an expression does not compile or names something unknown (with
            item, revision, line, field and column); a line names both or neither of item and family; the item
            would contain itself (with the chain).
    """
    revision = _editable(revision)
    check_lines(revision=revision, lines=lines, names=names)
    revision.lines.all().delete()
    BillLine.objects.bulk_create([line.row(revision, line.position) for line in lines])
    return revision


def check_lines(*, revision: Revision, lines: Sequence[LineDraft], names: KnownNames) -> None:
    """Refuse lines that could not be saved in this revision, as `save_lines` would. Nothing is written.

    Raises:
        ProblemError: as in `save_lines`, except that a released revision may be looked at.
    """
    problems = [problem for line in lines for problem in _line_problems(revision, line, names)]
    problems += _doubled(revision, lines)
    problems += [problem for line in lines for problem in _centre_problems(revision, line)]
    if problems:
        raise ProblemError(*problems)
    _refuse_circle(revision, lines)


@transaction.atomic
def add_line(*, revision: Revision, line: LineDraft, names: KnownNames, by: User | None) -> BillLine:
    """Add one line to a draft revision; position 0 takes the next free one. Errors as in `save_lines`."""
    revision = _editable(revision)
    position = line.position or 10 * (1 + (revision.lines.aggregate(last=Max("position"))["last"] or 0) // 10)
    row = line.row(revision, position)
    problems = _line_problems(revision, line, names)
    if not problems:
        problems = _constraint_problems(row, _place(revision, position))
    if problems:
        raise ProblemError(*problems)
    row.save()
    _refuse_circle(revision)
    return row


@transaction.atomic
def release_revision(
    *,
    revision: Revision,
    names: KnownNames,
    by: User | None,
    effective_from: date | None = None,
    from_number: int | None = None,
    next_number: int | None = None,
) -> Revision:
    """Release a draft: from its day on (`effective_from`, else the day it was opened with) orders are frozen with
    it; with `from_number`, those of that number and above. A released revision is left as it is.

    Everything is checked again, because options, items and other bills may have changed since it was written.
    `next_number` is the lowest number that no order bears yet.

    Raises:
        ProblemError: as in `save_lines`; or its start leaves a gap before it or overlaps with a released revision
            (see `bom.structure.effectivity.start_problems`).
    """
    revision = Revision.objects.select_for_update(of=("self",)).select_related("item").get(pk=revision.pk)
    if revision.state == Revision.State.RELEASED:
        return revision
    revision.effective_from = effective_from or revision.effective_from
    revision.from_number = from_number
    problems = [
        problem
        for row in revision.lines.all()
        for problem in _line_problems(revision, draft_of_row(row), names)
    ]
    earlier = [one.issue for one in revision.item.revisions.filter(state=Revision.State.RELEASED)]
    problems += start_problems(revision.start, earlier, where=_place(revision), next_number=next_number)
    if problems:
        raise ProblemError(*problems)
    _refuse_circle(revision)
    revision.state = Revision.State.RELEASED
    revision.save(update_fields=["state", "effective_from", "from_number"])
    return revision


def next_letter(letter: str) -> str:
    """A to Z, then AA: the letter after this one."""
    if letter.endswith("Z"):
        return (next_letter(letter[:-1]) if letter[:-1] else "A") + "A"
    return letter[:-1] + chr(ord(letter[-1]) + 1)


def _editable(revision: Revision) -> Revision:
    locked = Revision.objects.select_for_update(of=("self",)).select_related("item").get(pk=revision.pk)
    if locked.state == Revision.State.RELEASED:
        raise ProblemError(
            Problem(
                f"Revision {locked.letter} of {locked.item.code} is released; orders are frozen with it",
                _place(locked),
                "Open a new revision as a copy of it, and change that.",
            )
        )
    return locked


def _place(revision: Revision, position: int | None = None) -> str:
    line = "" if position is None else f", line {position}"
    return f"item {revision.item.code}, revision {revision.letter}{line}"


def _line_problems(revision: Revision, line: LineDraft, names: KnownNames) -> list[Problem]:
    place = _place(revision, line.position)
    problems: list[Problem] = []
    if (line.component is None) == (line.family is None):
        problems.append(
            Problem(
                "A line names either an item or a family",
                place,
                "Fill in one of the two and clear the other.",
            )
        )
    if line.component is not None and (line.colour_of or line.hand_of):
        problems.append(
            Problem("Colour and hand choose within a family", place, "Clear them, or name a family.")
        )
    checks: list[tuple[str, Callable[[str, KnownNames], object], str]] = [
        ("quantity", compile_quantity, line.quantity),
        ("condition", compile_condition, line.condition),
        ("colour", compile_text, line.colour_of),
        ("hand", compile_text, line.hand_of),
    ]
    for field, compiler, text in checks:
        try:
            compiler(text, names)
        except ProblemError as error:
            problems += error.within(f"{place}, {field}").problems
    return problems


def _doubled(revision: Revision, lines: Sequence[LineDraft]) -> list[Problem]:
    positions = [line.position for line in lines]
    doubled = sorted({position for position in positions if positions.count(position) > 1})
    return [
        Problem("Two lines have this position", _place(revision, position), "Give one of them another.")
        for position in doubled
    ]


def _constraint_problems(row: BillLine, place: str) -> list[Problem]:
    try:
        row.full_clean()
    except ValidationError as error:
        return [Problem(message, place) for message in error.messages]
    return []


def draft_of_row(row: BillLine) -> LineDraft:
    """A line that stands, as one asks for it."""
    return LineDraft(**{one.name: getattr(row, one.name) for one in fields(LineDraft)})


def _refuse_circle(revision: Revision, lines: Sequence[LineDraft] | None = None) -> None:
    """Whatever is chosen, no item may contain itself: every line counts, and a family counts with all its items.

    Bills that can still be used are looked at: released ones and drafts; with `lines`, those in the place of the
    revision's own.
    """
    rows = BillLine.objects.order_by("revision_id", "position")
    if lines is not None:
        rows = rows.exclude(revision=revision)
    direct = rows.filter(component__isnull=False).values_list("revision__item__code", "component__code")
    by_family = rows.filter(family__items__isnull=False).values_list(
        "revision__item__code", "family__items__code"
    )
    pairs = [*_pairs(revision, lines or ()), *direct, *by_family]
    own = [pair for pair in pairs if pair[0] == revision.item.code]
    others = [pair for pair in pairs if pair[0] != revision.item.code]
    # The item's own lines first, so that the chain begins with what the person is looking at.
    cycle = find_cycle([(str(parent), str(part)) for parent, part in (*own, *others)])
    if cycle:
        raise ProblemError(
            Problem(
                f"{cycle[0]} would contain itself: {' → '.join(cycle)}",
                _place(revision),
                f"Take {cycle[1]} off this bill, or break the chain at another link.",
            )
        )


def _pairs(revision: Revision, lines: Sequence[LineDraft]) -> list[tuple[str, str]]:
    """Parent and part of every line; a family counts with all its items."""
    families = {line.family.pk for line in lines if line.family is not None}
    members = Item.objects.filter(family__in=families).values_list("code", flat=True) if families else ()
    parts = [line.component.code for line in lines if line.component is not None]
    return [(revision.item.code, code) for code in (*parts, *members)]


def _centre_problems(revision: Revision, line: LineDraft) -> list[Problem]:
    known = [
        value is not None and value != ""
        for value in (line.centre_x_mm, line.centre_y_mm, line.centre_z_mm, line.centre_basis)
    ]
    if all(known) or not any(known):
        return []
    return [
        Problem(
            "A centre of gravity has x, y, z and how it is known, or none of them",
            _place(revision, line.position),
            "Fill in all four, or clear them.",
        )
    ]


def _copy(source: Revision, target: Revision) -> None:
    lines = list(source.lines.all())
    for line in lines:
        line.pk, line.revision = None, target
    BillLine.objects.bulk_create(lines)
    operations = list(source.operations.all())
    for operation in operations:
        operation.pk, operation.revision = None, target
    Operation.objects.bulk_create(operations)
