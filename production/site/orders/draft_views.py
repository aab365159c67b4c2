"""Writing an order down: the form of a draft, and its part that follows the model."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from bom.catalogue.configuring import Answers, Range, load_range, price_lines, price_of, problems_of
from bom.catalogue.explaining import WayOut, breaks, in_words, ruled_out, ways_out
from bom.catalogue.models import Variant
from bom.kernel.entries import Done, Sent, sent_now, take_once
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from production.orders.drafting import change_draft, create_draft
from production.orders.freezing import load_bills
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.site.orders.difference import Difference, difference_of
from production.site.orders.forms import DraftForm, field_of, fitted, initial_of, standard_of, with_variant
from production.site.orders.variant_views import keep_context
from production.works.person import person


@require_http_methods(["GET", "POST"])
@needs("production.add_order")
def new(request: HttpRequest) -> HttpResponse:
    """Write a new order down. A second submit of the same form finds the order the first one made."""
    catalogue, variants = load_range(), variants_for()
    if request.method == "GET":
        first = next((code for code, model in catalogue.models.items() if model.is_active), "")
        model = request.GET.get("model") or first
        hull = {
            name: value for name, value in request.GET.items() if name.startswith("hull_") or name == "market"
        }
        initial = {"model": model, **standard_of(catalogue, model), **hull}
        form = DraftForm(catalogue=catalogue, variants=variants, initial=initial)
        return _draft_page(request, form, None)
    form = DraftForm(request.POST, catalogue=catalogue, variants=variants)
    if not form.is_valid():
        return _draft_page(request, form, None, status=422)
    try:
        done = take_once(sent=sent_now(request, "order"), take=lambda sent: _written(form, sent))
    except ProblemError as refusal:
        return _draft_page(request, form, None, refusal, status=409)
    messages.success(request, done.said)
    return redirect(done.goes_to)


def _written(form: DraftForm, sent: Sent) -> Done:
    order = create_draft(wish=form.wish(), by=sent.by)
    return Done(
        f"Order {order.number} is written down as a draft.", reverse("orders:order", args=[order.number])
    )


@require_http_methods(["GET", "POST"])
def draft(request: HttpRequest, number: str) -> HttpResponse:
    """Look at a draft and change it."""
    order = get_object_or_404(
        Order.objects.select_related("customer", "model", "variant", "hull", "market", "copied_from"),
        number=number,
    )
    if order.state != Order.State.DRAFT:
        return redirect("orders:order", number)
    return draft_page(request, order) if request.method == "GET" else _change(request, order)


def draft_page(request: HttpRequest, order: Order, refusal: ProblemError | None = None) -> HttpResponse:
    form = DraftForm(catalogue=load_range(), variants=variants_for(order.number), initial=initial_of(order))
    return _draft_page(request, form, order, refusal, status=409 if refusal else 200)


@needs("production.change_order")
def _change(request: HttpRequest, order: Order) -> HttpResponse:
    form = DraftForm(request.POST, catalogue=load_range(), variants=variants_for(order.number))
    try:
        if not form.is_valid():
            return _draft_page(request, form, order, status=422)
        change_draft(order=order, wish=form.wish(), by=person(request))
    except ProblemError as refusal:
        return _draft_page(request, form, order, refusal, status=409)
    messages.success(request, f"Order {order.number} is changed.")
    return redirect("orders:order", order.number)


@require_GET
def configure(request: HttpRequest, number: str = "") -> HttpResponse:
    """The part of the form that follows model and variant, as the form stands now; nothing is saved."""
    catalogue, variants = load_range(), variants_for(number)
    values: dict[str, Any] = request.GET.dict()
    chosen = next((one for one in variants if one.key == values.get("variant")), None)
    trigger = getattr(request, "htmx", None) and request.htmx.trigger_name  # type: ignore[attr-defined]
    if chosen is not None and chosen.model.code != values.get("model"):
        values["variant"], chosen = "", None
    if chosen is not None and trigger == "variant":
        values = with_variant(values, chosen)
    form = DraftForm(catalogue=catalogue, variants=variants, initial=fitted(values, catalogue))
    order = (
        Order.objects.filter(number=number)
        .select_related("customer", "model", "variant", "hull", "market", "copied_from")
        .first()
    )
    # A bare address has no figures in it that could differ from the draft.
    difference = _difference(order, form, catalogue) if order and request.GET else None
    return page(
        request,
        "orders/draft.html",
        draft_context(form, order, None, difference),
        part="orders/_configure.html",
    )


def _difference(order: Order, form: DraftForm, catalogue: Range) -> Difference | None:
    before = DraftForm(
        catalogue=catalogue, variants=form.variants.values(), initial=initial_of(order)
    ).asked()
    after = form.asked()
    if before == after:
        return None
    bills = load_bills(timezone.localdate(), trailer_number(order.number))
    return difference_of(before, after, catalogue, bills)


def _draft_page(
    request: HttpRequest,
    form: DraftForm,
    order: Order | None,
    refusal: ProblemError | None = None,
    status: int = 200,
) -> HttpResponse:
    context = draft_context(form, order, refusal, None)
    return page(request, "orders/draft.html", context, status=status)


def draft_context(
    form: DraftForm, order: Order | None, refusal: ProblemError | None, difference: Difference | None
) -> Mapping[str, Any]:
    """What the form of a draft shows, beside its figures: what cannot be, the price, the rules that bite."""
    asked, catalogue = form.asked(), form.catalogue
    found = problems_of(asked, catalogue)
    model = catalogue.models.get(asked.model)
    if model:
        form.mark(ruled_out(asked, catalogue))
    return {
        "form": form,
        "order": order,
        "key": new_key("order"),
        "model": model,
        "hull_rows": form.rows("hull_", found),
        "option_rows": [
            *form.rows("finish", found),
            *form.rows("option_", found),
            *form.rows("colour_", found),
        ],
        # The hull's fields are not refreshed with the trailer's, so their problems are said here too.
        # Rules between options are told by `bites`, in words and with their ways out.
        "stops": [one for one in found if one.where != "options" and not _beside_trailer(one, form)],
        "can_be_built": not found,
        "price": price_of(asked, catalogue) if model else None,
        "price_lines": price_lines(asked, catalogue) if model else [],
        "agreed": asked.agreed is not None,
        "difference": difference,
        "bites": _bites(asked, catalogue) if model else [],
        "problems": refusal.problems if refusal else (),
        **(keep_context(order) if order else {}),
    }


@dataclass(frozen=True)
class Bite:
    """A rule between options that bites: its sentence, when it holds and what it needs in words, and what would do."""

    sentence: str
    when: str
    then: str
    ways: list[WayOut]


def _bites(asked: Answers, catalogue: Range) -> list[Bite]:
    return [
        Bite(
            rule.sentence,
            in_words(rule.when, catalogue),
            in_words(rule.then, catalogue),
            ways_out(rule, asked, catalogue),
        )
        for rule in catalogue.rules_for(asked.model)
        if breaks(rule, asked, catalogue)
    ]


def _beside_trailer(problem: Problem, form: DraftForm) -> bool:
    name = field_of(problem)
    return name in form.fields and not name.startswith("hull_")


def variants_for(number: str = "") -> list[Variant]:
    """The current versions, and the one that this order was made with."""
    wanted = Q(is_current=True) | Q(orders__number=number) if number else Q(is_current=True)
    return list(Variant.objects.filter(wanted).select_related("model").distinct())
