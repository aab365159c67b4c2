"""Deliveries: the runs of a day, one run with its stops, and the distances and lorries behind them."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from production.dispatch import delivering
from production.dispatch import distances as writing
from production.dispatch.forms import LorryForm
from production.dispatch.models import Delivery, DeliveryPlace, DeliveryRun, Lorry, PlaceDistance
from production.dispatch.round_sheets import legs_of
from production.orders.models import Order
from production.works.person import person

SHOWN = 60


@require_http_methods(["GET", "POST"])
def deliveries(request: HttpRequest) -> HttpResponse:
    """Runs of one day and the trailers that may go; a POST plans the day."""
    day = _day(request.POST.get("day") or request.GET.get("day", ""))
    return _plan(request, day) if request.method == "POST" else _day_page(request, day)


@needs("production.plan_delivery")
def _plan(request: HttpRequest, day: date) -> HttpResponse:
    try:
        made = delivering.plan_day(
            day=day,
            orders=list(
                Order.objects.filter(number__in=request.POST.getlist("order")).select_related("customer")
            ),
            lorries=list(Lorry.objects.filter(pk__in=_ids(request.POST.getlist("lorry")), is_active=True)),
            by=person(request),
        )
    except ProblemError as refusal:
        return _day_page(request, day, refusal)
    messages.success(request, f"{len(made)} run{'' if len(made) == 1 else 's'} planned.")
    return redirect(f"{reverse('dispatch:deliveries')}?day={day.isoformat()}")


@require_GET
def run(request: HttpRequest, number: str) -> HttpResponse:
    return _run_page(request, number)


@require_POST
@needs("production.report_work")
def leave(request: HttpRequest, number: str) -> HttpResponse:
    found = get_object_or_404(DeliveryRun, number=number)
    try:
        delivering.lorry_leaves(run=found, by=person(request))
    except ProblemError as refusal:
        return _run_page(request, number, refusal)
    messages.success(request, f"The lorry of run {number} has left; its trailers have gone.")
    return redirect("dispatch:run", number)


@require_POST
@needs("production.plan_delivery")
def give_up(request: HttpRequest, number: str) -> HttpResponse:
    found = get_object_or_404(DeliveryRun, number=number)
    try:
        delivering.give_up(run=found)
    except ProblemError as refusal:
        return _run_page(request, number, refusal)
    messages.success(request, f"Run {number} is given up; its trailers are free.")
    return redirect(f"{reverse('dispatch:deliveries')}?day={found.day.isoformat()}")


@require_POST
@needs("production.plan_delivery")
def change(request: HttpRequest, number: str, order: str) -> HttpResponse:
    """Earlier, later, off the run, or received."""
    row = get_object_or_404(Delivery, run__number=number, order__number=order)
    what = request.POST.get("what", "")
    try:
        if what in ("earlier", "later"):
            delivering.move(delivery=row, to=row.sequence + (1 if what == "later" else -1))
        elif what == "off":
            delivering.leave_out(delivery=row)
        else:
            delivering.receive(delivery=row, name=request.POST.get("name", ""))
    except ProblemError as refusal:
        return _run_page(request, number, refusal)
    return redirect("dispatch:run", number)


@require_http_methods(["GET", "POST"])
def distances(request: HttpRequest) -> HttpResponse:
    """The works' place, distances between places, and lorries."""
    return _write(request) if request.method == "POST" else _distances_page(request)


@needs("production.plan_delivery")
def _write(request: HttpRequest) -> HttpResponse:
    what = request.POST.get("what", "")
    if what == "lorry":
        form = LorryForm(
            request.POST, instance=Lorry.objects.filter(name=request.POST.get("name", "").strip()).first()
        )
        if not form.is_valid():
            return _distances_page(request, form=form)
        said = f"{form.save().name} is written down."
    else:
        try:
            if what == "works":
                said = f"Runs begin at {writing.name_works(name=request.POST.get('name', '')).name}."
            else:
                said = f"{writing.write_distances(text=request.POST.get('text', ''))} distances are written down."
        except ProblemError as refusal:
            return _distances_page(request, refusal, text=request.POST.get("text", ""))
    messages.success(request, said)
    return redirect("dispatch:distances")


def _day_page(request: HttpRequest, day: date, refusal: ProblemError | None = None) -> HttpResponse:
    found = DeliveryRun.objects.filter(day=day).exclude(state=DeliveryRun.State.CANCELLED)
    on_the_day = [
        row.order
        for row in Delivery.objects.filter(run__day=day, run__state=DeliveryRun.State.PLANNED).select_related(
            "order__customer", "order__model"
        )
    ]
    free = list(delivering.may_go(day)[:SHOWN])
    orders = sorted([*on_the_day, *free], key=lambda one: (one.customer.place, one.number))
    known = delivering.places_of(orders)
    context: dict[str, Any] = {
        "day": day,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "runs": [(one, legs_of(one)) for one in found.select_related("lorry")],
        "rows": [(one, known.get(one.pk), one in on_the_day) for one in orders],
        "lorries": Lorry.objects.filter(is_active=True),
        "chosen": set(request.POST.getlist("order")),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/deliveries.html", context, status=409 if refusal else 200)


def _run_page(request: HttpRequest, number: str, refusal: ProblemError | None = None) -> HttpResponse:
    found = get_object_or_404(DeliveryRun.objects.select_related("lorry", "by", "left_by"), number=number)
    context = {
        "run": found,
        "round": legs_of(found),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/run.html", context, status=409 if refusal else 200)


def _distances_page(
    request: HttpRequest,
    refusal: ProblemError | None = None,
    *,
    form: LorryForm | None = None,
    text: str = "",
) -> HttpResponse:
    rows = PlaceDistance.objects.select_related("near", "far").order_by("near__name", "far__name")
    context = {
        "rows": rows,
        "text": text,
        "works": DeliveryPlace.objects.filter(is_works=True).first(),
        "without": _places_without_distances(),
        "lorries": Lorry.objects.all(),
        "form": form or LorryForm(),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/distances.html", context, status=409 if refusal or form else 200)


def _places_without_distances() -> list[tuple[str, int]]:
    """Places of customers with open orders that no distance names, and how many orders each has."""
    known = {one.name.casefold() for one in DeliveryPlace.objects.all()}
    rows = (
        Order.objects.filter(state__in=[*Order.OPEN, Order.State.DONE])
        .exclude(customer__place="")
        .order_by("customer__place")
        .values_list("customer__place")
        .annotate(many=Count("pk"))
    )
    return [(place, many) for place, many in rows if place.strip().casefold() not in known]


def _day(said: str) -> date:
    try:
        return date.fromisoformat(said)
    except ValueError:
        return timezone.localdate()


def _ids(said: list[str]) -> list[int]:
    return [int(one) for one in said if one.isdecimal()]
