"""A batch or one sheet on paper: the drawing with its list as PDF, the list alone as a workbook.

The typesetter runs in a process of its own: the web process must not load it.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterable, Sequence
from html import escape
from typing import Any

from django.conf import settings
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.templatetags.workshop import day_text
from production.cutting.drawing import Drawing
from production.cutting.marking import Marking
from production.cutting.models import CutSheet
from production.cutting.queries import PartRow, drawing_of, part_rows, placements_of
from production.cutting.shelves import where_to_fetch

SECONDS_ALLOWED = 40
HEADER = (
    "Sheet", "Raw sheet", "Offcut", "Mark", "Part", "Name", "Order", "From the left mm", "From below mm", "Turned °",
    "Mirrored", "State",
)  # fmt: skip


def nest_pdf(sheets: Sequence[CutSheet]) -> bytes:
    """One page for each sheet, more where its list is long. The sheets bring batch, item and lot.

    Raises:
        ProblemError: the typesetter could not draw it.
    """
    fetch = where_to_fetch(sheets)
    job = {
        "printed": day_text(timezone.localdate()),
        "sheets": [_texts(sheet, getattr(fetch.get(sheet.pk), "location", "")) for sheet in sheets],
    }
    child = subprocess.run(
        [sys.executable, "-m", "production.cutting.nest_paper_child"],
        input=json.dumps(job).encode(),
        capture_output=True,
        timeout=SECONDS_ALLOWED,
        cwd=settings.BASE_DIR,
        check=False,
    )
    if child.returncode:
        raise ProblemError(
            Problem(
                "The nest could not be drawn on paper", str(sheets[0]), "Tell who looks after the program."
            )
        )
    return child.stdout


def nest_rows(sheets: Iterable[CutSheet]) -> Iterable[tuple[Any, ...]]:
    """One row for each part on the sheets, under `HEADER`."""
    for sheet in sheets:
        for row in part_rows(placements_of(sheet), Marking({})):
            for one in row.placements:
                yield (
                    sheet.number,
                    sheet.item.code,
                    sheet.lot.code if sheet.lot is not None and sheet.lot.kind == "offcut" else "",
                    row.mark,
                    row.code,
                    row.name,
                    row.order or _for_whom(row),
                    one.x_mm,
                    one.y_mm,
                    one.rotation_deg,
                    "yes" if one.mirrored else "",
                    one.get_state_display(),
                )


def _for_whom(row: PartRow) -> str:
    return row.order or ("filler for the shelf" if row.is_filler else "for the rack")


def _texts(sheet: CutSheet, lies_at: str) -> dict[str, object]:
    """What the page of a sheet says, ready worded."""
    rows = part_rows(placements_of(sheet), Marking({}))
    batch, thickness = sheet.batch, format_quantity(sheet.batch.thickness_mm)
    offcut = f", offcut {sheet.lot.code}" if sheet.lot is not None and sheet.lot.kind == "offcut" else ""
    size = f"{format_quantity(sheet.length_mm)} × {format_quantity(sheet.width_mm)} × {thickness} mm"
    return {
        "title": f"Nest {batch.number}-{sheet.number}",
        "steel": f"{batch.grade}, {thickness} mm",
        "raw": f"{sheet.item.code}{offcut}: {size}",
        "fetch": f"lies at {lies_at}" if lies_at else "lies on no shelf",
        "figures": f"use {100 * sheet.use:.0f} %, about {sheet.minutes:.0f} min, gap "
        f"{format_quantity(batch.gap_mm)} mm, margin {format_quantity(batch.margin_mm)} mm",
        "svg": svg_of(drawing_of(sheet, rows, Marking({}))),
        "rows": [[str(row.mark), str(row.count), row.code, row.name, _for_whom(row)] for row in rows],
    }


def svg_of(drawing: Drawing) -> str:
    """The drawing as a picture that stands alone: black lines on white, with the two outer dimensions."""
    length, width = drawing.length_mm, drawing.width_mm
    flip = f'transform="translate(0 {width:.1f}) scale(1 -1)"'
    edge = drawing.outline or f"M0 0H{length:.1f}V{width:.1f}H0Z"
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-90 -90 {length + 110:.1f} {width + 110:.1f}">',
        f'<g {flip} fill="none" stroke="#111" fill-rule="evenodd"><path d="{edge}" stroke-width="6"/>',
        *(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{long:.1f}" height="{wide:.1f}" stroke-width="4" '
            'stroke-dasharray="8 8"/>'
            for x, y, long, wide in drawing.clamps
        ),
        *(
            f'<path d="{part.path}" transform="{part.transform}" fill="#e8e8e8" stroke-width="3"/>'
            for part in drawing.parts
        ),
        '</g><g font-family="sans-serif" text-anchor="middle" fill="#111">',
        *(
            f'<text x="{text.x:.1f}" y="{text.y:.1f}" font-size="{text.size:.1f}">{escape(text.words)}</text>'
            for part in drawing.parts
            for text in part.texts
        ),
        f'<text x="{length / 2:.1f}" y="-30" font-size="44">{length:.0f}</text>',
        f'<text transform="translate(-30 {width / 2:.1f}) rotate(-90)" font-size="44">{width:.0f}</text></g></svg>',
    ]
    return "".join(pieces)
