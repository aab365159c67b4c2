"""Extra hours and lorry runs in force, taken back one by one; and what they cost against usual ones."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from production.shop import extra
from production.shop.extra_models import ExtraHours, ExtraRun
from production.works.person import person


@require_GET
def extra_hours(request: HttpRequest) -> HttpResponse:
    """What is in force from today on."""
    today = timezone.localdate()
    context = {
        "hours": ExtraHours.objects.filter(date__gte=today).select_related("work_centre", "by"),
        "runs": ExtraRun.objects.filter(date__gte=today).select_related("by"),
        "terms": extra.terms_on(today),
    }
    return page(request, "scheduling/extra.html", context)


@require_POST
@needs("production.run_plan")
def end_hours(request: HttpRequest, pk: int) -> HttpResponse:
    """Take extra hours back; the next plan no longer reckons with them."""
    row = get_object_or_404(ExtraHours.objects.select_related("work_centre"), pk=pk)
    extra.set_extra_hours(
        work_centre=row.work_centre, date=row.date, kind=row.kind, hours=None, by=person(request)
    )
    messages.info(request, "Taken back. The released plan still has work there; make a new one.")
    return redirect("week:extra")


@require_POST
@needs("production.run_plan")
def end_run(request: HttpRequest, pk: int) -> HttpResponse:
    """Call an extra lorry off."""
    row = get_object_or_404(ExtraRun, pk=pk)
    extra.set_extra_run(date=row.date, is_wanted=False, by=person(request))
    messages.info(request, "Called off. The released plan may still load it; make a new one.")
    return redirect("week:extra")


@require_POST
@needs("production.change_rate")
def set_terms(request: HttpRequest) -> HttpResponse:
    """What extra hours cost from today on."""
    try:
        overtime, shift, run = (_figure(request, name) for name in ("overtime", "shift", "run"))
        extra.set_terms(from_day=timezone.localdate(), overtime=overtime, shift=shift, run=run)
        messages.success(request, "Reckoned with from today on.")
    except ProblemError as error:
        messages.error(request, str(error))
    return redirect("week:extra")


def _figure(request: HttpRequest, name: str) -> Decimal:
    text = request.POST.get(name, "").strip()
    try:
        figure = Decimal(text)
    except InvalidOperation as error:
        raise ProblemError(Problem(f"“{text}” is no figure", name, "Write it as 1.5.")) from error
    if not figure.is_finite():
        raise ProblemError(Problem(f"“{text}” is no figure", name, "Write it as 1.5."))
    return figure
