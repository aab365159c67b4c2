"""Labels as a PDF, and the layouts they are printed on."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.conf import settings
from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from inventory.stores.labels.contents import Label
from inventory.stores.labels.layouts import Sheet
from inventory.stores.labels.models import LabelLayout

SECONDS_ALLOWED = 60

# Sizes of sheets and rolls that label makers commonly offer; common practice, no source. Edit them to your stock.
USUAL = (
    ("A4, 3 × 8 labels, 70 × 37 mm", Sheet(210, 297, 3, 8, 70, 37, 0, 0.5, 70, 37)),
    ("A4, 2 × 7 labels, 99 × 38 mm", Sheet(210, 297, 2, 7, 99, 38, 5, 15.5, 101, 38)),
    ("A4, 2 × 4 labels, 99 × 68 mm", Sheet(210, 297, 2, 4, 99, 68, 5, 12.5, 101, 68)),
    ("Roll, 60 × 30 mm", Sheet(60, 30, 1, 1, 60, 30)),
    ("Roll, 100 × 50 mm", Sheet(100, 50, 1, 1, 100, 50)),
)


def document(
    labels: Sequence[Label], sheet: Sheet, *, first: int = 1, title: str = "Labels"
) -> dict[str, Any]:
    """What `press` sets: pages of labels with their places in millimetres."""
    pages: list[list[dict[str, Any]]] = []
    for label, (page, x, y) in zip(labels, sheet.spots(len(labels), first), strict=True):
        if page == len(pages):
            pages.append([])
        pages[page].append({**asdict(label), "x": x, "y": y})
    return {
        "title": title,
        "page_width_mm": sheet.page_width_mm,
        "page_height_mm": sheet.page_height_mm,
        "label_width_mm": sheet.label_width_mm,
        "label_height_mm": sheet.label_height_mm,
        "pages": pages,
    }


def print_labels(
    labels: Sequence[Label], layout: LabelLayout, *, first: int = 1, title: str = "Labels"
) -> bytes:
    """A PDF whose pages have the size of the layout; print it at full size ("100 %").

    Raises:
        ProblemError: the first place is not on the sheet, or a text does not fit its label.
    """
    data = document(labels, layout.sheet, first=first, title=title)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "inventory.stores.labels.press"],
            input=json.dumps(data).encode(),
            capture_output=True,
            cwd=settings.BASE_DIR,
            timeout=SECONDS_ALLOWED,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise ProblemError(
            Problem(f"Setting the labels took over {SECONDS_ALLOWED} seconds", "", "Print fewer at a time.")
        ) from None
    if done.returncode != 0:
        said = done.stderr.decode(errors="replace").strip().splitlines() or ["The labels could not be set"]
        raise ProblemError(Problem(said[-1], layout.name, "Choose a larger label, or shorten the text."))
    return done.stdout


def save_layout(*, layout: LabelLayout) -> LabelLayout:
    """Keep a layout, new or changed.

    Raises:
        ProblemError: labels overlap, leave the page or are too small for a code.
    """
    _ = layout.sheet
    layout.save()
    return layout


@transaction.atomic
def add_usual_layouts() -> list[LabelLayout]:
    """The common sheets and rolls; those that are there already stay as they are."""
    return [LabelLayout.objects.get_or_create(name=name, defaults=asdict(sheet))[0] for name, sheet in USUAL]
