"""Pages for labels: choose what, see how it lies on the sheet, print; and the layouts."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from inventory.stores.labels import contents, printing
from inventory.stores.labels.contents import Label
from inventory.stores.labels.forms import LayoutForm, PrintForm
from inventory.stores.labels.layouts import Sheet
from inventory.stores.labels.models import LabelLayout

CHANGE = "inventory.change_labellayout"
SHOWN = 60


@require_GET
def choose(request: HttpRequest) -> HttpResponse:
    """The form is in the address, so that a choice can be kept and sent; below it the first page as it will lie."""
    form = PrintForm(_filled(request.GET), initial=request.GET.dict())
    context: dict[str, Any] = {"form": form, "has_layouts": LabelLayout.objects.exists()}
    if form.is_bound and form.is_valid():
        try:
            found = _asked(form)
            sheet = form.cleaned_data["layout"].sheet
            drawn = _drawing(found, sheet, form.cleaned_data["first"])
            context |= {
                "labels": found,
                "sheet": sheet,
                "drawn": drawn,
                "query": urlencode(list(form.data.items())),
            }
        except ProblemError as refusal:
            context["problems"] = refusal.problems
    return page(request, "stores/labels/choose.html", context)


def _filled(asked: QueryDict) -> QueryDict | None:
    """What was chosen; a link that names only what and which is laid out on the first layout."""
    first = LabelLayout.objects.first()
    if "layout" in asked or "codes" not in asked or first is None:
        return asked if "layout" in asked else None
    filled = asked.copy()
    for name, value in (("layout", first.pk), ("first", 1), ("copies", 1)):
        filled.setdefault(name, str(value))
    return filled


@require_GET
def pdf(request: HttpRequest) -> HttpResponse:
    form = PrintForm(request.GET)
    if not form.is_valid():
        return redirect("stores:labels")
    try:
        made = printing.print_labels(
            _asked(form), form.cleaned_data["layout"], first=form.cleaned_data["first"]
        )
    except ProblemError as refusal:
        context = {"form": form, "has_layouts": True, "problems": refusal.problems}
        return page(request, "stores/labels/choose.html", context, status=409)
    return HttpResponse(
        made, content_type="application/pdf", headers={"Content-Disposition": 'inline; filename="labels.pdf"'}
    )


@require_GET
def layouts(request: HttpRequest) -> HttpResponse:
    return page(request, "stores/labels/layouts.html", {"layouts": LabelLayout.objects.all()})


@require_POST
@needs(CHANGE)
def usual(request: HttpRequest) -> HttpResponse:
    """Add the common sheets and rolls."""
    printing.add_usual_layouts()
    messages.success(request, "The usual sheets and rolls are there. Measure yours and change what differs.")
    return redirect("stores:label_layouts")


@require_http_methods(["GET", "POST"])
@needs(CHANGE)
def new_layout(request: HttpRequest) -> HttpResponse:
    return _layout_page(request, LabelLayout())


@require_http_methods(["GET", "POST"])
@needs(CHANGE)
def layout(request: HttpRequest, pk: int) -> HttpResponse:
    return _layout_page(request, get_object_or_404(LabelLayout, pk=pk))


def _layout_page(request: HttpRequest, row: LabelLayout) -> HttpResponse:
    form = LayoutForm(request.POST or None, instance=row)
    problems: tuple[Problem, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            saved = printing.save_layout(layout=form.save(commit=False))
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            messages.success(request, f"{saved.name} is kept.")
            return redirect("stores:label_layouts")
    context = {"form": form, "problems": problems, "layout": row}
    return page(request, "stores/labels/layout.html", context, status=409 if problems else 200)


def _asked(form: PrintForm) -> list[Label]:
    data = form.cleaned_data
    return contents.labels(data["what"], data["codes"], data["copies"])


def _drawing(found: list[Label], sheet: Sheet, first: int) -> list[dict[str, Any]]:
    """The labels of the first page with their places, and the places left free, for the sketch."""
    spots = [(x, y) for _, x, y in sheet.spots(sheet.places)]
    titles = dict(enumerate((label.title for label in found[: sheet.places]), start=first - 1))
    return [{"x": x, "y": y, "title": titles.get(place, "")} for place, (x, y) in enumerate(spots)][:SHOWN]
