"""Pages of outside work: what of ours lies with suppliers, one load, and what may be done with it."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.people.models import User
from inventory.buying import outside as verbs
from inventory.buying import outside_asking, outside_claims, outside_queries
from inventory.buying.chasing import AGAIN_AFTER_DAYS
from inventory.buying.forms import ChaseForm
from inventory.buying.models import Supplier
from inventory.buying.outside_forms import BackForm, ClaimForm, DayForm, SendOutForm, ServiceForm, SettleForm
from inventory.buying.outside_models import OutsideClaim, OutsideLine, OutsidePiece, OutsideService
from inventory.buying.queries import answer_text
from inventory.levels.arithmetic import after_working_days

KEY = re.compile(r"outside:[0-9a-f]{32}")
LOADS_SHOWN = 15


@require_GET
def lying_outside(request: HttpRequest) -> HttpResponse:
    """What of ours lies outside, by supplier and load; open claims; the loads that came back last."""
    closed = OutsideLine.objects.filter(is_closed=True).order_by("-posting__happened_at", "-pk")[:LOADS_SHOWN]
    context = {
        "places": outside_queries.lying_outside(),
        "claims": list(outside_queries.open_claims()),
        "differences": outside_queries.ledger_differences(),
        "closed": outside_queries.loads(closed),
        "today": timezone.localdate(),
        "key": new_key("outside"),
        "has_services": OutsideService.objects.exists(),
    }
    return page(request, "buying/outside.html", context)


@require_http_methods(["GET", "POST"])
@needs("inventory.send_outside")
def send(request: HttpRequest) -> HttpResponse:
    """Send goods out for work: they leave their place, and the work is ordered."""
    form = SendOutForm(request.POST or None)
    problems: tuple[Problem, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            line = _send(request, form.cleaned_data)
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            messages.success(request, f"{line.reference} is away; {line.order.number} orders the work.")
            return redirect("buying:load", pk=line.pk)
    key = request.POST.get("key") or new_key("outside")
    context = {"form": form, "key": key, "problems": problems}
    return page(request, "buying/send_out.html", context, status=409 if problems else 200)


def _send(request: HttpRequest, data: dict[str, Any]) -> OutsideLine:
    load = verbs.Load(data["reference"], data["goods"], data["mass_kg"], data["back_on"])
    return verbs.send(
        key=_key(request),
        service=data["service"],
        load=load,
        source=data["source"],
        by=_person(request),
    )


@require_GET
def load(request: HttpRequest, pk: int) -> HttpResponse:
    """One load: its pieces, its price with the working, its claims, what was said of it."""
    return _load_page(request, pk)


@require_POST
@needs("inventory.send_outside")
def back(request: HttpRequest, pk: int) -> HttpResponse:
    line = _line(pk)
    form = BackForm(request.POST, line=line)
    if line.is_counted_at_station:
        return _load_page(request, pk, refusal=_at_station(line))
    if not form.is_valid():
        return _load_page(request, pk, back_form=form)
    return _do(
        request,
        pk,
        lambda: verbs.bring_back(
            key=_key(request),
            line=line,
            back=form.back,
            target=form.cleaned_data["target"],
            by=_person(request),
            rest_is_missing=form.cleaned_data["rest_is_missing"],
        ),
        f"{line.reference} is counted back.",
    )


@require_POST
@needs("inventory.confirm_purchaseorder")
def confirm(request: HttpRequest, pk: int) -> HttpResponse:
    line, form = _line(pk), DayForm(request.POST)
    if not form.is_valid():
        return _load_page(request, pk, refusal=_incomplete("Write the day they named."))
    day, note = form.cleaned_data["promised_on"], form.cleaned_data["note"]
    return _do(
        request,
        pk,
        lambda: outside_asking.confirm_back(
            line=line, promised_on=day, note=note, by=_person(request), key=_key(request)
        ),
        f"{line.reference} is confirmed.",
    )


@require_POST
@needs("inventory.confirm_purchaseorder")
def chase(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what the supplier answered when he was asked about a load."""
    line, form = _line(pk), ChaseForm(request.POST)
    if not form.is_valid():
        return _load_page(request, pk, refusal=_incomplete("Write what they said and when to ask again."))
    answer = _do(
        request,
        pk,
        lambda: outside_asking.chase_back(
            line=line,
            answer=form.cleaned_data["answer"],
            again_on=form.cleaned_data["again_on"],
            by=_person(request),
            key=f"{_key(request)}:{pk}",
        ),
        f"{line.reference}: the answer is kept.",
    )
    is_from_list = request.POST.get("from") == "chase" and answer.status_code == 302
    return redirect("buying:chase_list") if is_from_list else answer


