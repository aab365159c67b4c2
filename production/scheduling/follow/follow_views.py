"""Follow-up: plan against actual, indicators that open into their data, and times corrected with consent."""

from __future__ import annotations

from decimal import Decimal

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.structure.models import Process
from production.scheduling.follow.following import USUAL_DAYS, corrections, period
from production.scheduling.follow.history import took
from production.works import standard_times
from production.works.person import person
from production.works.time_models import TimeCorrection

MOST_DAYS = 366
MOST_ROWS = 200
SHOWN = ("adherence", "on_time", "throughput", "allocation", "set_up", "in_progress")


@require_GET
def follow(request: HttpRequest) -> HttpResponse:
    """The last `?days=` days; `?show=` opens one indicator into its rows."""
    text = request.GET.get("days", "")
    days = min(MOST_DAYS, max(1, int(text))) if text.isdecimal() else USUAL_DAYS
    times = took()
    found = period(days, times)
    show = request.GET.get("show", "adherence")
    context = {
        "days": days,
        "period": found,
        "show": show if show in SHOWN else "adherence",
        "against": found.against[:MOST_ROWS],
        "executions": [
            {"one": one, "is_on_time": found.is_on_time(one)} for one in found.executions[:MOST_ROWS]
        ],
        "proposals": corrections(times),
        "corrections": TimeCorrection.objects.select_related("process", "by")[:20],
    }
    return page(request, "scheduling/follow.html", context)


@require_POST
@needs("production.correct_times")
def correct(request: HttpRequest, process: str) -> HttpResponse:
    """Correct the standard times of a process by what is proposed now."""
    found = get_object_or_404(Process, code=process)
    proposal = next((one for known, one in corrections(took()) if known.pk == found.pk), None)
    if proposal is None:
        messages.error(request, f"Nothing is proposed for {found.name} any more.")
        return redirect("week:follow")
    factor = Decimal(repr(round(proposal.factor, 3)))
    try:
        standard_times.correct_times(
            process=found, factor=factor, operations=proposal.operations, by=person(request)
        )
        messages.success(request, f"{found.name}: times are multiplied by {factor} from now on.")
    except ProblemError as error:
        messages.error(request, str(error))
    return redirect("week:follow")


@require_POST
@needs("production.correct_times")
def undo_correction(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a correction back."""
    row = standard_times.undo_correction(
        correction=get_object_or_404(TimeCorrection, pk=pk), by=person(request)
    )
    messages.success(request, f"{row.process.name}: times are again as they were before {row.at:%d %b}.")
    return redirect("week:follow")
