"""The gate: which trailers may leave, and one trailer with all that belongs to it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, new_key, page
from production.dispatch import leaving, plating, queries
from production.dispatch.models import Inspection
from production.orders.models import Order
from production.works import station_queries
from production.works.person import person

ROWS = 50
SMALL = 3


@require_GET
def gate(request: HttpRequest) -> HttpResponse:
    """Inspected trailers, ready to leave, and the inspections still to come."""
    context = {
        "rows": queries.at_the_gate(ROWS),
        "count": queries.ready_to_go().count(),
        "inspections": list(station_queries.queue("inspect")[:SMALL]),
        "maker": plating.the_maker(),
    }
    return page(request, "dispatch/gate.html", context)


@require_GET
def trailer(request: HttpRequest, number: str) -> HttpResponse:
    return trailer_page(request, number)


@require_POST
@needs("production.report_work")
def gone(request: HttpRequest, number: str) -> HttpResponse:
    order = get_object_or_404(Order, number=number)
    try:
        leaving.send_off(order=order, by=person(request))
    except ProblemError as refusal:
        return trailer_page(request, number, refusal)
    messages.success(request, f"Order {number} has gone.")
    return redirect("dispatch:trailer", number)


def trailer_page(request: HttpRequest, number: str, refusal: ProblemError | None = None) -> HttpResponse:
    """One trailer at the gate: inspection, plate, what holds it."""
    order = get_object_or_404(Order.objects.select_related("customer", "model", "hull"), number=number)
    context: dict[str, Any] = {
        "order": order,
        "plate": plating.plate_of(order),
        "plates": order.plates.select_related("by", "instead_of"),
        "maker": plating.the_maker(),
        "inspection": Inspection.objects.filter(order=order).select_related("signed_by").first(),
        "holds": leaving.what_holds(order) if order.state != Order.State.GONE else [],
        "key": new_key("papers"),
        "pack_key": new_key("pack"),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "dispatch/trailer.html", context, status=409 if refusal else 200)
