"""Job cards as a PDF, made by the worker: it loads the typesetter, which the web process must not."""

from __future__ import annotations

import json
from pathlib import Path

import typst
from django.db import transaction
from django.utils import timezone

from bom.kernel.running import Pulse, Runner
from bom.kernel.runs import Run
from bom.templatetags.workshop import day_text
from production.works.card_models import CardPaper
from production.works.papers.contents import card_texts

TEMPLATE = Path(__file__).with_name("cards.typ")
RUNNER = Runner(CardPaper, what="job cards", first_step="reading the cards")


def make_paper(paper_id: int) -> None:
    """Draw a queued paper; one that another worker has claimed is left alone."""
    RUNNER.carry_out(paper_id, _draw)


def _draw(paper: CardPaper, pulse: Pulse) -> None:
    cards = list(paper.cards.select_related("process", "follows").order_by("process__sequence", "number"))
    texts = []
    for at, card in enumerate(cards):
        pulse.step(80 * at / max(len(cards), 1), f"drawing {card.number}")
        texts.append(card_texts(card))
    pulse.step(85, "setting the pages")
    pdf = draw_cards(texts, size=paper.size)
    with transaction.atomic():
        CardPaper.objects.filter(pk=paper.pk).update(pdf=pdf)
        if not RUNNER.close(paper.pk, Run.Outcome.SUCCEEDED):
            transaction.set_rollback(True)


def draw_cards(texts: list[dict[str, object]], *, size: str) -> bytes:
    """The cards on A5 or A4, each on a sheet of its own."""
    inputs = {"cards": json.dumps(texts), "size": size, "printed": day_text(timezone.localdate())}
    drawn = typst.compile(TEMPLATE.read_bytes(), sys_inputs=inputs)
    if not isinstance(drawn, bytes):
        raise TypeError("The typesetter gave several files for one paper.")
    return drawn
