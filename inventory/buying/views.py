"""Purchase orders: the list, one order, and what may be done with it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.exporting import xlsx
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from bom.people.models import User
from inventory.buying import ordering, queries, receiving
from inventory.buying.chasing import AGAIN_AFTER_DAYS
from inventory.buying.forms import AddLineForm, LineForm, NewOrderForm
from inventory.buying.limits import reach_of
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Receipt
from inventory.buying.outside_models import OutsideLine
from inventory.buying.outside_queries import loads
from inventory.buying.standing import advice, standing_of
from inventory.buying.tables import OrderFilter, OrderTable
from inventory.levels.arithmetic import after_working_days
from inventory.stores.forms import ReasonForm

DAYS_TO_DUE = 14


@require_GET
def orders(request: HttpRequest) -> HttpResponse:
    """Every purchase order with its value and what is still to come."""
    return table_page(
        request,
        table_class=OrderTable,
        queryset=queries.order_list(),
        filterset_class=OrderFilter,
        template="buying/orders.html",
        export_name="purchase-orders",
    )


@require_http_methods(["GET", "POST"])
@needs("inventory.add_purchaseorder")
def new(request: HttpRequest) -> HttpResponse:
    """Begin an empty draft to a supplier."""
    form = NewOrderForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = ordering.new_order(supplier=form.cleaned_data["supplier"], by=person_of(request))
        return redirect("buying:order", number=made.number)
    return page(request, "buying/new.html", {"form": form})


@require_GET
def order(request: HttpRequest, number: str) -> HttpResponse:
    """One purchase order; with `?as=xlsx` its lines in a workbook, as they go to the supplier."""
    found = order_of(number)
    return _workbook(found) if request.GET.get("as") == "xlsx" else order_page(request, found)


@require_POST
@needs("inventory.change_purchaseorder")
def add(request: HttpRequest, number: str) -> HttpResponse:
    found = order_of(number)
    form = AddLineForm(request.POST, order=found)
    if not form.is_valid():
        return order_page(request, found, add_form=form)
    data = form.cleaned_data
    return do(
        request,
        found,
        lambda: ordering.add_line(
            order=found,
            item=data["item"],
            quantity=data["quantity"],
            due_on=data["due_on"],
            by=person_of(request),
        ),
        f"{data['item'].code} added.",
    )


@require_POST
@needs("inventory.change_purchaseorder")
def change(request: HttpRequest, number: str, position: int) -> HttpResponse:
    line = line_of(number, position)
    form = LineForm(request.POST)
    if not form.is_valid():
        messages.error(request, f"Line {position}: write a quantity above zero and a day.")
        return redirect("buying:order", number=number)
    return do(
        request,
        line.order,
        lambda: ordering.change_line(
            line=line,
            quantity=form.cleaned_data["quantity"],
            due_on=form.cleaned_data["due_on"],
            price=form.cleaned_data["price"],
            by=person_of(request),
        ),
        f"Line {position} changed.",
    )


@require_POST
@needs("inventory.change_purchaseorder")
def remove(request: HttpRequest, number: str, position: int) -> HttpResponse:
    line = line_of(number, position)
    return do(
        request,
        line.order,
        lambda: ordering.remove_line(line=line, by=person_of(request)),
        f"Line {position} taken off.",
    )


@require_POST
@needs("inventory.change_purchaseorder")
def close(request: HttpRequest, number: str, position: int) -> HttpResponse:
    line = line_of(number, position)
    return do(
        request,
        line.order,
        lambda: ordering.close_line(line=line, by=person_of(request)),
        f"Line {position} closed; no more of it is expected.",
    )


@require_POST
@needs("inventory.release_purchaseorder")
def release(request: HttpRequest, number: str) -> HttpResponse:
    found = order_of(number)
    return do(
        request,
        found,
        lambda: ordering.release_order(order=found, by=person_of(request)),
        f"{number} is released and counts as on order.",
    )


@require_POST
@needs("inventory.release_purchaseorder")
def cancel(request: HttpRequest, number: str) -> HttpResponse:
    found = order_of(number)
    return do(
        request,
        found,
        lambda: ordering.cancel_order(
            order=found, by=person_of(request), reason=request.POST.get("reason", "")
        ),
        f"{number} is cancelled.",
    )


@require_POST
@needs("inventory.reverse_posting")
def take_back(request: HttpRequest, receipt: int) -> HttpResponse:
    """A delivery that was booked by mistake."""
    found = get_object_or_404(
        Receipt.objects.select_related("line__order__supplier", "line__item", "posting"), pk=receipt
    )
    form = ReasonForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Say why the delivery is taken back.")
        return redirect("buying:order", number=found.line.order.number)
    return do(
        request,
        found.line.order,
        lambda: receiving.take_back(receipt=found, by=person_of(request), reason=form.cleaned_data["reason"]),
        f"The delivery of {found.line.item.code} is taken back.",
    )


def order_of(number: str) -> PurchaseOrder:
    people = ("made_by", "asked_by", "approved_by", "released_by", "cancelled_by")
    return get_object_or_404(PurchaseOrder.objects.select_related("supplier", *people), number=number)


def line_of(number: str, position: int) -> PurchaseOrderLine:
    return get_object_or_404(
        PurchaseOrderLine.objects.select_related("order__supplier", "item"),
        order__number=number,
        position=position,
    )


def do(request: HttpRequest, found: PurchaseOrder, verb: Callable[[], object], said: str) -> HttpResponse:
    """Do it and show the order again; what is refused is said on the order's page."""
    try:
        verb()
    except ProblemError as refusal:
        return order_page(request, order_of(found.number), refusal=refusal)
    messages.success(request, said)
    return redirect("buying:order", number=found.number)


