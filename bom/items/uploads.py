"""Workbooks between looking and bringing in: kept by their content, so that what is brought in is what was shown."""

import hashlib
import io
import re
import zipfile
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from itertools import islice
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone
from openpyxl import load_workbook

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row

FOLDER = "brought-in"
KEPT_FOR = timedelta(days=1)
MOST_SAID = 20


def keep(content: bytes) -> str:
    """Keep a workbook for a day; returns the digest under which `fetch` finds it."""
    _forget_old()
    digest = hashlib.sha256(content).hexdigest()
    name = _name(digest)
    if not default_storage.exists(name):
        default_storage.save(name, ContentFile(content))
    return digest


def fetch(digest: str) -> bytes:
    """The kept workbook. ProblemError when it is no longer there."""
    if not re.fullmatch(r"[0-9a-f]{64}", digest) or not default_storage.exists(_name(digest)):
        raise ProblemError(
            Problem(
                "The file that was looked at is no longer kept",
                "",
                "Choose it again and look at it once more.",
            )
        )
    with default_storage.open(_name(digest)) as file:
        return bytes(file.read())


def forget(digest: str) -> None:
    default_storage.delete(_name(digest))


def oddities(content: bytes, file: str, *, all_sheets: bool = False) -> list[Problem]:
    """Formulas and merged cells of the first sheet, or of all: their values cannot be trusted. A file that is no
    workbook has none; reading it says so."""
    try:
        return [*_merged(content, file, all_sheets), *_formulas(content, file, all_sheets)]
    except Exception:  # whatever a broken file throws, `read_rows` says it in words
        return []


def number(row: Row, column: str, *, whole: bool = False) -> Decimal | None:
    """The number in a cell, none where it is empty. ProblemError naming row and column for anything else."""
    value = row.values.get(column)
    if value is None:
        return None
    try:
        if isinstance(value, bool | datetime | date):
            raise InvalidOperation
        found = Decimal(str(value).strip())
        if not found.is_finite() or (whole and found != found.to_integral_value()):
            raise InvalidOperation
    except InvalidOperation:
        wanted = "a whole number such as 12" if whole else "a number such as 12.5"
        raise ProblemError(
            Problem(f"“{value}” is not a number here", row.where(column), f"Write {wanted}.")
        ) from None
    return found


def text(row: Row, column: str) -> str:
    """The text in a cell, "" where it is empty; a number is taken as it is written (a code of digits only)."""
    value = row.values.get(column)
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return str(value).strip()


YES, NO = ("yes", "true", "1", "y", "x"), ("no", "false", "0", "n")


def yes_no(row: Row, column: str, *, empty: bool = False) -> bool:
    """Whether a cell says yes; `empty` is what an empty cell says."""
    written = text(row, column).lower()
    if not written:
        return empty
    if written not in YES and written not in NO:
        raise ProblemError(
            Problem(f"“{text(row, column)}” is neither yes nor no", row.where(column), "Write yes or no.")
        )
    return written in YES


def day(row: Row, column: str) -> date | None:
    """The date in a cell, none where it is empty."""
    value = row.values.get(column)
    if value is None:
        return None
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value).strip())
    except ValueError:
        raise ProblemError(
            Problem(
                f"“{value}” is not a date",
                row.where(column),
                "Write it as 2026-05-28, or format the cell as a date.",
            )
        ) from None


def _name(digest: str) -> str:
    return f"{FOLDER}/{digest}.xlsx"


def _forget_old() -> None:
    if not default_storage.exists(FOLDER):
        return
    for name in default_storage.listdir(FOLDER)[1]:
        path = f"{FOLDER}/{name}"
        if default_storage.get_modified_time(path) < timezone.now() - KEPT_FOR:
            default_storage.delete(path)


def _merged(content: bytes, file: str, all_sheets: bool) -> list[Problem]:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        sheets = sorted(name for name in package.namelist() if name.startswith("xl/worksheets/sheet"))
        wanted = sheets if all_sheets else sheets[:1]
        body = "".join(package.read(name).decode("utf-8", "replace") for name in wanted)
    return [
        Problem(f"The cells {ref} are merged", file, "Take the merging apart and fill every cell.")
        for ref in re.findall(r'<mergeCell ref="([A-Z0-9:]+)"', body)[:MOST_SAID]
    ]


def _formulas(content: bytes, file: str, all_sheets: bool) -> list[Problem]:
    sheets = load_workbook(io.BytesIO(content), read_only=True).worksheets
    cells = (
        (cell, f"{file}, sheet {sheet.title}" if all_sheets else file)
        for sheet in (sheets if all_sheets else sheets[:1])
        for row in sheet.iter_rows()
        for cell in row
        if getattr(cell, "data_type", "") == "f"
    )
    return [_formula(cell, place) for cell, place in islice(cells, MOST_SAID)]


def _formula(cell: Any, file: str) -> Problem:
    return Problem(
        "A formula stands here; only values are read",
        f"{file}, row {cell.row}, column {cell.column_letter}",
        "Copy the cells and paste them as values.",
    )
