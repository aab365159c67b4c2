"""An order paper as PDF. Imported by background work only: it loads the typesetter."""

from __future__ import annotations

import json
from pathlib import Path

import typst

from inventory.buying.papers.contents import Paper

TEMPLATE = Path(__file__).with_name("order.typ")


def draw_pdf(paper: Paper) -> bytes:
    """The paper on A4, as many sheets as it takes."""
    drawn = typst.compile(TEMPLATE.read_bytes(), sys_inputs={"paper": json.dumps(paper.as_texts())})
    if not isinstance(drawn, bytes):
        raise TypeError("The typesetter gave several files for one paper.")
    return drawn
