"""The maker's data, and the plate of a trailer."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from production.dispatch import plating, vin
from production.dispatch.forms import MakerForm
from production.dispatch.models import SerialPlate
from production.dispatch.views import trailer_page
from production.orders.models import Order
from production.works.person import person


@require_POST
@needs("production.give_plate")
def give(request: HttpRequest, number: str) -> HttpResponse:
    order = get_object_or_404(Order, number=number)
    try:
        plate = plating.give_plate(order=order, by=person(request))
    except ProblemError as refusal:
        return trailer_page(request, number, refusal)
    messages.success(request, f"Order {number} has the VIN {plate.vin}.")
    return redirect("dispatch:trailer", number)


@require_POST
@needs("production.give_plate")
def replace(request: HttpRequest, number: str) -> HttpResponse:
    plate = get_object_or_404(SerialPlate, vin=request.POST.get("vin", ""), order__number=number)
    try:
        newer = plating.replace_plate(plate=plate, by=person(request), reason=request.POST.get("reason", ""))
    except ProblemError as refusal:
        return trailer_page(request, number, refusal)
    messages.success(request, f"{plate.vin} is used up; order {number} has the VIN {newer.vin}.")
    return redirect("dispatch:trailer", number)


@require_http_methods(["GET", "POST"])
def maker(request: HttpRequest) -> HttpResponse:
    """Who makes the trailers and how the seventeen places are filled; a POST writes it down."""
    return (
        _set(request)
        if request.method == "POST"
        else _maker_page(request, MakerForm(instance=plating.the_maker()))
    )


@needs("production.set_checks")
def _set(request: HttpRequest) -> HttpResponse:
    form = MakerForm(request.POST, instance=plating.the_maker())
    if not form.is_valid():
        return _maker_page(request, form, status=409)
    try:
        plating.set_maker(maker=form.save(commit=False))
    except ProblemError as refusal:
        return _maker_page(request, form, refusal, status=409)
    messages.success(request, "The maker's data are written down.")
    return redirect("dispatch:maker")


def _maker_page(
    request: HttpRequest, form: MakerForm, refusal: ProblemError | None = None, status: int = 200
) -> HttpResponse:
    maker, example = plating.the_maker(), ""
    if maker is not None:
        plan = vin.Plan(
            maker.wmi,
            maker.descriptor,
            maker.plant,
            maker.small_code,
            maker.has_check_digit,
            maker.has_year,
        )
        example = vin.build(plan, number=1, year=timezone.localdate().year)
    context = {
        "form": form,
        "example": example,
        "sections": vin.take_apart(example) if example else None,
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/maker.html", context, status=status)
