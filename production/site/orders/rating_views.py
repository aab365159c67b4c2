"""Pages of ratings and set-up: one order's, the towing vehicle, and which models fit a hull."""

from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.ratings.models import Market
from bom.structure.conditions import Value
from production.orders.models import Order
from production.orders.proposing import propose
from production.orders.rating import hull_of_values, load_desk
from production.orders.recording import VehicleFigures, rate_again, record_vehicle
from production.orders.showing import shown_of
from production.site.orders.forms import HULL_FIELDS
from production.works.person import person


class VehicleForm(forms.Form):
    """The towing vehicle's papers; only its name is needed."""

    name = forms.CharField(label="Vehicle", max_length=80)
    max_mass_kg = forms.IntegerField(
        label="Maximum mass, kg", min_value=100, max_value=60_000, required=False
    )
    unladen_kg = forms.IntegerField(label="Unladen mass, kg", min_value=100, max_value=60_000, required=False)
    braked_kg = forms.IntegerField(label="May tow braked, kg", min_value=0, max_value=60_000, required=False)
    unbraked_kg = forms.IntegerField(
        label="May tow unbraked, kg", min_value=0, max_value=60_000, required=False
    )
    nose_kg = forms.IntegerField(label="Nose load, kg", min_value=0, max_value=5000, required=False)
    train_kg = forms.IntegerField(
        label="With trailer together, kg", min_value=100, max_value=90_000, required=False
    )
    d_kn = forms.DecimalField(
        label="D of its hitch, kN", min_value=0, max_digits=6, decimal_places=2, required=False
    )

    def figures(self) -> VehicleFigures:
        return VehicleFigures(**self.cleaned_data)


class AgainForm(forms.Form):
    reason = forms.CharField(label="Why", max_length=200)
    nose_kg = forms.FloatField(
        label="Nose load wanted, kg (empty: the usual share)", min_value=1, max_value=2000, required=False
    )


class FitForm(forms.Form):
    """The hull alone, before there is an order."""

    hull_mass_kg = forms.IntegerField(label="Hull mass, kg", min_value=1, max_value=100_000)
    hull_length_mm = forms.IntegerField(label="Length, mm", min_value=500, max_value=30_000)
    hull_beam_mm = forms.IntegerField(label="Beam, mm", min_value=200, max_value=10_000, required=False)
    hull_bow_to_transom_mm = forms.IntegerField(label="Bow to transom, mm", min_value=500, max_value=30_000)
    hull_centre_of_gravity_mm = forms.IntegerField(
        label="Centre of gravity from the transom, mm", min_value=1, max_value=30_000, required=False
    )
    hull_is_measured = forms.BooleanField(label="Centre of gravity was measured", required=False)
    hull_gear_kg = forms.IntegerField(
        label="Gear in the hull, kg", min_value=0, max_value=20_000, required=False
    )
    hull_gear_at_mm = forms.IntegerField(
        label="Gear from the transom, mm", min_value=0, max_value=30_000, required=False
    )
    market = forms.ModelChoiceField(
        label="Registered in", queryset=Market.objects.all(), to_field_name="code", required=False
    )


@require_GET
def fit(request: HttpRequest) -> HttpResponse:
    """Which models fit the hull in the address; htmx gets the list alone."""
    form = FitForm(request.GET or None, label_suffix="")
    order_by = "price" if request.GET.get("by") == "price" else "margin"
    values = {
        name: _whole(request.GET.get(f"hull_{name}")) for name in (*HULL_FIELDS, "gear_kg", "gear_at_mm")
    }
    known: dict[str, Value] = {name: value for name, value in values.items() if value is not None}
    hull = hull_of_values(known, is_measured=bool(request.GET.get("hull_is_measured")))
    context: dict[str, Any] = {"form": form, "order_by": order_by, "query": _hull_query(request)}
    if hull is not None:
        desk = load_desk(timezone.localdate())
        market = request.GET.get("market", "")
        context |= {
            "proposals": propose(hull, known, desk, market=market, by=order_by),  # type: ignore[arg-type]
            "market": desk.ratings.rules_of(market).market,
        }
    return page(request, "orders/fit.html", context, part="orders/_fit.html")


@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest, number: str) -> HttpResponse:
    """Ratings and set-up of one order: a draft's worked out now, a confirmed order's as kept."""
    order = _order(number)
    return _again(request, order) if request.method == "POST" else _set_up_page(request, order)


@needs("production.change_order")
def _again(request: HttpRequest, order: Order) -> HttpResponse:
    form = AgainForm(request.POST, label_suffix="")
    if not form.is_valid():
        return _set_up_page(request, order, again=form, status=422)
    data = form.cleaned_data
    try:
        rate_again(order=order, reason=data["reason"], by=person(request), nose_kg=data["nose_kg"])
    except ProblemError as refusal:
        return _set_up_page(request, order, refusal=refusal, status=409)
    messages.success(request, f"Order {order.number} is rated and set up again; the earlier record is kept.")
    return redirect("orders:set_up", order.number)


@require_POST
@needs("production.change_order")
def vehicle(request: HttpRequest, number: str) -> HttpResponse:
    order = _order(number)
    form = VehicleForm(request.POST, label_suffix="")
    takes_back = bool(request.POST.get("none"))
    if not takes_back and not form.is_valid():
        return _set_up_page(request, order, vehicle_form=form, status=422)
    try:
        record_vehicle(order=order, figures=None if takes_back else form.figures(), by=person(request))
    except ProblemError as refusal:
        return _set_up_page(request, order, refusal=refusal, status=409)
    messages.success(
        request, f"Order {number}: the towing vehicle is {'taken back' if takes_back else 'written down'}."
    )
    return redirect("orders:set_up", number)


def _set_up_page(
    request: HttpRequest,
    order: Order,
    *,
    vehicle_form: VehicleForm | None = None,
    again: AgainForm | None = None,
    refusal: ProblemError | None = None,
    status: int = 200,
) -> HttpResponse:
    problems: tuple[Problem, ...] = refusal.problems if refusal else ()
    try:
        shown = shown_of(order)
    except ProblemError as error:
        shown, problems = None, (*problems, *error.problems)
    found = getattr(order, "vehicle", None)
    is_kept = order.state not in (Order.State.DRAFT, Order.State.CANCELLED)
    records = list(order.ratings.order_by("-number")[1:20]) if is_kept else []
    context = {
        "order": order,
        "shown": shown,
        "vehicle": found,
        "vehicle_form": vehicle_form or VehicleForm(initial=vars(found) if found else None, label_suffix=""),
        "again_form": again or AgainForm(label_suffix=""),
        "is_kept": is_kept,
        "earlier": records,
        "problems": problems,
    }
    return page(request, "orders/set_up.html", context, status=status)


def _order(number: str) -> Order:
    rows = Order.objects.select_related("model__item", "hull", "customer", "variant", "market", "vehicle")
    return get_object_or_404(rows, number=number)


def _hull_query(request: HttpRequest) -> str:
    """The hull's figures and the market as the tail of an address."""
    kept = {
        name: value for name, value in request.GET.items() if name.startswith("hull_") or name == "market"
    }
    return urlencode({name: value for name, value in kept.items() if value})


def _whole(text: str | None) -> int | None:
    stripped = (text or "").strip()
    return int(stripped) if stripped.isascii() and stripped.isdigit() else None
