"""Whole bills out as a workbook or CSV, and in: looked at first, then written as drafts."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_http_methods

from bom.items import uploads
from bom.kernel import exporting
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from production.site.bills.whole import HEADINGS, LEVELS, PARENTS, bring_in_bills, look_at_bills, rows_out
from production.works.person import person


@require_GET
def whole(request: HttpRequest) -> HttpResponse:
    """Every bill in force, `?layout=levels` or by parents, `?as=csv` or as a workbook."""
    layout = LEVELS if request.GET.get("layout") == LEVELS else PARENTS
    write = exporting.csv if request.GET.get("as") == "csv" else exporting.xlsx
    return write(f"bills-{layout}", HEADINGS[layout], rows_out(layout))


@require_http_methods(["GET", "POST"])
@needs("bom.add_revision")
def bring_in(request: HttpRequest) -> HttpResponse:
    """A file posted is looked at; its digest posted brings in exactly what was looked at."""
    if request.method == "GET":
        return _page(request, {})
    try:
        if digest := request.POST.get("digest", ""):
            return _apply(request, digest)
        return _look(request)
    except ProblemError as refusal:
        return _page(request, {"problems": refusal.problems}, status=409)


def _look(request: HttpRequest) -> HttpResponse:
    file = request.FILES.get("file")
    if file is None:
        raise ProblemError(
            Problem("No file was chosen", "", "Choose a workbook (.xlsx) or CSV and look at it.")
        )
    content, name = file.read(), file.name or "file"
    looked = look_at_bills(content=content, file=name)
    context = {
        "problems": looked.problems,
        "looked": looked,
        "file_name": name,
        "digest": "" if looked.problems else uploads.keep(content),
    }
    return _page(request, context, status=422 if looked.problems else 200)


def _apply(request: HttpRequest, digest: str) -> HttpResponse:
    name = request.POST.get("file_name", "file")
    changes = bring_in_bills(content=uploads.fetch(digest), file=name, by=person(request))
    uploads.forget(digest)
    written = [one for one in changes if not one.is_same]
    messages.success(
        request,
        f"{len(written)} drafts are written, {len(changes) - len(written)} bills are as they were. "
        "Look at each and release it.",
    )
    return redirect("bills:bills")


def _page(request: HttpRequest, context: dict[str, object], status: int = 200) -> HttpResponse:
    headings = {"columns": ("part",), "optional": ("parent", "level", *HEADINGS[PARENTS][1:])}
    return page(request, "bills/bring_in.html", headings | context, status=status)
