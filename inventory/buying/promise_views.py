"""Acts on an order beside its lines: approval, sending, what the supplier confirmed, and chasing."""

from __future__ import annotations

import re
from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.people.models import User
from inventory.buying import approving, chasing, confirming, sending
from inventory.buying.forms import ChaseForm, PromiseForm
from inventory.buying.paper_models import OrderPaper
from inventory.buying.views import do, line_of, order_of, person_of
from inventory.levels.arithmetic import after_working_days

KEY = re.compile(r"(order|chase):[0-9a-f]{32}")


@require_POST
@needs("inventory.add_purchaseorder")
def ask(request: HttpRequest, number: str) -> HttpResponse:
    """Ask another person to approve a draft above one's own limit."""
    found = order_of(number)
    return do(
        request,
        found,
        lambda: approving.ask_approval(order=found, by=_somebody(request)),
        f"{number} waits for approval.",
    )


@require_POST
@needs("inventory.approve_purchaseorder")
def approve(request: HttpRequest, number: str) -> HttpResponse:
    found = order_of(number)
    return do(
        request,
        found,
        lambda: approving.approve(order=found, by=_somebody(request)),
        f"{number} is approved and may be released.",
    )


@require_POST
@needs("inventory.approve_purchaseorder")
def decline(request: HttpRequest, number: str) -> HttpResponse:
    found = order_of(number)
    return do(
        request,
        found,
        lambda: approving.decline(order=found, by=_somebody(request)),
        f"{number} is given back as a draft.",
    )


@require_POST
@needs("inventory.release_purchaseorder")
def send(request: HttpRequest, number: str) -> HttpResponse:
    """Draw the paper in the background and mail it, once a press."""
    found = order_of(number)
    return do(
        request,
        found,
        lambda: sending.send_order(order=found, by=person_of(request), key=f"{_key(request)}:send"),
        f"{number} is being drawn and sent.",
    )


@require_GET
def paper(request: HttpRequest, number: str, copy: str, kind: str) -> HttpResponse:
    """A file exactly as it was sent."""
    found = get_object_or_404(
        OrderPaper.objects.select_related("order"), order__number=number, copy=copy, pdf__isnull=False
    )
    content = sending.open_file(found, kind)
    response = HttpResponse(content, content_type=sending.KINDS[kind])
    response["Content-Disposition"] = f'attachment; filename="{number}-copy-{copy}.{kind}"'
    return response


@require_POST
@needs("inventory.confirm_purchaseorder")
def confirm(request: HttpRequest, number: str, position: int) -> HttpResponse:
    """What the supplier promised for one line."""
    line = line_of(number, position)
    form = PromiseForm(request.POST)
    if not form.is_valid():
        messages.error(request, f"Line {position}: write a quantity above zero and the day they named.")
        return redirect("buying:order", number=number)
    data = form.cleaned_data
    promise = confirming.Promise(data["promised_on"], data["quantity"], data["rest_on"], data["note"])
    return do(
        request,
        line.order,
        lambda: confirming.confirm_line(
            line=line, promise=promise, by=person_of(request), key=f"{_key(request)}:{position}"
        ),
        f"Line {position} is confirmed.",
    )


@require_POST
@needs("inventory.confirm_purchaseorder")
def confirm_all(request: HttpRequest, number: str) -> HttpResponse:
    """Everything comes as ordered."""
    found = order_of(number)
    return do(
        request,
        found,
        lambda: confirming.confirm_as_ordered(order=found, by=person_of(request), key=_key(request)),
        f"{number} is confirmed as ordered.",
    )


@require_GET
def chase_list(request: HttpRequest) -> HttpResponse:
    """Lines to ask suppliers about, by supplier."""
    today = timezone.localdate()
    rows = sorted(chasing.lines_to_chase(today=today), key=lambda row: row.line.order.supplier.name)
    loads = chasing.loads_to_chase(today=today)
    context = {
        "rows": rows,
        "loads": sorted(loads, key=lambda row: row.line.order.supplier.name),
        "count": len(rows) + len(loads),
        "outside_key": new_key("outside"),
        "today": today,
        "again_on": after_working_days(today, chasing.AGAIN_AFTER_DAYS),
        "key": new_key("chase"),
    }
    return page(request, "buying/chase.html", context)


@require_POST
@needs("inventory.confirm_purchaseorder")
def chase(request: HttpRequest, number: str, position: int) -> HttpResponse:
    """Keep what the supplier answered."""
    line = line_of(number, position)
    form = ChaseForm(request.POST)
    back = "buying:chase_list" if request.POST.get("from") == "chase" else ""
    if not form.is_valid():
        messages.error(request, f"{number}, line {position}: write what they said and when to ask again.")
        return redirect(back) if back else redirect("buying:order", number=number)
    again_on: date = form.cleaned_data["again_on"]
    answer = do(
        request,
        line.order,
        lambda: chasing.chase_line(
            line=line,
            answer=form.cleaned_data["answer"],
            again_on=again_on,
            by=person_of(request),
            key=f"{_key(request)}:{line.pk}",
        ),
        f"{number}, line {position}: the answer is kept.",
    )
    return redirect(back) if back and answer.status_code == 302 else answer


@require_POST
@needs("inventory.confirm_purchaseorder")
def chase_whole(request: HttpRequest, number: str) -> HttpResponse:
    """One answer for everything that is still to come on an order."""
    found = order_of(number)
    form = ChaseForm(request.POST)
    if not form.is_valid():
        messages.error(request, f"{number}: write what they said and when to ask again.")
        return redirect("buying:order", number=number)
    answer = do(
        request,
        found,
        lambda: chasing.chase_order(
            order=found,
            answer=form.cleaned_data["answer"],
            again_on=form.cleaned_data["again_on"],
            by=person_of(request),
            key=f"{_key(request)}:all",
        ),
        f"{number}: the answer is kept for all that is to come.",
    )
    is_from_list = request.POST.get("from") == "chase" and answer.status_code == 302
    return redirect("buying:chase_list") if is_from_list else answer


def _key(request: HttpRequest) -> str:
    key = request.POST.get("key", "")
    if not KEY.fullmatch(key):
        raise ProblemError(Problem("This form is incomplete", "", "Load the page again and fill it in anew."))
    return key


def _somebody(request: HttpRequest) -> User:
    if not isinstance(request.user, User):
        raise ProblemError(Problem("Nobody is signed in", "", "Sign in and try again."))
    return request.user
