"""The list of items, and items from a workbook: look first, then bring in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_http_methods

from bom.items import uploads
from bom.items.importing import COLUMNS, EXAMPLE, OPTIONAL, bring_in_items, check_items, rows_out
from bom.items.models import Item
from bom.items.tables import ItemFilter, ItemTable
from bom.kernel import exporting
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import table_page
from bom.people.models import User


@require_GET
def items(request: HttpRequest) -> HttpResponse:
    """Every item, with filter and export."""
    return table_page(
        request,
        table_class=ItemTable,
        queryset=Item.objects.select_related("family", "colour").order_by("code"),
        filterset_class=ItemFilter,
        template="items/items.html",
        export_name="items",
    )


@require_http_methods(["GET", "POST"])
@needs("bom.import_item")
def bring_in(request: HttpRequest) -> HttpResponse:
    """A file posted is looked at; its digest posted brings in exactly what was looked at."""
    if request.method == "GET":
        return page(request, "items/import.html", {"columns": COLUMNS, "optional": OPTIONAL})
    try:
        if digest := request.POST.get("digest", ""):
            return _apply(request, digest)
        return _look(request)
    except ProblemError as refusal:
        context = {"columns": COLUMNS, "optional": OPTIONAL, "problems": refusal.problems}
        return page(request, "items/import.html", context, status=409)


@require_GET
def empty_form(request: HttpRequest) -> HttpResponse:
    """A workbook with the headings and one example row."""
    return exporting.xlsx("items-form", (*COLUMNS, *OPTIONAL), [EXAMPLE])


@require_GET
def out(request: HttpRequest) -> HttpResponse:
    """Every item with all that can be brought in again, as a workbook or `?as=csv`."""
    write = exporting.csv if request.GET.get("as") == "csv" else exporting.xlsx
    return write("items", (*COLUMNS, *OPTIONAL), rows_out())


def _look(request: HttpRequest) -> HttpResponse:
    file = request.FILES.get("file")
    if file is None:
        raise ProblemError(
            Problem("No file was chosen", "", "Choose a workbook (.xlsx) or CSV and look at it.")
        )
    content = file.read()
    checked = check_items(content, file=file.name or "file")
    context = {
        "columns": COLUMNS,
        "optional": OPTIONAL,
        "problems": checked.problems,
        "checked": checked,
        "file_name": file.name,
        "digest": "" if checked.problems else uploads.keep(content),
    }
    return page(request, "items/import.html", context, status=422 if checked.problems else 200)


def _apply(request: HttpRequest, digest: str) -> HttpResponse:
    by = request.user if isinstance(request.user, User) else None
    content = uploads.fetch(digest)
    done = bring_in_items(content=content, file=request.POST.get("file_name", "file"), by=by)
    uploads.forget(digest)
    messages.success(
        request, f"{len(done.new)} items are new, {len(done.changed)} changed, {done.same} as they were."
    )
    return redirect("items:items")
