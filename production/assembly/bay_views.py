"""Pages of the bays: the board, and the numbers read off the parts of one trailer."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from bom.items.models import Item
from bom.kernel.entries import Done, Sent, entry_page
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from production.assembly import board, fitting
from production.assembly.models import FittedNumber
from production.orders.models import Order
from production.works.person import person

KEY = "number"


@require_GET
def bays(request: HttpRequest) -> HttpResponse:
    """The board of the bays; it draws itself anew every half minute."""
    context = {"bays": board.bays(), "coming": board.coming()}
    return page(request, "assembly/bays.html", context, part="assembly/_bays.html")


def _numbers_page(request: HttpRequest, problems: tuple[Problem, ...], number: str) -> HttpResponse:
    order = get_object_or_404(Order.objects.select_related("model", "customer", "kit"), number=number)
    wanted = fitting.wanted_numbers(order)
    context = {
        "order": order,
        "wanted": wanted,
        "missing": sum(one.missing for one in wanted),
        "others": order.kit.lines.exclude(item__in=[one.item for one in wanted]).select_related("item")
        if hasattr(order, "kit")
        else [],
        "is_open": order.state != Order.State.GONE,
        "key": new_key(KEY),
        "problems": problems,
    }
    return page(request, "assembly/numbers.html", context, status=409 if problems else 200)


def _take_number(sent: Sent, number: str) -> Done:
    order = get_object_or_404(Order, number=number)
    code = sent.fields.get("item", "")
    item = get_object_or_404(Item, code=code) if code else None
    made = fitting.fit(order=order, text=sent.fields.get("code", ""), item=item, by=sent.by)
    left = sum(one.missing for one in fitting.wanted_numbers(order))
    said = f"{made.item.name}: {made.code} is on the trailer of order {number}"
    return Done(
        f"{said}; {left} still to read." if left else f"{said}; all are read.",
        reverse("assembly:numbers", args=[number]),
    )


numbers = entry_page(permission="production.report_work", show=_numbers_page, take=_take_number)


@require_POST
@needs("production.report_work")
def take_back(request: HttpRequest, number: str, row: int) -> HttpResponse:
    """A number was read wrongly."""
    found = get_object_or_404(FittedNumber.objects.select_related("item"), pk=row, order__number=number)
    try:
        fitting.take_back(number=found, by=person(request))
    except ProblemError as refusal:
        return _numbers_page(request, refusal.problems, number)
    messages.success(request, f"{found.item.name}: {found.code} is taken back. Read the right one.")
    return redirect("assembly:numbers", number)


@require_POST
@needs("production.clear_check")
def excuse(request: HttpRequest, number: str) -> HttpResponse:
    """Why the number of a part cannot be read."""
    order = get_object_or_404(Order, number=number)
    item = get_object_or_404(Item, code=request.POST.get("item", ""))
    try:
        fitting.excuse(order=order, item=item, reason=request.POST.get("reason", ""), by=person(request))
    except ProblemError as refusal:
        return _numbers_page(request, refusal.problems, number)
    messages.success(request, f"{item.name}: the trailer may leave without its number.")
    return redirect("assembly:numbers", number)
