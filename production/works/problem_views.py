"""Pages of problems with their photos, of hours, and of printed job cards."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.attachments import PICTURES, give_out, read_upload
from bom.kernel.entries import Done, Sent, entry_page, form_key
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from production.works import problems as verbs
from production.works.card_filters import ProblemFilter
from production.works.card_models import CardPaper, JobCard, WorkProblem
from production.works.card_queries import against_the_bill, hours
from production.works.card_queries import problems as all_problems
from production.works.card_tables import HoursTable, ProblemTable
from production.works.card_views import card_page
from production.works.person import person
from production.works.printing import print_cards

WEEKS_COMPARED = 4
KEY = "problem"


@require_POST
@needs("production.report_work")
def report(request: HttpRequest, card: str) -> HttpResponse:
    """Write down a problem at a card, with its photo. Not kept on the device: a photo is too large to wait there."""
    found = get_object_or_404(JobCard, number__iexact=card)
    try:
        verbs.report(
            card=found,
            kind=request.POST.get("kind", ""),
            words=request.POST.get("words", ""),
            by=person(request),
            key=form_key(request),
            photo=read_upload(request.FILES.get("photo"), kinds=PICTURES, what="photo"),
            stops_work=request.POST.get("stops_work") == "yes",
        )
    except ProblemError as refusal:
        return card_page(request, refusal.problems, card)
    messages.success(request, f"Written down for {found.number}: the manager sees it.")
    return redirect("cards:card", found.number)


@require_GET
def problem_list(request: HttpRequest) -> HttpResponse:
    return table_page(
        request,
        table_class=ProblemTable,
        queryset=all_problems(),
        filterset_class=ProblemFilter,
        template="works/problems.html",
        export_name="problems",
    )


@require_GET
def problem(request: HttpRequest, trouble: int) -> HttpResponse:
    """One problem, its photo, and what was done about it."""
    return _problem_page(request, (), trouble)


@require_GET
def photo(request: HttpRequest, trouble: int) -> FileResponse:
    """The photo as it was kept; its type is the one its bytes had when it came."""
    found = get_object_or_404(WorkProblem, pk=trouble)
    return give_out(found.photo.name or "", found.photo_type)


def _problem_page(request: HttpRequest, problems: tuple[Problem, ...], trouble: int) -> HttpResponse:
    found = get_object_or_404(all_problems(), pk=trouble)
    context = {"trouble": found, "problems": problems, "key": new_key(KEY)}
    return page(request, "works/problem.html", context, status=409 if problems else 200)


def _take_settle(sent: Sent, trouble: int) -> Done:
    found = verbs.settle(
        problem=get_object_or_404(WorkProblem, pk=trouble), answer=sent.fields.get("answer", ""), by=sent.by
    )
    return Done(f"Settled: {found.words}", reverse("cards:problems"))


settle = entry_page(permission="production.solve_problem", show=_problem_page, take=_take_settle)


@require_GET
def hours_list(request: HttpRequest) -> HttpResponse:
    """Time by day, person and station, and each station's time against what the bills give."""
    since = timezone.localdate() - timedelta(weeks=WEEKS_COMPARED)
    return table_page(
        request,
        table_class=HoursTable,
        queryset=hours(),
        template="works/hours.html",
        export_name="hours",
        context={"compared": against_the_bill(since), "since": since},
    )


@require_POST
@needs("production.report_work")
def print_them(request: HttpRequest) -> HttpResponse:
    """Have the ticked cards drawn; the page of the paper says how far it is."""
    try:
        paper = print_cards(
            numbers=request.POST.getlist("card"),
            size=request.POST.get("size", CardPaper.Size.A5),
            by=person(request),
            key=form_key(request),
        )
    except ProblemError as refusal:
        for one in refusal.problems:
            messages.error(request, str(one))
        return redirect("cards:cards")
    return redirect("cards:paper", paper.pk)


@require_GET
def paper(request: HttpRequest, paper: int) -> HttpResponse:
    """A paper being drawn, or ready to be opened."""
    found = get_object_or_404(CardPaper.objects.defer("pdf"), pk=paper)
    context = {
        "paper": found,
        "cards": list(found.cards.select_related("process")),
        "progress_url": reverse("cards:paper", args=[found.pk]),
        "pdf_url": reverse("cards:paper_pdf", args=[found.pk]),
    }
    return page(request, "works/paper.html", context, part="kernel/_paper_progress.html")


@require_GET
def paper_pdf(request: HttpRequest, paper: int) -> HttpResponse:
    found = get_object_or_404(CardPaper, pk=paper)
    if found.pdf is None:
        raise Http404("These cards are not drawn yet.")
    answer = HttpResponse(bytes(found.pdf), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="job-cards-{found.pk}.pdf"'
    return answer
