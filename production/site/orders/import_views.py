"""Orders from a workbook: look first, then bring in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_http_methods

from bom.items import uploads
from bom.kernel import exporting
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from production.site.orders.importing import COLUMNS, EXAMPLE, OPTIONAL, bring_in_orders, check_orders
from production.works.person import person


@require_http_methods(["GET", "POST"])
@needs("production.import_order")
def bring_in(request: HttpRequest) -> HttpResponse:
    """A file posted is looked at; its digest posted brings in exactly what was looked at."""
    if request.method == "GET":
        return page(request, "orders/import.html", {"columns": COLUMNS, "optional": OPTIONAL})
    try:
        if digest := request.POST.get("digest", ""):
            return _apply(request, digest)
        return _look(request)
    except ProblemError as refusal:
        context = {"columns": COLUMNS, "optional": OPTIONAL, "problems": refusal.problems}
        return page(request, "orders/import.html", context, status=409)


@require_GET
def empty_form(request: HttpRequest) -> HttpResponse:
    """A workbook with the headings and one example row."""
    return exporting.xlsx("orders-form", (*COLUMNS, *OPTIONAL), [EXAMPLE])


def _look(request: HttpRequest) -> HttpResponse:
    file = request.FILES.get("file")
    if file is None:
        raise ProblemError(Problem("No file was chosen", "", "Choose a workbook (.xlsx) and look at it."))
    content = file.read()
    checked = check_orders(content, file=file.name or "file")
    context = {
        "columns": COLUMNS,
        "optional": OPTIONAL,
        "problems": checked.problems,
        "checked": checked,
        "file_name": file.name,
        "digest": "" if checked.problems else uploads.keep(content),
    }
    return page(request, "orders/import.html", context, status=422 if checked.problems else 200)


def _apply(request: HttpRequest, digest: str) -> HttpResponse:
    content = uploads.fetch(digest)
    made = bring_in_orders(content=content, file=request.POST.get("file_name", "file"), by=person(request))
    uploads.forget(digest)
    messages.success(
        request, f"{len(made)} orders are written down as drafts: {made[0].number} to {made[-1].number}."
    )
    return redirect("orders:book")
