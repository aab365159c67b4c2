"""An order paper as a workbook: the same lines, for a supplier who copies them into his own system."""

from __future__ import annotations

from bom.kernel.exporting import workbook
from inventory.buying.papers.contents import Paper

HEADER = (
    "order",
    "line",
    "our code",
    "name",
    "your code",
    "quantity",
    "unit",
    "price",
    "value",
    "wanted there",
)


def make_workbook(paper: Paper) -> bytes:
    """One sheet named after the order: a row for each line."""
    rows = [
        (
            paper.number,
            line.position,
            line.code,
            line.name,
            line.their_code,
            line.quantity,
            line.unit,
            line.price,
            line.value,
            line.wanted_on,
        )
        for line in paper.lines
    ]
    return workbook(paper.number, HEADER, rows)
