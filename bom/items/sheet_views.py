"""Pages of a desk of tables: out as a workbook or CSV, and in: looked at first, then written as it was looked at."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from bom.items import uploads
from bom.items.sheets import Desk, bring_in_file, look_at_file
from bom.kernel import exporting
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import page


def tables_out(request: HttpRequest, desk: Desk) -> HttpResponse:
    """All tables as the sheets of a workbook, or one (`?table=`) as CSV."""
    sheets = {one.table.name: one for one in desk.sheets()}
    if request.GET.get("as") != "csv":
        return exporting.xlsx_of_sheets(
            desk.name, ((name, one.table.headings, one.rows_out()) for name, one in sheets.items())
        )
    name = request.GET.get("table", "")
    if name not in sheets:
        raise Http404(f"There is no table {name}. There are: {', '.join(sheets)}.")
    return exporting.csv(f"{desk.name}-{name}", sheets[name].table.headings, sheets[name].rows_out())


def bring_in_page(request: HttpRequest, desk: Desk, template: str, done: str) -> HttpResponse:
    """A file posted is looked at; its digest posted brings in exactly what was looked at, and leads to `done`."""
    tables = [one.table for one in desk.sheets()]
    context: dict[str, Any] = {"tables": tables, "removing": request.POST.get("rest") == "off"}
    if request.method == "GET":
        return page(request, template, context)
    try:
        if digest := request.POST.get("digest", ""):
            return _apply(request, desk, digest, done)
        return _look(request, desk, template, context)
    except ProblemError as refusal:
        return page(request, template, context | {"problems": refusal.problems}, status=409)


def _look(request: HttpRequest, desk: Desk, template: str, context: Mapping[str, Any]) -> HttpResponse:
    file = request.FILES.get("file")
    if file is None:
        raise ProblemError(
            Problem("No file was chosen", "", "Choose a workbook (.xlsx) or CSV and look at it.")
        )
    content, name = file.read(), file.name or "file"
    looked = look_at_file(desk, content=content, file=name, removing=context["removing"])
    found = {
        "problems": looked.problems,
        "looked": looked,
        "file_name": name,
        "digest": "" if looked.problems else uploads.keep(content),
    }
    return page(request, template, {**context, **found}, status=422 if looked.problems else 200)


def _apply(request: HttpRequest, desk: Desk, digest: str, done: str) -> HttpResponse:
    found = bring_in_file(
        desk,
        content=uploads.fetch(digest),
        file=request.POST.get("file_name", "file"),
        removing=request.POST.get("rest") == "off",
    )
    uploads.forget(digest)
    said = ", ".join(f"{count} {what}" for what, count in found.counted())
    messages.success(request, f"{said}, {found.same + found.left} as they were.")
    return redirect(done)
