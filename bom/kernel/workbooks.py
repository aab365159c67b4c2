"""Workbooks in: rows of an xlsx or CSV file with the place of each value, or a sentence that says what is wrong."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from bom.kernel.errors import Problem, ProblemError

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
    if len(content) > MOST_BYTES:
        raise ProblemError(
            Problem(
                what=f"The file is {len(content) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB are read.",
                where=file,
                mend="Split it into several files.",
            )
        )
    grid = _grid(content, file)
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
    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        sheet = book.worksheets[0]
        # A wrong size stated in the file would cut rows off.
        sheet.reset_dimensions()
        return iter(list(sheet.iter_rows(values_only=True)))
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
        if len(value) > 1 and value[0] == "'" and value[1] in "=+-@":
            value = value[1:]
    return None if value == "" else value
