"""Tables out to a file and in again: compared row by row with what there is, looked at first, then written whole.

A room describes each of its tables as a `Sheet`; a `Desk` is a set of them that go out and come in together, in the
order in which one builds on the other. What is not in the file stays, unless it is asked to be taken off.
"""

from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Generic, TypeVar

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import ProtectedError

from bom.items.uploads import number, oddities
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.kernel.workbooks import Row, Table, is_csv, read_tables

M = TypeVar("M", bound=models.Model)
Key = tuple[Any, ...]
Places = Mapping[str, Mapping[Key, Row]]
"""By table and key the row of the file."""

AT_ONCE = 500
MOST_SMALL = 32_767


@dataclass(frozen=True)
class FieldChange:
    """A field that differs, as people write it."""

    name: str
    before: str
    after: str


@dataclass(frozen=True)
class RowChange:
    """One row that is added, changed or removed, in words, with what differs."""

    table: str
    words: str
    what: str
    fields: tuple[FieldChange, ...] = ()


ADDED, CHANGED, REMOVED = "added", "changed", "removed"


@dataclass(frozen=True)
class Done:
    """What a file did or would do. `same` rows are as they were; `left` are not in the file and stay."""

    changes: Sequence[RowChange] = ()
    same: int = 0
    left: int = 0
    problems: Sequence[Problem] = ()

    def counted(self) -> list[tuple[str, int]]:
        """How many are added, changed and removed."""
        return [
            (what, sum(1 for one in self.changes if one.what == what)) for what in (ADDED, CHANGED, REMOVED)
        ]


class Sheet(ABC, Generic[M]):
    """One table: how its rows are written, read, and told apart. Made anew for each file, so that it may remember."""

    table: Table
    is_fixed = False
    """Whether rows are only changed here, neither added nor removed."""

    @abstractmethod
    def standing(self) -> dict[Key, M]:
        """What there is, by key, in the order in which it is written out."""

    @abstractmethod
    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        """Key and field values of a row; fields whose column is missing are left out. ProblemError with its place."""

    @abstractmethod
    def new(self, key: Key) -> M:
        """A row of this key, not yet saved."""

    @abstractmethod
    def cells(self, one: M) -> tuple[Any, ...]:
        """A row as it is written out, in the order of the table's headings."""

    def words(self, key: Key) -> str:
        return " ".join(str(part) for part in key if part not in (None, ""))

    def recognise(self, key: Key, values: Mapping[str, Any], standing: Mapping[Key, M]) -> Key:
        """The key under which a row stands already, where it can be known by something else."""
        return key

    def needed_by(self, gone: Sequence[M]) -> Iterator[tuple[M, str]]:
        """What must not be taken off, and what needs it, in words."""
        return iter(())

    def rows_out(self) -> Iterator[tuple[Any, ...]]:
        return (self.cells(one) for one in self.standing().values())


@dataclass(frozen=True)
class Desk:
    """Tables that come in together. `begin` is asked before anything is written, and what it answers is handed with the
    rows' places to `check`, which says what is wrong with the whole after all is written."""

    name: str
    sheets: Callable[[], tuple[Sheet[Any], ...]]
    begin: Callable[[], Any] = field(default=lambda: None)
    check: Callable[[Any, Places], Iterable[Problem]] = field(default=lambda before, places: ())


def look_at_file(desk: Desk, *, content: bytes, file: str, removing: bool) -> Done:
    """What bringing the file in would do. Nothing stays written."""
    try:
        with transaction.atomic():
            done = bring_in_file(desk, content=content, file=file, removing=removing)
            transaction.set_rollback(True)
    except ProblemError as refusal:
        return Done(problems=refusal.problems)
    return done


