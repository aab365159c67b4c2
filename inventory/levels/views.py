"""Levels: classes, an item's level with its working, proposals, idle stock, the rules, and working it all out."""

from __future__ import annotations

from decimal import Decimal

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.quantities import format_quantity
from bom.kernel.tables import table_page
from bom.people.models import User
from inventory.levels import pages, runs, verbs
from inventory.levels.forms import LevelForm, RulesForm
from inventory.levels.models import DemandOneOff, ItemClass, LevelProposal, LevelRules, LevelRun
from inventory.levels.tables import ClassFilter, ClassTable, IdleForm, IdleTable

SETTLE = "inventory.settle_levels"
PROPOSALS_A_PAGE = 50
DECIDED_SHOWN = 20


@require_http_methods(["GET"])
def classes(request: HttpRequest) -> HttpResponse:
    """Every bought item with its class by value and regularity."""
    context = {"matrix": pages.matrix(), "regularities": ItemClass.Regularity, **_run_context()}
    return table_page(
        request,
        table_class=ClassTable,
        queryset=pages.classes(),
        template="levels/classes.html",
        export_name="classes",
        filterset_class=ClassFilter,
        context=context,
    )


@require_http_methods(["GET"])
def idle(request: HttpRequest) -> HttpResponse:
    """Dead and slow stock with its value."""
    form = IdleForm(request.GET)
    wanted = form.cleaned_data if form.is_valid() else {"text": "", "state": ""}
    every = pages.idle_stock()
    words = wanted["text"].lower().split()
    shown = [
        one
        for one in every
        if (not wanted["state"] or one.state == wanted["state"])
        and all(word in f"{one.code} {one.name}".lower() for word in words)
    ]
    totals = {
        state: (
            sum(one.state == state for one in every),
            sum(one.value for one in every if one.state == state),
        )
        for state in ("slow", "dead")
    }
    context = {"form": form, "totals": totals, "rules": LevelRules.current(), **_run_context()}
    return table_page(
        request,
        table_class=IdleTable,
        queryset=shown,  # type: ignore[arg-type]
        template="levels/idle.html",
        export_name="idle stock",
        context=context,
    )


@require_http_methods(["GET", "POST"])
def proposals(request: HttpRequest) -> HttpResponse:
    """Levels that would change: accept them or keep those in force."""
    return _decide(request) if request.method == "POST" else _show_proposals(request)


def _show_proposals(request: HttpRequest) -> HttpResponse:
    rows = LevelProposal.objects.select_related("item__demand_class", "item__level", "decided_by")
    waiting = rows.filter(state=LevelProposal.State.WAITING).order_by(
        "item__demand_class__rank", "item__code"
    )
    decided = rows.filter(state__in=[LevelProposal.State.ACCEPTED, LevelProposal.State.KEPT])
    context = {
        "ticked": request.GET.get("tick") == "all",
        "waiting": Paginator(waiting, PROPOSALS_A_PAGE).get_page(request.GET.get("page")),
        "decided": decided.order_by("-decided_at")[:DECIDED_SHOWN],
        **_run_context(),
    }
    return page(request, "levels/proposals.html", context)


@needs(SETTLE)
def _decide(request: HttpRequest) -> HttpResponse:
    ticked = [int(value) for value in request.POST.getlist("proposal") if value.isdecimal()]
    if not ticked:
        messages.error(request, "Tick at least one level.")
    elif request.POST.get("act") == "keep":
        count = verbs.keep_proposals(proposals=ticked, by=_person(request))
        messages.success(request, f"{count} level{'' if count == 1 else 's'} kept as before.")
    else:
        count = verbs.accept_proposals(proposals=ticked, by=_person(request))
        messages.success(
            request, f"{count} new level{'' if count == 1 else 's'} in force. Undo any of them below."
        )
    return redirect(_back(request, "levels:proposals"))


