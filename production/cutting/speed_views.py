"""The page of the laser's speeds: what holds, what is coming, and a form for other figures from a day on."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.contrib import messages
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.items.sheet_views import bring_in_page, tables_out
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from production.cutting.machine_times import MACHINE_TIMES, machine_pace
from production.cutting.queries import pace
from production.cutting.speed_models import CutSpeed, SheetHandling
from production.cutting.speeds import (
    EVERY_GRADE,
    SHIPPED,
    Feed,
    HandlingForm,
    SpeedBook,
    SpeedForm,
    speeds_in_force,
    take_off_speed,
)
from production.works.person import person


@require_GET
def speeds(request: HttpRequest) -> HttpResponse:
    """Feeds and pierce times by grade and thickness, and what they were before."""
    return _page(request)


@require_POST
@needs("production.set_speeds")
def add_speed(request: HttpRequest) -> HttpResponse:
    """Other figures for a thickness, from a day on."""
    form = SpeedForm(request.POST, instance=CutSpeed(by=person(request)))
    if not form.is_valid():
        return _page(request, speed_form=form)
    messages.success(request, f"Kept: {form.save()}. Layouts made before keep the working they have.")
    return redirect("laser:speeds")


@require_POST
@needs("production.set_speeds")
def add_handling(request: HttpRequest) -> HttpResponse:
    """Other figures for travel and loading, from a day on."""
    form = HandlingForm(request.POST, instance=SheetHandling(by=person(request)))
    if not form.is_valid():
        return _page(request, handling_form=form)
    form.save()
    messages.success(request, "Kept: travel and loading. Layouts made before keep the working they have.")
    return redirect("laser:speeds")


@require_POST
@needs("production.set_speeds")
def take_off(request: HttpRequest) -> HttpResponse:
    """Take a row off."""
    kind = "handling" if "handling" in request.POST else "speed"
    try:
        row = take_off_speed(kind=kind, pk=request.POST.get(kind, ""))
    except ProblemError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Taken off: {row}.")
    return redirect("laser:speeds")


@require_GET
def times_out(request: HttpRequest) -> HttpResponse:
    """The machine's cut times as a workbook or CSV."""
    return tables_out(request, MACHINE_TIMES)


@require_http_methods(["GET", "POST"])
@needs("production.set_speeds")
def times_in(request: HttpRequest) -> HttpResponse:
    return bring_in_page(request, MACHINE_TIMES, "laser/times_in.html", "laser:speeds")


def _page(
    request: HttpRequest, *, speed_form: SpeedForm | None = None, handling_form: HandlingForm | None = None
) -> HttpResponse:
    today = timezone.localdate()
    book = speeds_in_force(today)
    wrong = (speed_form or handling_form) is not None
    rows = list(CutSpeed.objects.select_related("by"))
    handling = list(SheetHandling.objects.select_related("by"))
    context = {
        "rows": _with_words(rows, today),
        "handling": _with_words(handling, today),
        "shipped": _shipped_in_use(book),
        "book": book,
        "pace": pace(),
        "machine": machine_pace(),
        "speed_form": speed_form or SpeedForm(initial={"holds_from": today}),
        "handling_form": handling_form
        or HandlingForm(
            initial={
                "holds_from": today,
                "travel_mm_per_min": f"{book.travel_mm_per_min:g}",
                "sheet_minutes": f"{book.sheet_minutes:g}",
            },
            auto_id="handling_%s",
        ),
    }
    return page(request, "laser/speeds.html", context, status=422 if wrong else 200)


def _with_words(rows: Sequence[Any], today: date) -> list[dict[str, Any]]:
    """Every row with whether it holds, is coming or was replaced; the newest of one metal first."""
    held: set[object] = set()
    found = []
    for row in sorted(rows, key=lambda one: one.holds_from, reverse=True):
        metal = _metal(row)
        is_coming = row.holds_from > today
        words = "coming" if is_coming else "replaced" if metal in held else "in force"
        if not is_coming:
            held.add(metal)
        found.append({"row": row, "state": words})
    return sorted(found, key=lambda one: (_metal(one["row"]), -one["row"].holds_from.toordinal()))


def _metal(row: Model) -> tuple[object, ...]:
    return (row.grade, row.thickness_mm) if isinstance(row, CutSpeed) else ()


def _shipped_in_use(book: SpeedBook) -> list[Feed]:
    """The shipped figures that no row of every grade stands in for."""
    replaced = book.feeds.get(EVERY_GRADE, {})
    return [feed for thickness, feed in sorted(SHIPPED.items()) if thickness not in replaced]
