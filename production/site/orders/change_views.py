"""Changing a confirmed order: the form, what the change would do, its acceptance, and what the order was before."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.catalogue.configuring import load_range
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, new_key, page
from production.orders.models import Order
from production.site.orders.changing import Look, look_at
from production.site.orders.changing import accept as accept_change
from production.site.orders.draft_views import draft_context, variants_for
from production.site.orders.forms import DraftForm, initial_of
from production.works.person import person


@require_http_methods(["GET", "POST"])
@needs("production.confirm_order")
def change(request: HttpRequest, number: str) -> HttpResponse:
    """The form as the order stands; posted, what the change would do. Nothing is written here."""
    order = _order(number)
    if order.state == Order.State.DRAFT:
        return redirect("orders:draft", number)
    if request.method == "GET":
        form = DraftForm(catalogue=load_range(), variants=variants_for(number), initial=initial_of(order))
        return _form_page(request, order, form)
    form = DraftForm(request.POST, catalogue=load_range(), variants=variants_for(number))
    if not form.is_valid() or "again" in request.POST:
        return _form_page(request, order, form, status=200 if "again" in request.POST else 422)
    return _look(request, order, form)


@require_POST
@needs("production.confirm_order")
def accept(request: HttpRequest, number: str) -> HttpResponse:
    """Accept what was looked at. A second click finds the change made and only shows the order."""
    order = _order(number)
    form = DraftForm(request.POST, catalogue=load_range(), variants=variants_for(number))
    if not form.is_valid():
        return _form_page(request, order, form, status=422)
    may_note = request.user.has_perm("production.accept_rating")
    by = person(request)
    assert by is not None  # the permission was asked for
    try:
        version = accept_change(
            order=order,
            wish=form.wish(),
            by=by,
            reason=request.POST.get("reason", ""),
            key=request.POST.get("key", "")[:60],
            seen=request.POST.get("seen", ""),
            scrapped=frozenset(request.POST.getlist("scrap")),
            note=request.POST.get("rating_note", "") if may_note else "",
        )
    except ProblemError as refusal:
        return _look(request, _order(number), form, refusal)
    messages.success(
        request,
        f"Order {number} is changed; what it was is kept as version {version.number}. The next plan sees it.",
    )
    return redirect("orders:order", number)


@require_GET
def versions(request: HttpRequest, number: str) -> HttpResponse:
    """What the order asked for before each change, the latest first."""
    order = _order(number)
    rows = order.versions.select_related("by", "bill", "next_bill", "hull", "variant").prefetch_related(
        "choices__choice__group", "colours__colour"
    )
    context = {"order": order, "versions": list(rows.order_by("-number"))}
    return page(request, "orders/versions.html", context)


def _order(number: str) -> Order:
    rows = Order.objects.select_related(
        "customer", "model__item", "variant", "hull", "market", "copied_from", "purpose", "bill"
    )
    return get_object_or_404(rows, number=number)


def _form_page(
    request: HttpRequest,
    order: Order,
    form: DraftForm,
    refusal: ProblemError | None = None,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {**draft_context(form, order, refusal, None), "is_open": order.is_open}
    return page(request, "orders/change.html", context, status=409 if refusal else status)


def _look(
    request: HttpRequest, order: Order, form: DraftForm, refusal: ProblemError | None = None
) -> HttpResponse:
    try:
        look: Look = look_at(order=order, wish=form.wish())
    except ProblemError as found:
        return _form_page(request, order, form, found)
    context = {
        "order": order,
        "form": form,
        "look": look,
        "key": request.POST.get("key") if refusal else new_key("change"),
        "reason": request.POST.get("reason", ""),
        "unmet": [one for one in look.proposal.prepared.rated.checks if one.outcome == "not met"],
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "orders/change_look.html", context, status=409 if refusal else 200)