@require_POST
@needs("inventory.claim_outside")
def claim(request: HttpRequest, piece: int) -> HttpResponse:
    """Claim what is missing of a piece, or what came back spoilt."""
    found = get_object_or_404(OutsidePiece.objects.select_related("line", "item"), pk=piece)
    form = ClaimForm(request.POST)
    if not form.is_valid():
        return _load_page(request, found.line_id, refusal=_incomplete("Write how many, and what is wrong."))
    data = form.cleaned_data
    key = f"{_key(request)}:{piece}"

    def verb() -> object:
        if request.POST.get("kind") == "missing":
            return outside_claims.claim_missing(
                key=key, piece=found, reason=data["reason"], by=_person(request)
            )
        return outside_claims.claim_damaged(
            key=key,
            piece=found,
            quantity=data["quantity"] or verbs.NOTHING,
            reason=data["reason"],
            is_scrap=data["is_scrap"],
            by=_person(request),
        )

    return _do(request, found.line_id, verb, f"{found.item.code} is claimed.")


@require_POST
@needs("inventory.claim_outside")
def settle(request: HttpRequest, claim: int) -> HttpResponse:
    """The supplier has answered a claim."""
    found = get_object_or_404(OutsideClaim.objects.select_related("piece__line", "piece__item"), pk=claim)
    form = SettleForm(request.POST)
    if not form.is_valid():
        return _load_page(request, found.piece.line_id, refusal=_incomplete("Choose how the claim ended."))
    data = form.cleaned_data
    return _do(
        request,
        found.piece.line_id,
        lambda: outside_claims.settle_claim(
            claim=found,
            is_made_good=data["how"] == "made_good",
            credit=data["credit"] or verbs.NOTHING,
            answer=data["answer"],
            by=_person(request),
        ),
        f"The claim for {found.piece.item.code} is settled.",
    )


@require_http_methods(["GET", "POST"])
@needs("inventory.change_terms")
def service(request: HttpRequest, code: str, pk: int = 0) -> HttpResponse:
    """The terms of outside work that a supplier does; without a number, new work."""
    supplier = get_object_or_404(Supplier, code=code)
    known = (
        get_object_or_404(OutsideService, pk=pk, supplier=supplier)
        if pk
        else OutsideService(supplier=supplier)
    )
    form = ServiceForm(request.POST or None, instance=known)
    if request.method == "POST" and form.is_valid():
        kept = form.save()
        messages.success(request, f"The terms for {kept.name} are kept.")
        return redirect("buying:supplier", code=code)
    return page(request, "buying/service.html", {"form": form, "supplier": supplier, "service": known})


def _do(request: HttpRequest, pk: int, verb: Callable[[], object], said: str) -> HttpResponse:
    try:
        verb()
    except ProblemError as refusal:
        return _load_page(request, pk, refusal=refusal)
    messages.success(request, said)
    return redirect("buying:load", pk=pk)


def _load_page(
    request: HttpRequest,
    pk: int,
    *,
    back_form: BackForm | None = None,
    refusal: ProblemError | None = None,
) -> HttpResponse:
    views = outside_queries.loads(OutsideLine.objects.filter(pk=pk))
    view = views[0] if views else None
    line = view.line if view else _line(pk)
    today = timezone.localdate()
    can_count = not line.is_closed and not line.is_counted_at_station
    context = {
        "view": view,
        "line": line,
        "said": [(row, answer_text(row)) for row in line.answers.select_related("by").order_by("-at", "-pk")],
        "back_form": (back_form or BackForm(line=line)) if can_count else None,
        "today": today,
        "again_on": after_working_days(today, AGAIN_AFTER_DAYS),
        "key": new_key("outside"),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "buying/load.html", context, status=409 if refusal else 200)


def _line(pk: int) -> OutsideLine:
    return get_object_or_404(OutsideLine.objects.select_related("order", "service__place"), pk=pk)


def _at_station(line: OutsideLine) -> ProblemError:
    return ProblemError(
        Problem(
            "The station that sent this load counts it back",
            str(line),
            "Count it there, with its orders; what is missing is claimed here by itself.",
        )
    )


def _incomplete(mend: str) -> ProblemError:
    return ProblemError(Problem("Something is missing in the form", "", mend))


def _key(request: HttpRequest) -> str:
    key = request.POST.get("key", "")
    if not KEY.fullmatch(key):
        raise ProblemError(Problem("This form is incomplete", "", "Load the page again and fill it in anew."))
    return key


def _person(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None
