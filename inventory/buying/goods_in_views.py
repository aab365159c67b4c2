"""Goods-in: what is expected, and booking it on a shelf. Made for the phone at the door."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.people.models import User
from bom.templatetags.workshop import quantity_text
from inventory.buying import queries, receiving, returning
from inventory.buying.forms import ReceiveForm, SendBackForm
from inventory.buying.models import PurchaseOrderLine, Receipt, SupplierReturn
from inventory.stock.models import Location, Posting
from inventory.stores import putting_away
from inventory.stores.act_forms import with_hold
from inventory.stores.models import HandlingRule
from inventory.stores.saying import done_message, with_undo

DAYS_AHEAD = 7
LINES_A_PAGE = 50


@require_GET
def expected(request: HttpRequest) -> HttpResponse:
    """Lines that are overdue, due today, or due in the coming week; all of them when looking for a word."""
    today = timezone.localdate()
    words = request.GET.get("q", "").strip()
    show_all = bool(words) or "all" in request.GET
    lines = queries.expected_lines(until=None if show_all else today + timedelta(days=DAYS_AHEAD))
    shown = Paginator(_found(lines, words), LINES_A_PAGE).get_page(request.GET.get("page"))
    context = {"lines": shown, "today": today, "words": words, "show_all": show_all, "days_ahead": DAYS_AHEAD}
    return page(request, "stores/goods_in.html", context)


@require_http_methods(["GET", "POST"])
@needs("inventory.receive_goods")
def receive(request: HttpRequest, line: int) -> HttpResponse:
    """Book in what came on one line."""
    found = get_object_or_404(
        PurchaseOrderLine.objects.select_related("order__supplier", "item__colour"), pk=line
    )
    already = Receipt.objects.filter(posting__key=request.POST.get("key", "")).first()
    if already is not None:
        return _booked(request, found, already)
    form = ReceiveForm(request.POST or None, line=found, initial=_proposed(found))
    problems: tuple[Any, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            posting = receiving.receive_line(
                line=found,
                quantity=form.cleaned_data["quantity"],
                location=form.cleaned_data["location"],
                lot_code=form.cleaned_data.get("lot_code", ""),
                by=request.user if isinstance(request.user, User) else None,
                key=form.cleaned_data["key"],
                over_agreed=form.cleaned_data.get("over_agreed", ""),
                is_last=form.cleaned_data["is_last"],
            )
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            return _booked(request, found, posting.receipt)
    context = {
        "line": found,
        "to_come": found.quantity - found.received,
        "form": form,
        "problems": problems,
        "is_serial": found.item.tracking == Item.Tracking.SERIAL,
    }
    return page(request, "stores/receive.html", context, status=409 if problems else 200)


@require_http_methods(["GET", "POST"])
@needs("inventory.send_back")
def send_back(request: HttpRequest, code: str) -> HttpResponse:
    """Goods go back to the supplier, from a shelf or from hold."""
    item = get_object_or_404(Item, code=code)
    done = SupplierReturn.objects.filter(posting__key=request.POST.get("key", "")).first()
    if done is not None:
        return _sent(request, item, done.posting)
    form = SendBackForm(request.POST or None, item=item, initial=request.GET.dict())
    problems: tuple[Any, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            posting = _send(form, item, request.user if isinstance(request.user, User) else None)
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            return _sent(request, item, posting)
    context = {
        "item": item,
        "form": form,
        "problems": problems,
        "heading": "Send back",
        "button": "It goes back",
        "is_empty": not with_hold(item).exists(),
    }
    return page(request, "stores/hand.html", context, status=409 if problems else 200)


def _send(form: SendBackForm, item: Item, by: User | None) -> Posting:
    data = form.cleaned_data
    heap, line = data["source"], data["line"]
    return returning.send_back(
        parcel=returning.Parcel(item, data["quantity"], heap.location, heap.lot),
        supplier=line.order.supplier if line else data["supplier"],
        by=by,
        key=data["key"],
        code=data["code"],
        remark=data["remark"],
        line=line,
        is_replaced=data["is_replaced"],
    )


def _sent(request: HttpRequest, item: Item, posting: Posting) -> HttpResponse:
    messages.success(request, done_message(item.code, posting))
    return redirect("stores:item", code=item.code)


def _found(lines: QuerySet[PurchaseOrderLine], words: str) -> QuerySet[PurchaseOrderLine]:
    for word in words.split():
        lines = lines.filter(
            Q(item__code__icontains=word)
            | Q(item__name__icontains=word)
            | Q(order__number__icontains=word)
            | Q(order__supplier__name__icontains=word)
        )
    return lines


def _proposed(line: PurchaseOrderLine) -> dict[str, Any]:
    still = max(line.quantity - line.received, Decimal(0))
    proposed = {"location": _place_for(line.item)}
    return proposed | ({"quantity": quantity_text(still).replace("\u202f", "")} if still else {})


def _place_for(item: Item) -> int | None:
    """Hold for what is inspected when it comes, else where goods are set down, else where the item usually lies."""
    if HandlingRule.objects.filter(item=item, is_inspected=True).exists():
        held = Location.objects.filter(kind=Location.Kind.HOLD).order_by("walk_order", "code").first()
        if held is not None:
            return held.pk
    places = putting_away.goods_in_places()
    return places[0].pk if places else queries.usual_place(item)


def _booked(request: HttpRequest, line: PurchaseOrderLine, receipt: Receipt) -> HttpResponse:
    line.refresh_from_db()
    still = line.quantity - line.received
    rest = f"{quantity_text(still)} still to come." if still > 0 else "The line is complete."
    if line.is_closed and still > 0:
        rest = f"The other {quantity_text(still)} will not come."
    if still < 0:
        rest = f"That is {quantity_text(-still)} more than ordered."
    said = f"{quantity_text(receipt.quantity)} of {line.item.code} booked in. {rest}"
    messages.success(request, with_undo(said, receipt.posting))
    return redirect("stores:goods_in")
