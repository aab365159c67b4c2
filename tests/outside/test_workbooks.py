"""Workbooks we write are opened by a reader that shares no code with our writer: calamine (Rust)."""

import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from python_calamine import CalamineWorkbook

from bom.kernel.errors import ProblemError
from bom.kernel.exporting import workbook
from bom.kernel.workbooks import read_rows

HEADER = ["code", "quantity", "day"]
ROWS = [["R-80 röd", Decimal("2.5"), date(2026, 5, 12)], ["=1+1", 4, None]]


def _rows(content: bytes) -> list[list[object]]:
    return CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()


def test_another_reader_sees_what_was_written():
    rows = _rows(workbook("parts", HEADER, ROWS))

    assert rows[0] == HEADER
    assert rows[1] == ["R-80 röd", 2.5, date(2026, 5, 12)]


def test_text_that_a_spreadsheet_would_run_is_written_as_text():
    rows = _rows(workbook("parts", HEADER, ROWS))

    assert rows[2][0] == "'=1+1"


def test_a_moment_is_written_in_local_time():
    rows = _rows(workbook("times", ["at"], [[datetime(2026, 7, 1, 11, 0, tzinfo=UTC)]]))

    assert rows[1] == [datetime(2026, 7, 1, 12, 0)]  # London keeps summer time in July


def test_what_was_written_is_read_back_the_same():
    rows = read_rows(workbook("parts", HEADER, ROWS), file="parts.xlsx", columns=HEADER)

    assert [row.values["code"] for row in rows] == ["R-80 röd", "=1+1"]
    assert rows[0].where("day") == "parts.xlsx, row 2, column C (day)"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param(b"", "not a workbook", id="nothing"),
        pytest.param(b"PK\x03\x04 torn", "not a workbook", id="torn"),
        pytest.param(workbook("x", ["code"], []), "'quantity' is missing", id="a heading missing"),
        pytest.param(workbook("x", [*HEADER, "colur"], []), "'colur' is not known", id="a misspelt heading"),
        pytest.param(workbook("x", [*HEADER, "code"], []), "'code' stands twice", id="a heading twice"),
    ],
)
def test_a_bad_file_is_told_with_its_place(content, said):
    with pytest.raises(ProblemError, match=said) as refused:
        read_rows(content, file="parts.xlsx", columns=HEADER)

    assert all(problem.where.startswith("parts.xlsx") for problem in refused.value.problems)
