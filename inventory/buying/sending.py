"""Sending an order: its paper is drawn in the background, kept as it went out, and mailed where we know an address."""

from __future__ import annotations

import hashlib
from functools import partial

from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.exporting import MIME
from bom.kernel.runs import SILENCE_ALLOWED
from bom.people.models import User
from inventory.buying import tasks
from inventory.buying.models import PurchaseOrder
from inventory.buying.ordering import locked
from inventory.buying.paper_models import Letterhead, OrderPaper
from inventory.buying.papers.contents import Paper, paper_of
from inventory.buying.papers.workbook import make_workbook

State, Outcome = OrderPaper.State, OrderPaper.Outcome
KINDS = {"pdf": "application/pdf", "xlsx": MIME}


@transaction.atomic
def send_order(*, order: PurchaseOrder, by: User | None, key: str) -> OrderPaper:
    """Have a released order's paper drawn, kept and mailed. Sending again makes a further copy.

    A repeat of the key, or a second press while a copy is being drawn, returns that copy.

    Raises:
        ProblemError: the order is not released.
    """
    found = locked(order, PurchaseOrder.State.RELEASED, doing="sent")
    before = OrderPaper.objects.filter(key=key).first() or _being_drawn(found)
    if before is not None:
        return before
    last = found.papers.aggregate(last=Max("copy"))["last"] or 0
    paper = OrderPaper.objects.create(
        order=found, copy=last + 1, key=key, asked_by=by, step="waiting to be drawn"
    )
    transaction.on_commit(partial(tasks.draw_paper.delay, paper.pk))
    return paper


def _being_drawn(order: PurchaseOrder) -> OrderPaper | None:
    """A copy that is being drawn; one whose worker has been silent too long is given up."""
    silent_since = timezone.now() - SILENCE_ALLOWED
    unfinished = order.papers.exclude(state=State.FINISHED)
    unfinished.filter(asked_at__lt=silent_since).update(
        state=State.FINISHED,
        outcome=Outcome.FAILED,
        failure="The worker fell silent; send it again.",
        finished_at=timezone.now(),
    )
    return unfinished.filter(asked_at__gte=silent_since).first()


def open_file(paper: OrderPaper, kind: str) -> bytes:
    """The stored file, `pdf` or `xlsx`, exactly as it was sent.

    Raises:
        ProblemError: it is not drawn yet, or the file no longer has the hash that was kept when it went out.
    """
    stored, kept = (paper.pdf, paper.pdf_sha256) if kind == "pdf" else (paper.workbook, paper.workbook_sha256)
    where = f"{paper.order.number}, copy {paper.copy}"
    if stored is None:
        raise ProblemError(Problem("This copy has not been drawn", where, "Wait a moment, or send it again."))
    content = bytes(stored)
    if hashlib.sha256(content).hexdigest() != kept:
        raise ProblemError(
            Problem(
                "The file in the database is not the one that was sent",
                where,
                "Restore the database from a copy; do not rely on this file.",
            )
        )
    return content


def store(paper: OrderPaper, contents: Paper, pdf: bytes) -> None:
    """Keep what was drawn, mail it, and end the run. One transaction; called by the worker."""
    book = make_workbook(contents)
    with transaction.atomic():
        paper.pdf, paper.pdf_sha256 = pdf, hashlib.sha256(pdf).hexdigest()
        paper.workbook, paper.workbook_sha256 = book, hashlib.sha256(book).hexdigest()
        paper.mailed_to = paper.order.supplier.email
        paper.state, paper.outcome = State.FINISHED, Outcome.SUCCEEDED
        paper.percent, paper.step, paper.finished_at = 100, "", timezone.now()
        paper.save()
        # Mailed last: where this fails nothing is kept, and what was mailed is always what is kept.
        if paper.mailed_to:
            _mail(paper, pdf, book)


def contents_of(paper: OrderPaper) -> Paper:
    """What stands on this copy."""
    return paper_of(paper.order, copy=paper.copy)


def _mail(paper: OrderPaper, pdf: bytes, book: bytes) -> None:
    number = paper.order.number
    head = Letterhead.current()
    again = f" (copy {paper.copy}; it replaces the one before)" if paper.copy > 1 else ""
    message = EmailMessage(
        subject=f"Purchase order {number} from {head.name}{again}",
        body=(
            f"Please find our purchase order {number} attached, as a paper and as a workbook{again}.\n\n"
            "Please confirm each line with its day and quantity.\n\n"
            f"{head.name}\n{head.address}\n{head.telephone}\n"
        ),
        to=[paper.mailed_to],
        reply_to=[head.email] if head.email else None,
    )
    message.attach(f"{number}.pdf", pdf, KINDS["pdf"])
    message.attach(f"{number}.xlsx", book, KINDS["xlsx"])
    message.send()
