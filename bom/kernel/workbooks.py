"""Workbooks in: rows of an xlsx or CSV file with the place of each value, or a sentence that says what is wrong."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from bom.kernel.errors import Problem, ProblemError

# Control signs; some databases refuse a text that holds a null.
_UNWRITABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
MOST_BYTES = 20_000_000
MOST_ROWS = 100_000


@dataclass(frozen=True)
class Row:
    """One row: its number in the sheet, and the values by column heading (lower case)."""

    number: int
    values: dict[str, Any]
    file: str
    letters: dict[str, str]

    def where(self, column: str) -> str:
        """The place of a value, for an error: "orders.xlsx, row 7, column C (finish)"."""
        return f"{self.file}, row {self.number}, column {self.letters.get(column, '?')} ({column})"


def read_rows(
    content: bytes, *, file: str, columns: Sequence[str], optional: Sequence[str] = ()
) -> list[Row]:
    """The filled rows of the first sheet.

    Args:
        content: the file's bytes.
        file: its name, for errors.
        columns: headings that must be there (any order, any case).
        optional: headings that may be there; any other heading is an error, so that a misspelt one is not ignored.

    Raises:
        ProblemError: not a workbook, too large, headings missing, doubled or unknown.
    """
    _refuse_large(content, file)
    return _rows_of(_grid(content, file), file, columns, optional)


@dataclass(frozen=True)
class Table:
    """One table of a file: its name (a sheet's title), the headings it must have and those it may have."""

    name: str
    columns: tuple[str, ...]
    optional: tuple[str, ...] = ()

    @property
    def headings(self) -> tuple[str, ...]:
        return (*self.columns, *self.optional)


def read_tables(content: bytes, *, file: str, tables: Sequence[Table]) -> dict[str, list[Row]]:
    """The filled rows of every table in a file, by its name: each sheet of a workbook is one, a CSV is one.

    A sheet is known by its title, a CSV (and the only sheet of a workbook) by its headings.

    Raises:
        ProblemError: as `read_rows`; a sheet or headings of none of these tables, or a table that stands twice.
    """
    _refuse_large(content, file)
    names = {table.name: table for table in tables}
    grids = [("", list(_grid(content, file)))] if is_csv(file) else _sheets(content, file)
    found: dict[str, list[Row]] = {}
    problems: list[Problem] = []
    for title, grid in grids:
        if not any(value not in (None, "") for row in grid for value in row):
            continue
        table = names.get(title.strip().lower()) or (
            _by_headings(grid[0], tables) if len(grids) == 1 else None
        )
        place = f"{file}, sheet {title}" if title else file
        if table is None or table.name in found:
            what = "This table stands twice" if table else "This is none of the tables that are read here"
            problems.append(Problem(what, place, f"Name the sheets: {', '.join(names)}."))
            continue
        try:
            found[table.name] = _rows_of(iter(grid), place, table.columns, table.optional)
        except ProblemError as refusal:
            problems += refusal.problems
    if not found and not problems:
        problems.append(Problem("There is nothing in it", file, "Start from the file as it is today."))
    if problems:
        raise ProblemError(*problems)
    return found


def _by_headings(header: Sequence[Any], tables: Sequence[Table]) -> Table | None:
    """The table that these headings fit best; none where not even one heading is known."""
    given = {str(value).strip().lower() for value in header if value not in (None, "")}
    fitting = [one for one in tables if set(one.columns) <= given <= set(one.headings)] or sorted(
        tables, key=lambda one: -len(given & set(one.headings))
    )
    return fitting[0] if fitting and given & set(fitting[0].headings) else None


def _refuse_large(content: bytes, file: str) -> None:
    if len(content) > MOST_BYTES:
        raise ProblemError(
            Problem(
                what=f"The file is {len(content) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read.",
                where=file,
                mend="Split it into several files.",
            )
        )


def _rows_of(
    grid: Iterator[tuple[Any, ...]], file: str, columns: Sequence[str], optional: Sequence[str]
) -> list[Row]:
    try:
        header = next(grid)
    except StopIteration:
        raise ProblemError(
            Problem(
                what="The first sheet is empty.",
                where=file,
                mend=f"Give it the headings {', '.join(columns)}.",
            )
        ) from None
    names = _headings(header, file, columns, optional)
    letters = {name: get_column_letter(index + 1) for index, name in names.items()}
    rows = []
    for number, values in enumerate(grid, start=2):
        if number > MOST_ROWS:
            raise ProblemError(
                Problem(what=f"There are more than {MOST_ROWS} rows.", where=file, mend="Split the file.")
            )
        filled = {name: _tidy(values[index]) for index, name in names.items() if index < len(values)}
        if any(value is not None for value in filled.values()):
            rows.append(Row(number, {name: filled.get(name) for name in names.values()}, file, letters))
    unwritable = [
        Problem("A sign stands here that is no text", row.where(name), "Delete the cell and write it anew.")
        for row in rows
        for name, value in row.values.items()
        if isinstance(value, str) and _UNWRITABLE.search(value)
    ]
    if unwritable:
        raise ProblemError(*unwritable)
    return rows


def is_csv(file: str) -> bool:
    """Whether the name says that the file is text with separators."""
    return file.lower().endswith(".csv")


def _csv_grid(content: bytes, file: str) -> Iterator[tuple[Any, ...]]:
    """UTF-8, separated by commas or, as some spreadsheets write it, by semicolons."""
    try:
        text = content.decode("utf-8-sig")
        head = text.partition("\n")[0]
        separator = ";" if head.count(";") > head.count(",") else ","
        return iter([tuple(row) for row in csv.reader(io.StringIO(text), delimiter=separator, strict=True)])
    except (UnicodeDecodeError, csv.Error) as error:
        raise ProblemError(
            Problem(
                what=f"This is not a CSV file that can be read ({error}).",
                where=file,
                mend="Save it as CSV in UTF-8 from your spreadsheet, or as .xlsx.",
            )
        ) from error


def _grid(content: bytes, file: str) -> Iterator[tuple[Any, ...]]:
    if is_csv(file):
        return _csv_grid(content, file)
    return iter(_sheets(content, file, most=1)[0][1])


def _sheets(content: bytes, file: str, most: int | None = None) -> list[tuple[str, list[tuple[Any, ...]]]]:
    """Title and rows of the sheets of a workbook, at most so many."""
    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        found = []
        for sheet in [book.worksheets[0], *book.worksheets[1:]][:most]:
            # A wrong size stated in the file would cut rows off.
            sheet.reset_dimensions()
            found.append((str(sheet.title), list(sheet.iter_rows(values_only=True))))
        return found
    except Exception as error:  # a broken or hostile file throws whatever its unpacking and parsing ran into
        raise ProblemError(
            Problem(
                what="This is not a workbook that can be read.",
                where=file,
                mend="Save it as .xlsx from your spreadsheet and try again.",
            )
        ) from error


def _headings(
    header: Sequence[Any], file: str, columns: Sequence[str], optional: Sequence[str]
) -> dict[int, str]:
    names = {
        index: str(value).strip().lower() for index, value in enumerate(header) if value not in (None, "")
    }
    allowed = set(columns) | set(optional)
    problems = [
        Problem(
            what=f"The column {name!r} is missing.",
            where=f"{file}, row 1",
            mend="Add it, or start from the empty form.",
        )
        for name in columns
        if name not in names.values()
    ]
    seen: set[str] = set()
    for index, name in names.items():
        place = f"{file}, row 1, column {get_column_letter(index + 1)}"
        if name not in allowed:
            problems.append(
                Problem(
                    what=f"The heading {name!r} is not known.",
                    where=place,
                    mend=f"Known headings: {', '.join([*columns, *optional])}.",
                )
            )
        elif name in seen:
            problems.append(
                Problem(what=f"The heading {name!r} stands twice.", where=place, mend="Keep one of them.")
            )
        seen.add(name)
    if problems:
        raise ProblemError(*problems)
    return names


def _tidy(value: Any) -> Any:
    if isinstance(value, str):
        value = value.strip()
        # An exported text that began like a formula carries an apostrophe; bring the text back as it was.
        if value.startswith("'") and value.lstrip("'")[:1] in ("=", "+", "-", "@"):
            value = value[1:]
    return None if value == "" else value
