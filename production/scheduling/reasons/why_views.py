"""Why orders are late or tight, as the floor stands now, and what would free them."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling.asked.questions import standing_of
from production.scheduling.board.drafts import Draft, draft_of, live_changes, read_desk
from production.scheduling.board.picked import thread_of
from production.scheduling.board.wording import Namer
from production.scheduling.reasons import cures
from production.scheduling.reasons.chains import chain_of, late_or_tight
from production.scheduling.reasons.cure_models import CureOption
from production.scheduling.reasons.trial_runs import RUNNER
from production.scheduling.week import shown_plan
from production.works.person import person

MOST_ORDERS = 40


def _draft(plan: Plan | None) -> Draft | None:
    standing = standing_of(plan) if plan else None
    if plan is None or standing is None:
        return None
    return draft_of(plan, standing, read_desk(), live_changes(plan))


@require_GET
def why_list(request: HttpRequest) -> HttpResponse:
    """Orders that are late or have less than three days to spare, each with the reason that says most."""
    plan = shown_plan(whole=True)
    draft = _draft(plan)
    context: dict[str, object] = {"plan": plan, "draft": draft}
    if draft is not None:
        namer, found = Namer(draft), late_or_tight(draft)
        context["rows"] = [
            {
                "order": draft.standing.orders[number],
                "chain": chain_of(draft, namer, number),
                "late": namer.days_late(number),
            }
            for number in found[:MOST_ORDERS]
            if number in draft.standing.orders
        ]
        context["more"] = max(0, len(found) - MOST_ORDERS)
    return page(request, "scheduling/why.html", context)


@require_GET
def cures_of_all(request: HttpRequest) -> HttpResponse:
    """What frees the late and tight orders, as it was tried for all at once; how far that is while it is tried."""
    plan = shown_plan()
    trial = cures.last_of_all(plan) if plan is not None else None
    context: dict[str, object] = {"plan": plan, "run": trial}
    if trial is not None and trial.has_succeeded:
        context["freeing"], context["not_freed"] = cures.freeing(trial)
    response = page(request, "scheduling/cures.html", context, part="scheduling/_cures_progress.html")
    if getattr(request, "htmx", False) and trial is not None and not trial.is_open:
        response["HX-Refresh"] = "true"
    return response


@require_GET
def why_order(request: HttpRequest, number: str) -> HttpResponse:
    """One order's chain, drawn, and the cures that were tried."""
    plan = shown_plan(whole=True)
    draft = _draft(plan)
    if plan is None or draft is None or number not in draft.standing.orders:
        raise Http404(f"Order {number} is not in the plan that is shown")
    namer, order = Namer(draft), draft.standing.orders[number]
    trial = cures.last_trial(plan, order)
    options = list(trial.options.prefetch_related("steps")) if trial and trial.has_succeeded else []
    priced = [one for one in options if one.frees and one.price is not None]
    context = {
        "plan": plan,
        "order": order,
        "chain": chain_of(draft, namer, number),
        "late": namer.days_late(number),
        "thread": thread_of(draft, namer, number),
        "run": trial,
        "options": options,
        "cheapest": min(priced, key=lambda one: (one.price, one.late_hours), default=None),
    }
    response = page(request, "scheduling/why_order.html", context, part="scheduling/_cure_progress.html")
    if getattr(request, "htmx", False) and trial is not None and not trial.is_open:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs("production.run_plan")
def try_cures(request: HttpRequest, number: str) -> HttpResponse:
    """Have the scheduler try what may free an order."""
    order, plan = get_object_or_404(Order, number=number), shown_plan()
    if plan is None:
        raise Http404("There is no plan")
    cures.try_cures(plan=plan, order=order, by=person(request))
    return redirect("week:why_order", number)


@require_POST
@needs("production.run_plan")
def try_all(request: HttpRequest) -> HttpResponse:
    """Have the scheduler try what may free the late and tight orders, all of them."""
    plan = shown_plan()
    if plan is None:
        raise Http404("There is no plan")
    cures.try_all(plan=plan, by=person(request))
    return redirect("week:cures")


@require_POST
@needs("production.run_plan")
def stop_all(request: HttpRequest) -> HttpResponse:
    """Stop that."""
    plan = shown_plan()
    trial = cures.last_of_all(plan) if plan is not None else None
    if trial is not None:
        RUNNER.ask_to_stop(trial)
        messages.info(request, "The trial is being stopped; nothing was changed.")
    return redirect("week:cures")


@require_POST
@needs("production.run_plan")
def take_cure(request: HttpRequest, pk: int) -> HttpResponse:
    """Write a cure's steps as changes tried on the plan, and show them on the board."""
    option = get_object_or_404(CureOption.objects.select_related("trial__plan", "trial__order"), pk=pk)
    try:
        cures.take_cure(option=option, by=person(request))
    except ProblemError as error:
        messages.error(request, str(error))
        order = option.trial.order
        return redirect("week:why_order", order.number) if order is not None else redirect("week:why")
    return redirect(f"{reverse('week:board')}?plan={option.trial.plan.number}")
