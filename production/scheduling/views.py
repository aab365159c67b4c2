"""Pages of the week: work centres by days, plan versions, making and releasing a plan, comparing two."""

from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from production.planning.models import Plan
from production.scheduling import planning
from production.scheduling.board.board import iso_week
from production.scheduling.forms import PlanForm
from production.scheduling.releasing import overtaken_by
from production.scheduling.side_by_side import pair_week
from production.scheduling.tables import PlanTable
from production.scheduling.week import late_orders, moves, plans, shown_plan, week_of
from production.works.person import person


def week(request: HttpRequest, year: int | None = None, number: int | None = None) -> HttpResponse:
    """One week of the released plan, or of the one that `?plan=` names."""
    plan = shown_plan(_number(request.GET.get("plan")))
    shown = week_of(plan, _monday(year, number))
    context = {
        "week": shown,
        "plan": plan,
        "is_asked_for": "plan" in request.GET,
        "late": late_orders(plan),
        "run": Plan.objects.order_by("-number").first(),
        "form": PlanForm(),
        "print_key": new_key("week"),
    }
    return page(request, "scheduling/week.html", context)


def numbered_week(request: HttpRequest, year: str, number: str) -> HttpResponse:
    """The week with an ISO number, as the address writes it: 2026-W20."""
    return week(request, int(year), int(number))


def progress(request: HttpRequest, number: int) -> HttpResponse:
    """How far a plan is. When it has just finished, htmx loads the page again."""
    plan = get_object_or_404(Plan, number=number)
    response = page(request, "scheduling/plan.html", _plan_context(plan), part="scheduling/_progress.html")
    if getattr(request, "htmx", False) and not plan.is_open:
        response["HX-Refresh"] = "true"
    return response


def plan_list(request: HttpRequest) -> HttpResponse:
    """All plan versions."""
    return table_page(
        request,
        table_class=PlanTable,
        queryset=plans(),
        template="scheduling/plans.html",
        export_name="plans",
        context={"form": PlanForm(), "run": planning.open_plan()},
    )


def plan(request: HttpRequest, number: int) -> HttpResponse:
    """One plan version: its figures and what the manager should know."""
    return page(request, "scheduling/plan.html", _plan_context(get_object_or_404(plans(), number=number)))


def _plan_context(plan: Plan) -> dict[str, object]:
    return {
        "plan": plan,
        "run": plan,
        "notes": list(plan.notes.all()),
        "late": late_orders(plan) if plan.has_succeeded else [],
        "overtaken": overtaken_by(plan) if plan.has_succeeded and not plan.is_current else [],
    }


def compare(request: HttpRequest, first: int, second: int) -> HttpResponse:
    """Two plan versions side by side: figures, and the orders whose day moved."""
    ours, theirs = get_object_or_404(plans(), number=first), get_object_or_404(plans(), number=second)
    context = {
        "first": ours,
        "second": theirs,
        "pair": (ours, theirs),
        "moves": moves(ours, theirs),
        "others": list(plans().filter(outcome=Plan.Outcome.SUCCEEDED)[:20]),
        "week": pair_week(ours, theirs, monday := asked_monday(request)),
        "before": iso_week(monday - timedelta(weeks=1)),
        "after": iso_week(monday + timedelta(weeks=1)),
    }
    return page(request, "scheduling/compare.html", context)


@require_POST
@needs("production.run_plan")
def start(request: HttpRequest) -> HttpResponse:
    """Make a plan. A second press while one is being made shows that one."""
    form = PlanForm(request.POST)
    if not form.is_valid():
        for errors in form.errors.values():
            messages.error(request, " ".join(str(error) for error in errors))
        return redirect("week:week")
    try:
        plan = planning.start_plan(by=person(request), **form.cleaned_data)
    except ProblemError as error:
        messages.error(request, str(error))
        return redirect("week:week")
    return redirect("week:plan", plan.number)


@require_POST
@needs("production.run_plan")
def cancel(request: HttpRequest, number: int) -> HttpResponse:
    """Stop making a plan."""
    plan = planning.cancel_plan(plan=get_object_or_404(Plan, number=number), by=person(request))
    messages.info(request, f"Plan {plan.number} is being stopped; nothing was changed.")
    return redirect("week:plan", plan.number)


@require_POST
@needs("production.release_plan")
def release(request: HttpRequest, number: int) -> HttpResponse:
    """Hand a plan to the floor."""
    plan = get_object_or_404(Plan, number=number)
    try:
        planning.release_plan(plan=plan, by=person(request))
    except ProblemError as error:
        messages.error(request, str(error))
        return redirect("week:plan", plan.number)
    messages.success(
        request, f"Plan {plan.number} is released: laser, lorry, oven and assembly work to it now."
    )
    return redirect("week:week")


def asked_monday(request: HttpRequest) -> date:
    """The Monday of `?week=2026-W20`, else of this week."""
    year, _, number = request.GET.get("week", "").partition("-W")
    if not (year.isdecimal() and number.isdecimal()):
        return _monday(None, None)
    return _monday(int(year), int(number))


def _number(text: str | None) -> int | None:
    if not text:
        return None
    if not text.isdecimal():
        raise Http404(f"There is no plan {text}")
    return int(text)


def _monday(year: int | None, number: int | None) -> date:
    today = timezone.localdate()
    if year is None or number is None:
        return date.fromisocalendar(*today.isocalendar()[:2], 1)
    try:
        return date.fromisocalendar(year, number, 1)
    except ValueError as error:
        raise Http404(f"There is no week {number} in {year}") from error
