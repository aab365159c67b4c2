"""How stores handle an item, what may be taken instead of it, and the reasons to choose from."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from inventory.stock.models import ReasonCode
from inventory.stores import count_classes, reasons, rules
from inventory.stores.act_forms import HandlingForm, SubstituteForm
from inventory.stores.models import HandlingRule, Substitute
from inventory.stores.rules import Handling
from inventory.stores.saying import person


@require_http_methods(["GET", "POST"])
@needs("inventory.change_handlingrule")
def handling(request: HttpRequest, code: str) -> HttpResponse:
    """Its own place, bins, inspection, class; and its substitutes."""
    item = get_object_or_404(Item, code=code)
    if request.method == "GET":
        return _rules_page(request, item)
    form = HandlingForm(request.POST, instance=HandlingRule.objects.filter(item=item).first())
    if not form.is_valid():
        return _rules_page(request, item, form=form)
    try:
        rules.set_handling(item=item, handling=Handling(**form.cleaned_data), by=person(request))
    except ProblemError as refusal:
        return _rules_page(request, item, form=form, refusal=refusal)
    messages.success(request, f"How {code} is handled is kept.")
    return redirect("stores:handling", code=code)


@require_POST
@needs("inventory.change_handlingrule")
def substitute(request: HttpRequest, code: str) -> HttpResponse:
    """Another item may be taken instead."""
    item = get_object_or_404(Item, code=code)
    form = SubstituteForm(request.POST)
    if not form.is_valid():
        return _rules_page(request, item, substitute_form=form)
    data = form.cleaned_data
    try:
        rules.add_substitute(
            item=item,
            instead=_named(data["instead"]),
            note=data["note"],
            both_ways=data["both_ways"],
            by=person(request),
        )
    except ProblemError as refusal:
        return _rules_page(request, item, substitute_form=form, refusal=refusal)
    messages.success(
        request, f"{data['instead']} may be taken instead of {code}; a person says yes each time."
    )
    return redirect("stores:handling", code=code)


@require_POST
@needs("inventory.change_handlingrule")
def drop_substitute(request: HttpRequest, code: str, row: int) -> HttpResponse:
    found = Substitute.objects.filter(pk=row).first()
    if found is not None:
        rules.remove_substitute(substitute=found, by=person(request))
        messages.success(request, "The substitute is taken off; what was taken before stays as it is.")
    return redirect("stores:handling", code=code)


@require_http_methods(["GET", "POST"])
@needs("inventory.change_handlingrule")
def reason_list(request: HttpRequest) -> HttpResponse:
    """The coded reasons; a POST adds one, or offers one no longer."""
    problems: tuple[Problem, ...] = ()
    if request.method == "POST":
        try:
            _change_reason(request)
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            messages.success(request, "The reasons are changed.")
            return redirect("stores:reasons")
    for use in ReasonCode.Use.values:
        reasons.reason_codes(use)
    rows = list(ReasonCode.objects.all())
    context = {
        "uses": [
            (label, use, [row for row in rows if row.use == use]) for use, label in ReasonCode.Use.choices
        ],
        "problems": problems,
    }
    return page(request, "stores/reasons.html", context, status=409 if problems else 200)


def _change_reason(request: HttpRequest) -> None:
    by = person(request)
    if "row" in request.POST:
        row = get_object_or_404(ReasonCode, pk=request.POST["row"] if request.POST["row"].isdecimal() else 0)
        reasons.retire_reason(reason=row, is_active=not row.is_active, by=by)
        return
    use = request.POST.get("use", "")
    if use not in ReasonCode.Use.values:
        raise ProblemError(
            Problem("It is not said what the reason is for", "reasons", "Load the page again.")
        )
    reasons.add_reason(use=use, code=request.POST.get("code", ""), name=request.POST.get("name", ""), by=by)


def _named(code: str) -> Item:
    found = Item.objects.filter(code__iexact=code.strip()).first()
    if found is None:
        raise ProblemError(
            Problem(f"There is no item {code}", "instead", "Write its code as in the stock list.")
        )
    return found


def _rules_page(
    request: HttpRequest,
    item: Item,
    *,
    form: HandlingForm | None = None,
    substitute_form: SubstituteForm | None = None,
    refusal: ProblemError | None = None,
) -> HttpResponse:
    count_classes.classes()
    mine = Substitute.objects.filter(item=item) | Substitute.objects.filter(instead=item)
    context: dict[str, Any] = {
        "item": item,
        "form": form or HandlingForm(instance=HandlingRule.objects.filter(item=item).first()),
        "substitute_form": substitute_form or SubstituteForm(),
        "substitutes": mine.select_related("item", "instead"),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/handling.html", context, status=409 if refusal else 200)
