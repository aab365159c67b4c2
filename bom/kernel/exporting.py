"""Workbooks out: what a person sees in a table, as an xlsx file."""

import csv as separated
import io
from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font

MIME = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_FORBIDDEN = {code: None for code in range(32) if code not in (9, 10, 13)}


def cell_value(value: Any) -> Any:
    """A value that a workbook can hold.

    Text that a spreadsheet would run as a formula gets a leading apostrophe; aware times lose their zone after
    being turned to local time, because a workbook knows none; other objects are written as they are shown.
    """
    if value is None or isinstance(value, bool | int | float | Decimal):
        return value
    if isinstance(value, datetime):
        return timezone.localtime(value).replace(tzinfo=None) if value.tzinfo else value
    if hasattr(value, "isoformat"):
        return value
    text = str(value).translate(_FORBIDDEN)
    # One that begins so behind apostrophes of its own gets one more, so that reading it back takes off just that.
    return f"'{text}" if text.lstrip("'").startswith(_FORMULA_STARTS) else text


def workbook(title: str, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    """An xlsx file with one sheet: a bold header, frozen, and the rows."""
    return workbook_of_sheets([(title, header, rows)])


def workbook_of_sheets(sheets: Iterable[tuple[str, Sequence[str], Iterable[Sequence[Any]]]]) -> bytes:
    """An xlsx file with a sheet for each title, header and rows."""
    book = Workbook(write_only=True)
    for title, header, rows in sheets:
        sheet = book.create_sheet(title[:31].translate({ord(sign): " " for sign in "[]:*?/\\"}) or "Sheet")
        sheet.freeze_panes = "A2"
        cells = []
        for text in header:
            cell = WriteOnlyCell(sheet, value=text)
            cell.font = Font(bold=True)
            cells.append(cell)
        sheet.append(cells)
        for row in rows:
            sheet.append([cell_value(value) for value in row])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def xlsx(name: str, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    """The workbook as a download called `name`-YYYY-MM-DD.xlsx."""
    return xlsx_of_sheets(name, [(name, header, rows)])


def xlsx_of_sheets(
    name: str, sheets: Iterable[tuple[str, Sequence[str], Iterable[Sequence[Any]]]]
) -> HttpResponse:
    """The workbook with all its sheets as a download called `name`-YYYY-MM-DD.xlsx."""
    response = HttpResponse(workbook_of_sheets(sheets), content_type=MIME)
    response["Content-Disposition"] = f'attachment; filename="{name}-{timezone.localdate():%Y-%m-%d}.xlsx"'
    return response


def csv(name: str, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    """The same as text with commas, in UTF-8, called `name`-YYYY-MM-DD.csv."""
    text = io.StringIO()
    writer = separated.writer(text)
    writer.writerow(header)
    writer.writerows([cell_value(value) for value in row] for row in rows)
    response = HttpResponse(text.getvalue().encode("utf-8-sig"), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}-{timezone.localdate():%Y-%m-%d}.csv"'
    return response
