"""Over how many days parts are gathered into one batch: the windows compared, and one chosen for the next plan."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.models import WindowTrial
from production.scheduling.windows import asking_windows
from production.scheduling.windows.window_runs import stop_trial
from production.works.person import person


@require_GET
def windows(request: HttpRequest) -> HttpResponse:
    """The last comparison, and the one that is being made."""
    last = WindowTrial.objects.first()
    done = WindowTrial.objects.filter(outcome=WindowTrial.Outcome.SUCCEEDED).first()
    options = list(done.options.all()) if done else []
    least = min((one.sheet_money for one in options), default=None)
    context = {
        "run": last,
        "trial": done,
        "options": [{"row": one, "more": one.sheet_money - (least or 0)} for one in options],
        "usual": ", ".join(map(str, asking_windows.USUAL)),
        "plan": Plan.current(),
        "making": planning.open_plan(),
    }
    response = page(request, "scheduling/windows.html", context, part="scheduling/_windows_progress.html")
    if getattr(request, "htmx", False) and last is not None and not last.is_open:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs("production.run_plan")
def start(request: HttpRequest) -> HttpResponse:
    """Compare windows; a second press while they are being compared changes nothing."""
    try:
        asking_windows.start_trial(by=person(request), days=_days(request.POST.get("days", "")))
    except ProblemError as error:
        messages.error(request, str(error))
    return redirect("week:windows")


@require_POST
@needs("production.run_plan")
def stop(request: HttpRequest) -> HttpResponse:
    trial = WindowTrial.objects.first()
    if trial is not None:
        stop_trial(trial=trial)
    return redirect("week:windows")


def _days(text: str) -> list[int]:
    words = text.replace(",", " ").split()
    if not all(word.isascii() and word.isdecimal() and len(word) < 4 for word in words):
        raise ProblemError(
            Problem(f"“{text}” is no list of days", "windows", "Write whole numbers, as 2, 5, 10.")
        )
    return [int(word) for word in words]
