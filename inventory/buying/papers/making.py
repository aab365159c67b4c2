"""One order paper made by the worker: claimed, drawn, kept."""

from __future__ import annotations

import logging

from django.utils import timezone

from inventory.buying import sending
from inventory.buying.paper_models import OrderPaper
from inventory.buying.papers.drawing import draw_pdf

State, Outcome = OrderPaper.State, OrderPaper.Outcome
log = logging.getLogger(__name__)


def make_paper(paper_id: int) -> None:
    """Draw a queued paper; one that another worker has claimed is left alone. A failure is kept with its sentence."""
    now = timezone.now()
    claimed = OrderPaper.objects.filter(pk=paper_id, state=State.QUEUED).update(
        state=State.RUNNING, started_at=now, heartbeat_at=now, step="drawing"
    )
    if claimed != 1:
        return
    paper = OrderPaper.objects.select_related("order__supplier", "order__released_by").get(pk=paper_id)
    try:
        contents = sending.contents_of(paper)
        sending.store(paper, contents, draw_pdf(contents))
    except Exception as error:
        log.exception("Order paper %s could not be made", paper_id)
        OrderPaper.objects.filter(pk=paper_id).update(
            state=State.FINISHED,
            outcome=Outcome.FAILED,
            failure=f"It could not be made or mailed: {error}",
            finished_at=timezone.now(),
            pdf=None,
            workbook=None,
        )
