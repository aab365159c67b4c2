"""The page that says where the laser holds its sheets."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from production.cutting.clamping import ClampForm, take_off_clamp
from production.cutting.models import ClampZone
from production.cutting.queries import largest_sheet_mm


@require_GET
def clamps(request: HttpRequest) -> HttpResponse:
    """The clamps drawn on the largest sheet, and a form for another."""
    return _page(request, ClampForm())


@require_POST
@needs("production.set_clamps")
def add(request: HttpRequest) -> HttpResponse:
    """Keep one more rectangle clear."""
    form = ClampForm(request.POST)
    if not form.is_valid():
        return _page(request, form)
    messages.success(request, f"Clamp {form.save()} is kept clear from the next layout on.")
    return redirect("laser:clamps")


@require_POST
@needs("production.set_clamps")
def take_off(request: HttpRequest) -> HttpResponse:
    """Take a clamp off the list."""
    try:
        zone = take_off_clamp(pk=request.POST.get("clamp", ""))
    except ProblemError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Clamp {zone} is taken off.")
    return redirect("laser:clamps")


def _page(request: HttpRequest, form: ClampForm) -> HttpResponse:
    length, width = largest_sheet_mm()
    context = {
        "zones": list(ClampZone.objects.select_related("work_centre")),
        "length_mm": length,
        "width_mm": width,
        "form": form,
    }
    return page(request, "laser/clamps.html", context, status=422 if form.errors else 200)