@require_POST
@needs(SETTLE)
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was decided on a proposal."""
    one = get_object_or_404(LevelProposal.objects.select_related("item"), pk=pk)
    try:
        verbs.undo_proposal(proposal=one, by=_person(request))
    except ProblemError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"The level of {one.item.code} is what it was; the proposal waits again.")
    return redirect(_back(request, "levels:proposals"))


@require_http_methods(["GET", "POST"])
def item(request: HttpRequest, code: str) -> HttpResponse:
    """One item's level: demand, forecast, safety, level and quantity with their working, and the form to set it."""
    rows = Item.objects.select_related("level", "demand_class", "forecast", "colour")
    found = get_object_or_404(rows, code=code)
    return _set_level(request, found) if request.method == "POST" else _show_item(request, found)


def _show_item(request: HttpRequest, found: Item, form: LevelForm | None = None) -> HttpResponse:
    card = pages.card_of(found)
    level = card.level
    initial = {
        "reorder_point": _plain(level.reorder_point) if level.is_manual else None,
        "service_level": _plain(level.service_level),
        "lot_rule": found.lot_rule,
        "lot_size": _plain(found.lot_size) if found.lot_size else None,
        "order_cost": level.order_cost,
        "holding_rate": level.holding_rate,
    }
    return page(
        request,
        "levels/item.html",
        {"card": card, "item": found, "level": level, "form": form or LevelForm(initial=initial)},
    )


@needs(SETTLE)
def _set_level(request: HttpRequest, found: Item) -> HttpResponse:
    form = LevelForm(request.POST)
    if not form.is_valid():
        return _show_item(request, found, form)
    try:
        verbs.choose_rules(item=found, **form.cleaned_data)
    except ProblemError as error:
        for problem in error.problems:
            form.add_error(None, str(problem))
        return _show_item(request, found, form)
    messages.success(request, f"The level of {found.code} is kept.")
    return redirect("levels:item", code=found.code)


@require_POST
@needs(SETTLE)
def put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Count a week in full that was set aside, or set it aside again."""
    one = get_object_or_404(DemandOneOff.objects.select_related("item"), pk=pk)
    counts = request.POST.get("counts") == "yes"
    verbs.put_back(one_off=one, counts=counts, by=_person(request))
    said = "counts in full" if counts else "is set aside"
    messages.success(request, f"The week {said} when the levels are next worked out.")
    return redirect("levels:item", code=one.item.code)


@require_http_methods(["GET", "POST"])
def rules(request: HttpRequest) -> HttpResponse:
    """The rules that hold for all items."""
    if request.method == "POST":
        return _keep_rules(request)
    return _show_rules(request, RulesForm(instance=LevelRules.current()))


def _show_rules(request: HttpRequest, form: RulesForm) -> HttpResponse:
    return page(request, "levels/rules.html", {"form": form, **_run_context()})


@needs(SETTLE)
def _keep_rules(request: HttpRequest) -> HttpResponse:
    form = RulesForm(request.POST, instance=LevelRules.current())
    if not form.is_valid():
        return _show_rules(request, form)
    verbs.change_rules(rules=form.instance)
    messages.success(request, "The rules are kept. They hold when the levels are next worked out.")
    return redirect("levels:rules")


@require_POST
@needs(SETTLE)
def start(request: HttpRequest) -> HttpResponse:
    """Work everything out in the background. A second press shows the run that is under way."""
    return redirect("levels:run", runs.start_run(by=_person(request)).pk)


@require_http_methods(["GET"])
def run(request: HttpRequest, pk: int) -> HttpResponse:
    """How far a run is. When it has just finished, htmx loads the page again."""
    found = get_object_or_404(LevelRun, pk=pk)
    response = page(request, "levels/run.html", {"run": found}, part="levels/_progress.html")
    if getattr(request, "htmx", False) and not found.is_open:
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs(SETTLE)
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop a run."""
    found = runs.stop_run(run=get_object_or_404(LevelRun, pk=pk))
    messages.info(request, "The working out is being stopped; nothing was changed.")
    return redirect("levels:run", found.pk)


def _run_context() -> dict[str, object]:
    last = LevelRun.objects.first()
    return {"last_run": last, "waits": LevelProposal.objects.filter(state="waiting").count()}


def _back(request: HttpRequest, view: str) -> str:
    """The item's page where the form stood there, else the list."""
    code = request.POST.get("code", "")
    return reverse("levels:item", args=[code]) if code else reverse(view)


def _plain(value: Decimal) -> str:
    """As a person writes it: no needless zeros, no exponent."""
    return format_quantity(value)


def _person(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None