@transaction.atomic
def bring_in_file(desk: Desk, *, content: bytes, file: str, removing: bool) -> Done:
    """Add and change what the file says; with `removing`, take off what its tables do not have. All of it or nothing.

    Raises:
        ProblemError: everything found, each with sheet, row and column.
    """
    strange = [] if is_csv(file) else oddities(content, file, all_sheets=True)
    sheets = desk.sheets()
    try:
        rows = read_tables(content, file=file, tables=[one.table for one in sheets])
    except ProblemError as refusal:
        raise ProblemError(*refusal.problems, *strange) from None
    before = desk.begin()
    problems, places, changes, same, gone = list(strange), {}, [], 0, []
    for sheet in sheets:
        if sheet.table.name not in rows:
            continue
        reading = _Reading(sheet, rows[sheet.table.name])
        problems += reading.problems
        places[sheet.table.name] = reading.places
        reading.write()
        changes += reading.changes
        same += reading.same
        gone.append((sheet, reading.missing))
    left = sum(len(missing) for sheet, missing in gone if not sheet.is_fixed)
    if removing and not problems:
        for sheet, missing in reversed(gone):
            changes += _take_off(sheet, missing, file, problems)
        left = 0
    problems += [] if problems else desk.check(before, places)
    if problems:
        raise ProblemError(*problems)
    return Done(changes, same, left)


class _Reading:
    """The rows of one table against what there is."""

    def __init__(self, sheet: Sheet[Any], rows: Sequence[Row]) -> None:
        self.sheet = sheet
        self.problems: list[Problem] = []
        self.places: dict[Key, Row] = {}
        self.changes: list[RowChange] = []
        self.same = 0
        self.added: list[models.Model] = []
        self.changed: dict[int, tuple[models.Model, set[str]]] = {}
        self.standing = sheet.standing()
        read: list[tuple[Row, Key, dict[str, Any]]] = []
        for row in rows:
            try:
                read.append((row, *sheet.read(row)))
            except ProblemError as refusal:
                self.problems += refusal.problems
        # Rows that stand under their own key are no other row under a new one.
        self.missing = {**self.standing}
        for _, key, _ in read:
            self.missing.pop(key, None)
        for row, key, values in read:
            try:
                self._take(row, key, values)
            except ProblemError as refusal:
                self.problems += refusal.problems

    def write(self) -> None:
        """Many rows at once; what is wrong is not among them."""
        if self.added:
            type(self.added[0])._default_manager.bulk_create(self.added, batch_size=AT_ONCE)
        fields = sorted({name for _, names in self.changed.values() for name in names})
        if fields:
            rows = [one for one, _ in self.changed.values()]
            type(rows[0])._default_manager.bulk_update(rows, fields, batch_size=AT_ONCE)

    def _take(self, row: Row, key: Key, values: Mapping[str, Any]) -> None:
        """Compare one row with what stands under its key, or is recognised by something else."""
        column = self.sheet.table.columns[0]
        if key in self.places:
            raise ProblemError(
                Problem(
                    f"{self.sheet.words(key)} stands in row {self.places[key].number} already",
                    row.where(column),
                    "Keep one of the two rows.",
                )
            )
        self.places[key] = row
        known = key if key in self.standing else self.sheet.recognise(key, values, self.missing)
        one = self.standing.get(known)
        self.missing.pop(known, None)
        if one is None and self.sheet.is_fixed:
            raise ProblemError(
                Problem(
                    f"There is no {self.sheet.words(key)}", row.where(column), "It cannot be added by a file."
                )
            )
        subject = one or self.sheet.new(key)
        before = {name: getattr(subject, name) for name in values}
        for name, value in values.items():
            setattr(subject, name, value)
        _refuse_what_fits_no_field(subject, row, column)
        self._note(subject, key, before, values, is_new=one is None)

    def _note(
        self,
        subject: models.Model,
        key: Key,
        before: Mapping[str, Any],
        values: Mapping[str, Any],
        *,
        is_new: bool,
    ) -> None:
        table, words = self.sheet.table.name, self.sheet.words(key)
        if is_new:
            self.added.append(subject)
            shown = tuple(FieldChange(name, "", written(value)) for name, value in values.items())
            self.changes.append(RowChange(table, words, ADDED, shown))
            return
        differing = {name for name, value in values.items() if before[name] != value}
        if not differing:
            self.same += 1
            return
        self.changed[id(subject)] = (subject, differing)
        fields = tuple(
            FieldChange(name, written(before[name]), written(values[name])) for name in sorted(differing)
        )
        self.changes.append(RowChange(table, words, CHANGED, fields))


