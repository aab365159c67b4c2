"""Lists as CSV files: rows by column name, every mistake with its line. No Django."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bom.kernel.errors import Problem, ProblemError

MOST_BYTES = 5_000_000
MOST_ROWS = 20_000
DELIMITERS = (",", ";", "\t")
SAVE_ANEW = "Save it as CSV in UTF-8 with a first row of headings"


@dataclass(frozen=True)
class Row:
    """One row of a list: its line in the file, and the text of each column."""

    place: str
    values: dict[str, str]

    def problem(self, column: str, what: str, mend: str) -> Problem:
        return Problem(what, f"{self.place}, column {column}", mend)

    def whole(self, column: str, least: int, most: int) -> int:
        """The whole number in a column. Raises `ProblemError` when there is none, or it is out of range."""
        text = self.values[column]
        if not text.isascii() or not text.isdecimal() or not least <= int(text[:12]) <= most:
            raise ProblemError(
                self.problem(
                    column, f"“{text[:40]}” is no whole number from {least} to {most}", "Write one, 4 say"
                )
            )
        return int(text)

    def above_zero(self, column: str, most: float) -> float:
        """The number above 0 in a column; a decimal comma is taken too. Raises `ProblemError` for any other text."""
        text = self.values[column]
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = math.nan
        if not 0 < value <= most:
            raise ProblemError(
                self.problem(
                    column, f"“{text[:40]}” is no number above 0 up to {most:g}", "Write one, 1250.5 say"
                )
            )
        return value


def read_list(path: Path, needed: Sequence[str], more: Sequence[str] = ()) -> list[Row]:
    """The rows of a list, empty ones passed over. Columns may stand in any order, between commas, semicolons or tabs.

    Columns in `more` may be missing and then read as empty; others are not looked at.

    Raises `ProblemError` when the file is missing, no text, too large, or lacks a needed column.
    """
    text = _text(path)
    delimiter = max(DELIMITERS, key=text.partition("\n")[0].count)
    try:
        rows = [
            (f"{path.name}, line {reader.line_num}", row)
            for reader in [csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)]
            for row in reader
        ]
    except csv.Error as error:
        raise ProblemError(Problem(f"The list cannot be read ({error})", path.name, SAVE_ANEW)) from None
    columns = [word.strip().casefold() for word in rows[0][1]] if rows else []
    missing = [column for column in needed if columns.count(column) != 1]
    if missing:
        what = f"The first row must name {', '.join(missing)} once; it says “{', '.join(columns)[:80]}”"
        raise ProblemError(Problem(what, path.name, SAVE_ANEW))
    found = [
        Row(place, _by_column(columns, row, (*needed, *more)))
        for place, row in rows[1:]
        if any(word.strip() for word in row)
    ]
    if not 1 <= len(found) <= MOST_ROWS:
        what = f"The list has {len(found)} rows under its headings"
        raise ProblemError(Problem(what, path.name, f"Give 1 to {MOST_ROWS} rows"))
    return found


def _by_column(columns: Sequence[str], row: Sequence[str], wanted: Sequence[str]) -> dict[str, str]:
    values = dict(zip(columns, (word.strip() for word in row), strict=False))
    return {column: values.get(column, "") for column in wanted}


def _text(path: Path) -> str:
    if not path.is_file():
        raise ProblemError(Problem("There is no such file", str(path), "Give the path of a list"))
    if path.stat().st_size > MOST_BYTES:
        raise ProblemError(Problem("The list is larger than 5 MB", path.name, "Split it up"))
    try:
        return path.read_text("utf-8-sig")
    except (UnicodeDecodeError, OSError) as error:
        raise ProblemError(Problem(f"The list cannot be read ({error})", path.name, SAVE_ANEW)) from None
