"""The order book and the page of one order."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.catalogue.models import Finish
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import table_page
from production.orders.models import Order
from production.orders.promising import promise_order
from production.orders.queries import asked_of
from production.orders.showing import shown_of
from production.site.orders.bill import Row, bill_rows
from production.site.orders.draft_views import draft_page
from production.site.orders.filters import OrderFilter
from production.site.orders.forms import CancelForm, PromiseForm
from production.site.orders.queries import book as book_rows
from production.site.orders.queries import days_behind, operations_of, thread, with_batches, with_forecast
from production.site.orders.tables import OrderTable
from production.site.orders.variant_views import keep_context
from production.works.cancelling import can_restore, cancel_order, restore_order
from production.works.confirming import confirm_order
from production.works.person import person


@require_GET
def book(request: HttpRequest) -> HttpResponse:
    """Every order in hand, with filter and export."""
    return table_page(
        request,
        table_class=OrderTable,
        queryset=book_rows(),
        filterset_class=OrderFilter,
        template="orders/book.html",
        export_name="orders",
    )


@require_GET
def order(request: HttpRequest, number: str) -> HttpResponse:
    """One order: a draft as its form, a confirmed one with bill, thread and promise."""
    found = find_order(number)
    if found.state == Order.State.DRAFT:
        return redirect("orders:draft", number)
    return order_page(request, found)


@require_POST
@needs("production.confirm_order")
def confirm(request: HttpRequest, number: str) -> HttpResponse:
    """Freeze the bill. A second click finds it confirmed and only shows it."""
    found = get_object_or_404(Order, number=number)
    if found.state == Order.State.DRAFT:
        try:
            confirm_order(order=found, by=person(request), note=_note(request))
            messages.success(request, f"Order {number} is confirmed and its bill frozen.")
        except ProblemError as refusal:
            found.refresh_from_db()
            if found.state == Order.State.DRAFT:
                return _refused(request, number, refusal)
    else:
        messages.info(
            request, f"Order {number} was {found.get_state_display()} already; nothing was changed."
        )
    return redirect("orders:order", number)


@require_POST
@needs("production.cancel_order")
def cancel(request: HttpRequest, number: str) -> HttpResponse:
    found = find_order(number)
    form = CancelForm(request.POST)
    reason = form.cleaned_data["reason"] if form.is_valid() else ""
    try:
        cancel_order(order=found, by=person(request), reason=reason)
    except ProblemError as refusal:
        return order_page(request, found, refusal)
    messages.success(request, f"Order {number} is cancelled; what was kept for it is free.")
    return redirect("orders:order", number)


@require_POST
@needs("production.cancel_order")
def restore(request: HttpRequest, number: str) -> HttpResponse:
    found = find_order(number)
    try:
        restore_order(order=found, by=person(request))
    except ProblemError as refusal:
        return order_page(request, found, refusal)
    messages.success(request, f"Order {number} is back.")
    return redirect("orders:order", number)


@require_POST
@needs("production.change_order")
def promise(request: HttpRequest, number: str) -> HttpResponse:
    found = find_order(number)
    form = PromiseForm(request.POST)
    try:
        if not form.is_valid():
            raise ProblemError(Problem("That is not a day", "promised", "Write it as 2026-05-28."))
        promise_order(order=found, on=form.cleaned_data["promised_on"], by=person(request))
    except ProblemError as refusal:
        return order_page(request, found, refusal)
    messages.success(request, f"Order {number}: the promise is written down.")
    return redirect("orders:order", number)


def find_order(number: str) -> Order:
    """The order with what its page needs beside it."""
    rows = with_batches(with_forecast(Order.objects.all())).select_related(
        "customer",
        "model__item",
        "variant",
        "hull",
        "market",
        "copied_from",
        "bill",
        "purpose",
        "works_order",
        "made_by",
    )
    return get_object_or_404(rows, number=number)


def order_page(request: HttpRequest, found: Order, refusal: ProblemError | None = None) -> HttpResponse:
    """The page of an order that is no longer a draft."""
    operations = operations_of(found)
    rows = bill_rows(found, operations)
    context: dict[str, Any] = {
        "order": found,
        "rows": rows,
        "short": _short(rows),
        "cost": sum((row.cost for row in rows), 0),
        "stops": thread(found, operations),
        "days_behind": days_behind(found, timezone.localdate()),
        "causes": list(found.causes.filter(plan__is_current=True).order_by("sequence")),
        "asked": asked_of(found),
        "galvanised": found.finish != Finish.PAINTED,
        "shown": shown_of(found),
        **keep_context(found),
        "versions": list(found.versions.select_related("by", "bill", "next_bill")),
        "can_restore": can_restore(found) if found.state == Order.State.CANCELLED else False,
        "is_open": found.is_open,
        "promise_form": PromiseForm(initial={"promised_on": found.promised_on}),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "orders/order.html", context, status=409 if refusal else 200)


def _short(rows: list[Row]) -> list[Row]:
    """Lines that will be missing, wherever they stand in the tree, each item once."""
    found: dict[int, Row] = {}
    waiting = list(rows)
    while waiting:
        row = waiting.pop(0)
        waiting += row.children
        if row.where.is_short:
            found.setdefault(row.item.pk, row)
    return list(found.values())


def _note(request: HttpRequest) -> str:
    """Why an order goes on although a rating is not met; only a permitted person may say so."""
    may = request.user.has_perm("production.accept_rating")
    return request.POST.get("note", "") if may else ""


def _refused(request: HttpRequest, number: str, refusal: ProblemError) -> HttpResponse:
    if not request.user.has_perm("production.change_order"):
        raise refusal
    return draft_page(request, find_order(number), refusal=refusal)