def _take_off(
    sheet: Sheet[Any], missing: Mapping[Key, models.Model], file: str, problems: list[Problem]
) -> list[RowChange]:
    if sheet.is_fixed or not missing:
        return []
    keys = {id(one): key for key, one in missing.items()}
    needed = [
        Problem(
            f"{sheet.words(keys[id(one)])} is not in the file, but {words}",
            f"{file}, {sheet.table.name}",
            "Keep its row, or take off first what needs it.",
        )
        for one, words in sheet.needed_by(list(missing.values()))
    ]
    problems += needed
    if needed:
        return []
    rows = list(missing.values())
    try:
        type(rows[0])._default_manager.filter(pk__in=[one.pk for one in rows]).delete()
    except ProtectedError as error:
        words = {one.pk: sheet.words(key) for key, one in missing.items()}
        problems += [
            Problem(f"{named} is not in the file, but {said}", f"{file}, {sheet.table.name}", "Keep its row.")
            for named, said in _protected(error, type(rows[0]), words)
        ]
        return []
    return [RowChange(sheet.table.name, sheet.words(key), REMOVED) for key in missing]


def _protected(
    error: ProtectedError, model: type[models.Model], words: Mapping[Any, str]
) -> Iterator[tuple[str, str]]:
    """Which of our rows others still need, and how many of what need it."""
    counted: Counter[tuple[str, str]] = Counter()
    for one in error.protected_objects:
        for at in one._meta.fields:
            if at.is_relation and at.related_model is model and getattr(one, at.attname) in words:
                counted[words[getattr(one, at.attname)], str(one._meta.verbose_name_plural)] += 1
    for (ours, theirs), count in sorted(counted.items()):
        yield ours, f"{count} {theirs} need it"


def _refuse_what_fits_no_field(subject: models.Model, row: Row, column: str) -> None:
    try:
        subject.clean_fields(exclude=[one.name for one in subject._meta.fields if one.is_relation])
    except ValidationError as error:
        raise ProblemError(
            *(
                Problem(said, row.where(name if name in row.letters else column), "Correct it in the file.")
                for name, sentences in error.message_dict.items()
                for said in sentences
            )
        ) from error


def written(value: Any) -> str:
    """A value as the preview shows it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return format_quantity(value)
    return "" if value is None else str(value)


def amount(row: Row, column: str) -> Decimal:
    """A number of zero or more; it must be written."""
    found = number(row, column)
    if found is None or found < 0:
        what = "No figure is written" if found is None else f"{found} is below zero"
        raise ProblemError(Problem(what, row.where(column), "Write zero or more."))
    return found


def small(row: Row, column: str) -> int:
    """A whole number from 0 to 32 767; nothing counts as 0."""
    found = number(row, column, whole=True) or Decimal(0)
    if not 0 <= found <= MOST_SMALL:
        raise ProblemError(
            Problem(f"{found:.6g} is not possible here", row.where(column), f"Write 0 to {MOST_SMALL}.")
        )
    return int(found)


def named(row: Row, column: str, code: str, known: Mapping[Any, M], key: Any = None) -> M:
    """What a cell names, among what is known by code (or by `key`)."""
    found = known.get(code if key is None else key)
    if found is None:
        listed = ", ".join(str(one) for one in list(known)[:12] if isinstance(one, str))
        what = f"There is no {column} {code}" if code else f"No {column} is written"
        raise ProblemError(Problem(what, row.where(column), f"There are: {listed}." if listed else ""))
    return found
