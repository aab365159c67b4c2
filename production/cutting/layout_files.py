"""The layout of a sheet as a DXF file for the machine's own program: outlines where they lie, arcs kept."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import defaultdict

from django.conf import settings

from bom.geometry.models import FlatContour
from bom.geometry.outlines import Contour, FlatOutline, from_text, transform
from bom.kernel.errors import Problem, ProblemError
from production.cutting.metal import metal_of
from production.cutting.models import CutSheet

SECONDS_ALLOWED = 20


def layout_dxf(sheet: CutSheet) -> bytes:
    """The file. Holes come before the outside of their part, as they are cut. Two queries and a child process.

    Raises:
        ProblemError: the child could not write it.
    """
    job = {"contours": [*_edges(sheet), *_contours(sheet)]}
    child = subprocess.run(
        [sys.executable, "-m", "production.cutting.dxf_child"],
        input=json.dumps(job).encode(),
        capture_output=True,
        timeout=SECONDS_ALLOWED,
        cwd=settings.BASE_DIR,
        check=False,
    )
    if child.returncode:
        raise ProblemError(
            Problem(
                "The layout could not be written as a file", str(sheet), "Tell who looks after the program."
            )
        )
    return child.stdout


def _edges(sheet: CutSheet) -> list[dict[str, object]]:
    """The sheet's edge and the holes that are in it already."""
    length, width = float(sheet.length_mm), float(sheet.width_mm)
    metal = metal_of(sheet)
    corners = metal.outline or ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    return [
        {"layer": "SHEET", "vertices": [(x, y, 0.0) for x, y in ring]} for ring in (corners, *metal.holes)
    ]


def _contours(sheet: CutSheet) -> list[dict[str, object]]:
    placements = list(sheet.placements.all())
    read: dict[int, list[Contour]] = defaultdict(list)
    for part_id, vertices in (
        FlatContour.objects.filter(part__in={one.part_id for one in placements})
        .order_by("part_id", "sequence")
        .values_list("part_id", "vertices")
    ):
        read[part_id].append(from_text(vertices))
    found: list[dict[str, object]] = []
    for one in placements:
        if not read[one.part_id]:
            continue
        outer, *inners = read[one.part_id]
        placed = transform(
            FlatOutline(outer, tuple(inners)),
            rotation_deg=float(one.rotation_deg),
            dx_mm=float(one.x_mm),
            dy_mm=float(one.y_mm),
            mirrored=one.mirrored,
        )
        found += [_written("HOLE", inner) for inner in placed.inners]
        found.append(_written("OUTSIDE", placed.outer))
    return found


def _written(layer: str, contour: Contour) -> dict[str, object]:
    return {"layer": layer, "vertices": [(v.x_mm, v.y_mm, v.bulge) for v in contour.vertices]}
