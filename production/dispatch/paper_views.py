"""Papers: for one trailer or a week, their progress, the zip, and the workshop's templates."""

from __future__ import annotations

from datetime import date, timedelta

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from production.dispatch.models import Paper, PaperRun
from production.dispatch.papers import running
from production.dispatch.papers.shipped import ABOUT, BUILD_SHEET, CLOSING, FIELDS, OF_A_WEEK, PACK, TEMPLATES
from production.orders.models import Order
from production.works.person import person

SHOWN = 20
MADE = (Order.State.BEGUN, Order.State.DONE, Order.State.RELEASED, Order.State.CONFIRMED)


def orders_of_week(monday: date) -> list[Order]:
    """Trailers held to a day of this week that have not gone."""
    end = monday + timedelta(days=7)
    held = Q(promised_on__gte=monday, promised_on__lt=end) | Q(
        promised_on__isnull=True, asked_for__gte=monday, asked_for__lt=end
    )
    return list(
        Order.objects.filter(held, state__in=MADE).select_related("customer", "model").order_by("number")
    )


@require_http_methods(["GET", "POST"])
def papers(request: HttpRequest) -> HttpResponse:
    """Choose a week and see its trailers; a POST makes their papers."""
    monday = _monday(request.POST.get("week") or request.GET.get("week", ""))
    return _start(request, monday) if request.method == "POST" else _page(request, monday)


@needs("production.report_work")
def _start(request: HttpRequest, monday: date) -> HttpResponse:
    try:
        run = running.start_papers(
            orders=orders_of_week(monday),
            title=f"Papers of week {monday.isocalendar().week}",
            key=request.POST.get("key", "")[:60],
            by=person(request),
        )
    except ProblemError as refusal:
        return _page(request, monday, refusal)
    return redirect("dispatch:paper_run", run.pk)


@require_POST
@needs("production.report_work")
def of_trailer(request: HttpRequest, number: str) -> HttpResponse:
    return _start_one(request, number, "Papers", OF_A_WEEK)


@require_POST
@needs("production.report_work")
def pack(request: HttpRequest, number: str) -> HttpResponse:
    """The hand-over pack: what goes with the trailer, as one document."""
    return _start_one(request, number, "Hand-over pack", (PACK,))


@require_POST
@needs("production.report_work")
def build_sheet(request: HttpRequest, number: str) -> HttpResponse:
    return _start_one(request, number, "Build sheet", (BUILD_SHEET,))


def _start_one(request: HttpRequest, number: str, what: str, kinds: tuple[str, ...]) -> HttpResponse:
    run = running.start_papers(
        orders=[get_object_or_404(Order, number=number)],
        title=f"{what} of order {number}",
        key=request.POST.get("key", "")[:60],
        by=person(request),
        kinds=kinds,
    )
    return redirect("dispatch:paper_run", run.pk)


@require_GET
def paper_run(request: HttpRequest, run: int) -> HttpResponse:
    found = get_object_or_404(PaperRun.objects.select_related("asked_by"), pk=run)
    if getattr(request, "htmx", False) and not found.is_open:
        answer = HttpResponse()
        answer["HX-Refresh"] = "true"
        return answer
    made = Paper.objects.filter(run=found).defer("content").select_related("order")[: SHOWN * len(OF_A_WEEK)]
    context = {"run": found, "papers": made, "count": found.wanted.count()}
    return page(request, "dispatch/paper_run.html", context, part="dispatch/_paper_progress.html")


@require_POST
@needs("production.report_work")
def stop(request: HttpRequest, run: int) -> HttpResponse:
    running.RUNNER.ask_to_stop(get_object_or_404(PaperRun, pk=run))
    return redirect("dispatch:paper_run", run)


@require_GET
def zip_file(request: HttpRequest, run: int) -> HttpResponse:
    found = get_object_or_404(PaperRun, pk=run)
    if not found.has_succeeded:
        raise Http404("These papers are not made yet.")
    answer = HttpResponse(running.zipped(found), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="papers-{found.pk}.zip"'
    return answer


@require_GET
def paper(request: HttpRequest, run: int, paper: int) -> HttpResponse:
    found = get_object_or_404(Paper.objects.select_related("order"), pk=paper, run=run)
    answer = HttpResponse(bytes(found.content), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{found.order.number}-{found.kind}.pdf"'
    return answer


@require_http_methods(["GET", "POST"])
def templates(request: HttpRequest) -> HttpResponse:
    """The texts of the papers; a POST stores another."""
    return _store(request) if request.method == "POST" else _templates_page(request)


@needs("production.set_checks")
def _store(request: HttpRequest) -> HttpResponse:
    kind = request.POST.get("kind", "")
    try:
        text = _template_text(request, kind)
        running.store_template(kind=kind, text=text, by=person(request))
    except ProblemError as refusal:
        return _templates_page(request, refusal)
    messages.success(request, f"The paper “{kind}” is stored; the next papers are made by it.")
    return redirect("dispatch:templates")


def _template_text(request: HttpRequest, kind: str) -> str:
    """What was typed, the file that was taken up, or the shipped text again.

    Raises:
        ProblemError: the file is no text, or far too large.
    """
    if request.POST.get("what") == "shipped" and kind in TEMPLATES:
        return TEMPLATES[kind]
    file = request.FILES.get("file")
    if file is None:
        return request.POST.get("text", "").replace("\r\n", "\n")
    try:
        if not file.size or file.size > 4 * running.LONGEST:
            raise ValueError
        return str(file.read().decode("utf-8-sig")).replace("\r\n", "\n")
    except ValueError:
        raise ProblemError(
            Problem(
                "The file is no text that can be a template",
                f"paper “{kind}”",
                "Save it as plain text, UTF-8.",
            )
        ) from None


def _templates_page(request: HttpRequest, refusal: ProblemError | None = None) -> HttpResponse:
    context = {
        "templates": [
            (
                kind,
                kind.replace("-", " "),
                ABOUT.get(kind, ""),
                text,
                text == TEMPLATES[kind],
                CLOSING.get(kind),
            )
            for kind, text in running.templates().items()
        ],
        "fields": FIELDS,
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/templates.html", context, status=409 if refusal else 200)


def _page(request: HttpRequest, monday: date, refusal: ProblemError | None = None) -> HttpResponse:
    context = {
        "monday": monday,
        "before": monday - timedelta(days=7),
        "after": monday + timedelta(days=7),
        "orders": orders_of_week(monday),
        "kinds": len(OF_A_WEEK),
        "runs": PaperRun.objects.select_related("asked_by")[:SHOWN],
        "key": new_key("papers"),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/papers.html", context, status=409 if refusal else 200)


def _monday(said: str) -> date:
    try:
        day = date.fromisoformat(said)
    except ValueError:
        day = timezone.localdate()
    return day - timedelta(days=day.weekday())