def order_page(
    request: HttpRequest,
    found: PurchaseOrder,
    *,
    add_form: AddLineForm | None = None,
    refusal: ProblemError | None = None,
) -> HttpResponse:
    today = timezone.localdate()
    is_draft = found.state == PurchaseOrder.State.DRAFT
    if is_draft and add_form is None:
        due_on = today + timedelta(days=max(DAYS_TO_DUE, found.supplier.lead_days))
        add_form = AddLineForm(order=found, initial={"due_on": due_on})
    lines = list(queries.lines(found))
    away = loads(OutsideLine.objects.filter(order=found).order_by("position"))
    worth = queries.order_value(found)
    hints = advice(found, lines) if is_draft else {}
    context: dict[str, Any] = {
        "order": found,
        "standing": standing_of(found, lines, [view.line for view in away]),
        "away": away,
        "lines": [(line, hints.get(line.pk)) for line in lines],
        "worth": worth,
        "deliveries": queries.deliveries(found),
        "said": queries.said(found),
        "papers": list(found.papers.defer("pdf", "workbook").select_related("asked_by")),
        "reach": reach_of(request.user) if is_draft and isinstance(request.user, User) else None,
        "to_come": sum(line.to_come > 0 and not line.is_closed for line in lines),
        "add_form": add_form,
        "today": today,
        "again_on": after_working_days(today, AGAIN_AFTER_DAYS),
        "key": new_key("order"),
        "is_draft": is_draft,
        "is_released": found.state == PurchaseOrder.State.RELEASED,
        "problems": refusal.problems if refusal else (),
    }
    reach = context["reach"]
    context["is_within_limit"] = reach is None or found.approved_at or reach.may_release(worth.value)
    return page(request, "buying/order.html", context, status=409 if refusal else 200)


def _workbook(found: PurchaseOrder) -> HttpResponse:
    header = ["line", "item", "name", "their code", "quantity", "unit", "price", "value", "due", "received"]
    rows = [
        (
            line.position,
            line.item.code,
            line.item.name,
            line.their_code or "",
            line.quantity,
            line.item.unit,
            line.price,
            line.value,
            line.due_on,
            line.received,
        )
        for line in queries.lines(found)
    ]
    return xlsx(found.number, header, rows)


def person_of(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None
