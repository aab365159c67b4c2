"""What lies under its reorder level, and what to buy. How each level comes about is shown by `inventory.levels`."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from bom.kernel.pages import needs, page
from bom.people.models import User
from inventory.buying import ordering
from inventory.levels import queries
from inventory.levels.models import ItemLevel

ALERTS_A_PAGE = 50


@require_http_methods(["GET"])
def _show_levels(request: HttpRequest) -> HttpResponse:
    alerts = queries.shelf_alerts()
    shown = Paginator(alerts, ALERTS_A_PAGE).get_page(request.GET.get("page"))
    latest = ItemLevel.objects.exclude(worked_out_on=None).order_by("-worked_out_on").first()
    context = {"alerts": shown, "worked_out_on": latest.worked_out_on if latest else None}
    return page(request, "buying/levels.html", context)


@needs("inventory.add_purchaseorder")
def _act_on_levels(request: HttpRequest) -> HttpResponse:
    """Draft purchase orders for the ticked items."""
    ticked = {int(value) for value in request.POST.getlist("item") if value.isdigit()}
    alerts = [alert for alert in queries.shelf_alerts(ticked) if alert.offer] if ticked else []
    if not alerts:
        messages.error(request, "Tick at least one item that a supplier sells.")
        return redirect("buying:levels")
    wants = [
        ordering.Want(
            alert.item.pk, alert.offer.supplier_id, alert.quantity, alert.offer.arrives_on(alert.order_by)
        )
        for alert in alerts
        if alert.offer
    ]
    orders = ordering.raise_orders(wants=wants, by=request.user if isinstance(request.user, User) else None)
    drafted = ", ".join(order.number for order in orders)
    messages.success(request, f"Drafted {drafted}. Look them over and release them.")
    return redirect("buying:orders")


@require_http_methods(["GET", "POST"])
def levels(request: HttpRequest) -> HttpResponse:
    """Items under their level with what to buy; ticked ones become drafts."""
    return _act_on_levels(request) if request.method == "POST" else _show_levels(request)
