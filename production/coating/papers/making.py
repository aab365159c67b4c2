"""Draws the papers of loads. Loads the typesetter: imported by background work only."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import typst
from django.db import transaction
from django.utils import timezone

from bom.kernel.running import Pulse, Runner
from bom.kernel.runs import Run
from bom.templatetags.workshop import day_text
from production.coating.paper_models import LoadPaper
from production.coating.papers.contents import claim_texts, note_texts

FOLDER = Path(__file__).parent
CONTENTS = {LoadPaper.Kind.NOTE: note_texts, LoadPaper.Kind.CLAIM: claim_texts}
RUNNER = Runner(LoadPaper, what="paper", first_step="reading the load")


def make_paper(paper_id: int) -> None:
    """Draw a queued paper; one that another worker has claimed is left alone."""
    RUNNER.carry_out(paper_id, _draw)


def draw_pdf(kind: str, texts: dict[str, Any]) -> bytes:
    """One paper on A4, as many sheets as it takes."""
    inputs = {"paper": json.dumps(texts | {"printed": day_text(timezone.localdate())})}
    drawn = typst.compile(FOLDER / f"{kind}.typ", root=FOLDER, sys_inputs=inputs)
    if not isinstance(drawn, bytes):
        raise TypeError("The typesetter gave several files for one paper.")
    return drawn


def _draw(paper: LoadPaper, pulse: Pulse) -> None:
    texts = CONTENTS[LoadPaper.Kind(paper.kind)](paper.load)
    pulse.step(50, "setting the pages")
    pdf = draw_pdf(paper.kind, texts)
    with transaction.atomic():
        LoadPaper.objects.filter(pk=paper.pk).update(pdf=pdf)
        if not RUNNER.close(paper.pk, Run.Outcome.SUCCEEDED):
            transaction.set_rollback(True)
