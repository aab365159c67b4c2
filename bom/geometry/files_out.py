"""Flat parts as files for others: DXF texts, and the list that goes with a set."""

from collections.abc import Sequence

from bom.geometry.dxf.writing import dxf_text
from bom.geometry.models import FlatPart
from bom.geometry.outlines import from_text
from bom.geometry.reading import line_of, outline_of

LIST_HEADER = ("file", "code", "name", "grade", "thickness_mm", "turning", "may_mirror", "bends", "mass_kg")


def part_text(part: FlatPart) -> str:
    """The part as DXF, with its bend lines and marks."""
    return dxf_text(
        outline_of(part.contours.all()),
        bends=[line_of(row) for row in part.fold_lines.all()],
        marks=[(from_text(row.vertices).vertices, row.is_closed) for row in part.marks.all()],
    )


def list_rows(parts: Sequence[FlatPart]) -> list[Sequence[object]]:
    """A row for each part under `LIST_HEADER`: what a nest must know beside the outline."""
    return [
        (
            f"{part.item.code}.dxf",
            part.item.code,
            part.item.name,
            part.grade,
            part.thickness_mm,
            part.get_turning_display(),
            "yes" if part.may_mirror else "no",
            part.bends,
            part.item.mass_kg,
        )
        for part in parts
    ]
