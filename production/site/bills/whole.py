"""Whole bills as one table, out and in: a line for each parent and part, or by levels as a parts list is drawn.

What is brought in becomes drafts: a bill that differs gets a draft revision with the lines of the file, released by a
person like any other. Bills that are not in the file stay as they are.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from bom.catalogue.configuring import known_names
from bom.items.models import Family, Item
from bom.items.uploads import number, oddities, text
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row, is_csv, read_rows
from bom.people.models import User
from bom.structure.editing import LineDraft, begin_revision, draft_of_row, save_lines
from bom.structure.loading import revisions_on
from bom.structure.models import BillLine, Revision
from production.orders.numbers import next_number
from production.site.bills.lines import FIELDS, Typed, draft_of

PARENTS, LEVELS = "parents", "levels"
HEADINGS = {PARENTS: ("parent", *FIELDS), LEVELS: ("level", *FIELDS)}


@dataclass(frozen=True)
class BillChange:
    """One bill of the file: the positions of its lines that are added, changed and removed."""

    item: Item
    is_new: bool
    added: tuple[int, ...] = ()
    changed: tuple[int, ...] = ()
    removed: tuple[int, ...] = ()

    @property
    def is_same(self) -> bool:
        return not (self.added or self.changed or self.removed)


@dataclass(frozen=True)
class Looked:
    """What a file would do, found by doing it and taking it back."""

    changes: Sequence[BillChange]
    problems: Sequence[Problem]

    @property
    def differing(self) -> list[BillChange]:
        return [one for one in self.changes if not one.is_same]


def rows_out(layout: str) -> Iterator[tuple[str | int | Decimal | None, ...]]:
    """The bills in force today, with the headings of the layout. By levels every bill stands once, where it is first
    needed; where it is needed again only its line stands."""
    bills = _in_force_lines()
    if layout == PARENTS:
        for code in sorted(bills):
            yield from ((code, *_cells(line)) for line in bills[code])
        return
    below = {line.component.code for lines in bills.values() for line in lines if line.component}
    written: set[str] = set()
    for top in (code for code in sorted(bills) if code not in below):
        yield (0, None, top, *[None] * (len(FIELDS) - 2))
        yield from _levels(top, 1, bills, written)


def look_at_bills(*, content: bytes, file: str) -> Looked:
    """What bringing the file in would do. Nothing stays written."""
    try:
        with transaction.atomic():
            changes = bring_in_bills(content=content, file=file, by=None)
            transaction.set_rollback(True)
    except ProblemError as refusal:
        return Looked([], refusal.problems)
    return Looked(changes, [])


@transaction.atomic
def bring_in_bills(*, content: bytes, file: str, by: User | None) -> list[BillChange]:
    """Write a draft of every bill of the file that differs, all of them or none.

    Raises:
        ProblemError: everything found, each with its row and column, or with the bill and line it stands in.
    """
    bills = _read(content, file)
    names, items = known_names(), Item.objects.in_bulk(list(bills), field_name="code")
    standing = _standing(items)
    changes: list[BillChange] = []
    problems: list[Problem] = []
    for code, lines in bills.items():
        item = items[code]
        change = _change(item, standing.get(code), lines)
        changes.append(change)
        if change.is_same:
            continue
        try:
            with transaction.atomic():
                draft = _draft(item, standing.get(code), by)
                save_lines(revision=draft, lines=lines, names=names, by=by)
        except ProblemError as refusal:
            problems += refusal.within(file).problems
    if problems:
        raise ProblemError(*problems)
    return changes


def _read(content: bytes, file: str) -> dict[str, list[LineDraft]]:
    """The lines by the code of their parent."""
    strange = [] if is_csv(file) else oddities(content, file)
    try:
        rows = read_rows(content, file=file, columns=("part",), optional=("parent", "level", *FIELDS))
    except ProblemError as refusal:
        raise ProblemError(*refusal.problems, *strange) from None
    codes = {text(row, name) for row in rows for name in ("part", "parent")}
    items = Item.objects.in_bulk(list(codes), field_name="code")
    families = Family.objects.in_bulk(list(codes), field_name="code")
    found: dict[str, list[LineDraft]] = defaultdict(list)
    problems = strange
    if not rows:
        problems.append(Problem("There is no line in it", file, "Write one line a row, below the headings."))
    for parent, row in _with_parents(rows, file, problems):
        try:
            _refuse_no_bill(parent, row, items)
            last = found[parent][-1].position if found[parent] else 0
            line = draft_of(_typed(row), last, items, families)
            _refuse_what_fits_no_field(line)
            found[parent].append(line)
        except ProblemError as refusal:
            problems += [
                Problem(one.what, f"{row.where('part')}, {one.where}", one.mend) for one in refusal.problems
            ]
    if problems:
        raise ProblemError(*problems)
    return dict(found)


def _with_parents(rows: Sequence[Row], file: str, problems: list[Problem]) -> Iterator[tuple[str, Row]]:
    """Each line with its parent: as the column says, or the last row one level above. Tops have no line."""
    if rows and ("parent" in rows[0].letters) == ("level" in rows[0].letters):
        mend = "Give each line its parent, or write the rows by level, 0 for the top."
        problems.append(Problem("There is a column of parents or a column of levels", f"{file}, row 1", mend))
        return
    above: dict[int, str] = {}
    for row in rows:
        if "parent" in row.letters:
            yield text(row, "parent"), row
            continue
        try:
            level = number(row, "level", whole=True)
        except ProblemError as refusal:
            problems += refusal.problems
            continue
        if level is None or level < 0 or (level and int(level) - 1 not in above):
            problems.append(
                Problem(
                    "No row above is one level higher", row.where("level"), "Begin with 0 and go down by one."
                )
            )
            continue
        above = {at: code for at, code in above.items() if at < level} | {int(level): text(row, "part")}
        if level:
            yield above[int(level) - 1], row


def _refuse_no_bill(parent: str, row: Row, items: Mapping[str, Item]) -> None:
    item = items.get(parent)
    if item is None or not item.is_made:
        what = f"{parent or 'Nothing'} is no made item" if item is None else f"{parent} is not made here"
        raise ProblemError(Problem(what, "parent", "Only a made item of the list of items has a bill."))


def _refuse_what_fits_no_field(line: LineDraft) -> None:
    try:
        line.row(Revision(), line.position).clean_fields(exclude=["revision", "component", "family"])
    except ValidationError as error:
        raise ProblemError(
            *(
                Problem(said, name.replace("_", " "), "Correct it in the file.")
                for name, sentences in error.message_dict.items()
                for said in sentences
            )
        ) from error


def _typed(row: Row) -> Typed:
    return Typed(**{name: text(row, name) for name in FIELDS})


def _standing(items: Mapping[str, Item]) -> dict[str, Revision]:
    """By code the draft, else the revision in force, else the latest released. At most three queries."""
    today, trailer = timezone.localdate(), next_number()
    found: dict[str, tuple[tuple[bool, bool, object], Revision]] = {}
    for one in Revision.objects.filter(item__in=items.values()).select_related("item"):
        is_draft = one.state == Revision.State.DRAFT
        rank = (is_draft, one.start.holds(today, trailer), one.issue.place)
        if one.item.code not in found or rank > found[one.item.code][0]:
            found[one.item.code] = (rank, one)
    return {code: one for code, (_, one) in found.items()}


def _draft(item: Item, standing: Revision | None, by: User | None) -> Revision:
    if standing is not None and standing.state == Revision.State.DRAFT:
        return standing
    return begin_revision(item=item, effective_from=timezone.localdate(), by=by, copy_from=standing)


def _change(item: Item, standing: Revision | None, lines: Sequence[LineDraft]) -> BillChange:
    rows = standing.lines.select_related("component", "family") if standing else ()
    before = {row.position: draft_of_row(row) for row in rows}
    after = {line.position: line for line in lines}
    return BillChange(
        item,
        standing is None,
        tuple(sorted(after.keys() - before.keys())),
        tuple(sorted(at for at in after.keys() & before.keys() if after[at] != before[at])),
        tuple(sorted(before.keys() - after.keys())),
    )


def _in_force_lines() -> dict[str, list[BillLine]]:
    """The lines of each bill in force for the next trailer to be ordered. At most four queries."""
    in_force = revisions_on(timezone.localdate(), next_number())
    found: dict[str, list[BillLine]] = defaultdict(list)
    rows = BillLine.objects.filter(revision__in=[pk for pk, _ in in_force.values()]).select_related(
        "revision__item", "component", "family"
    )
    for row in rows.order_by("revision__item__code", "position"):
        found[row.revision.item.code].append(row)
    return dict(found)


def _cells(line: BillLine) -> tuple[str | int | Decimal | None, ...]:
    part = line.component or line.family
    values = {one.name: getattr(line, one.name) for one in fields(LineDraft)}
    return tuple(part.code if name == "part" and part else values.get(name) for name in FIELDS)


def _levels(
    code: str, level: int, bills: Mapping[str, Sequence[BillLine]], written: set[str]
) -> Iterator[tuple[str | int | Decimal | None, ...]]:
    if code in written:
        return
    written.add(code)
    for line in bills.get(code, ()):
        yield (level, *_cells(line))
        if line.component is not None:
            yield from _levels(line.component.code, level + 1, bills, written)
