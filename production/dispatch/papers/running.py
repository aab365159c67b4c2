"""Papers for many trailers: queued, made by a worker with its progress, taken as one zip."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from functools import partial
from typing import Any, Protocol

from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.running import Pulse, Runner, Stopped
from bom.people.models import User
from production.dispatch.models import Paper, PaperRun, PaperTemplate, PaperWanted
from production.dispatch.papers.build_sheets import build_sheet_of
from production.dispatch.papers.contents import contents_of
from production.dispatch.papers.shipped import BUILD_SHEET, CLOSING, OF_A_WEEK, PACK, PACKED, TEMPLATES
from production.dispatch.tasks import make_papers
from production.orders.models import Order

RUNNER = Runner(PaperRun, what="papers", first_step="reading the records")
sweep = RUNNER.sweep
MOST = 500
LONGEST = 20_000


class Setter(Protocol):
    """What sets a paper: see `press.Press`."""

    def set(self, kind: str, data: Mapping[str, Any]) -> bytes: ...


OpenPress = Callable[[Mapping[str, str]], AbstractContextManager[Setter]]


def templates() -> dict[str, str]:
    """The text of every paper's template: the workshop's last, else the shipped one."""
    own = dict(PaperTemplate.objects.order_by("pk").values_list("kind", "text"))
    return {kind: own.get(kind, text) for kind, text in TEMPLATES.items()}


def texts_of(kinds: Sequence[str]) -> dict[str, str]:
    """What the press is given for each of these papers: the template, and what no template leaves out."""
    own = {kind: text + CLOSING.get(kind, "") for kind, text in templates().items()}
    own[PACK] = "\n".join(own[kind] for kind in PACKED)
    return {kind: own[kind] for kind in kinds}


def store_template(*, kind: str, text: str, by: User) -> PaperTemplate:
    """Keep a new text for a paper; older ones stay as they were.

    Raises:
        ProblemError: no such paper, an empty or very long text, or one that would fetch something from outside.
    """
    where = f"paper “{kind}”"
    if kind not in TEMPLATES:
        raise ProblemError(Problem("There is no such paper", where, f"There are: {', '.join(TEMPLATES)}."))
    if not 1 <= len(text.strip()) <= LONGEST:
        raise ProblemError(
            Problem("The text is empty or too long", where, f"Write up to {LONGEST} characters.")
        )
    if '"@' in text:
        raise ProblemError(
            Problem("A template fetches nothing from outside", where, "Leave imports of “@…” out.")
        )
    last: PaperTemplate | None = PaperTemplate.objects.filter(kind=kind).order_by("-pk").first()
    if last is not None and last.text == text:
        return last
    made: PaperTemplate = PaperTemplate.objects.create(kind=kind, text=text, by=by)
    return made


def start_papers(
    *, orders: Sequence[Order], title: str, key: str, by: User, kinds: Sequence[str] = OF_A_WEEK
) -> PaperRun:
    """Queue papers of these trailers. The same key once more gives the run that is there.

    Raises:
        ProblemError: no trailers, or more than can be made in one go.
    """
    if not 1 <= len(orders) <= MOST:
        raise ProblemError(
            Problem(f"{len(orders)} trailers are chosen", title, f"Choose a week with 1 to {MOST} trailers.")
        )
    with transaction.atomic():
        run, is_new = PaperRun.objects.get_or_create(
            key=key,
            defaults={
                "title": title,
                "kinds": " ".join(kinds),
                "asked_by": by,
                "step": "waiting for the worker",
            },
        )
        if is_new:
            PaperWanted.objects.bulk_create(PaperWanted(run=run, order=order) for order in orders)
            transaction.on_commit(partial(make_papers.delay, run.pk))
    return run


def carry_out(run_id: int, *, press: OpenPress) -> None:
    """Make the papers of a queued run with this press."""
    RUNNER.carry_out(run_id, partial(_work, press=press))


def zipped(run: PaperRun) -> bytes:
    """All papers of a run in one zip, a folder for each trailer."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as made:
        for number, kind, content in Paper.objects.filter(run=run).values_list(
            "order__number", "kind", "content"
        ):
            made.writestr(f"{number}/{number}-{kind}.pdf", bytes(content))
    return out.getvalue()


def _work(run: PaperRun, pulse: Pulse, *, press: OpenPress) -> None:
    orders = list(
        Order.objects.filter(papers_wanted__run=run)
        .select_related("customer", "model", "hull", "bill")
        .order_by("number")
    )
    texts, kinds = contents_of(orders), run.kinds.split() or OF_A_WEEK
    papers: list[Paper] = []
    total = len(orders) * len(kinds)
    with press(texts_of(kinds)) as setter:
        for order in orders:
            if BUILD_SHEET in kinds:
                texts[order.pk] |= build_sheet_of(order)
            for kind in kinds:
                said = f"paper {len(papers) + 1} of {total}, order {order.number}"
                if not pulse.tell(5 + 90 * len(papers) / total, said):
                    raise Stopped
                papers.append(
                    Paper(run=run, order=order, kind=kind, content=setter.set(kind, texts[order.pk]))
                )
    pulse.step(96, "keeping them")
    with transaction.atomic():
        Paper.objects.bulk_create(papers, batch_size=100)
        PaperRun.objects.filter(pk=run.pk).update(papers=len(papers))
        if not RUNNER.close(run.pk, PaperRun.Outcome.SUCCEEDED):
            raise Stopped
