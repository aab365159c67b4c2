"""Put away, on hold, bins at work: lists of what waits, each line with its act. Made for desk and phone."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.people.models import User
from inventory.stock.models import Posting
from inventory.stores import bins, holding, putting_away
from inventory.stores.act_forms import BinForm, PutAwayForm, page_key, shelves
from inventory.stores.saying import done_message, person


@require_GET
def waiting(request: HttpRequest) -> HttpResponse:
    """What stands at goods-in, and where each thing belongs."""
    return _waiting_page(request)


@require_POST
@needs("inventory.issue_stock")
def put_away(request: HttpRequest) -> HttpResponse:
    """One heap goes to its shelf."""
    already = Posting.objects.filter(key=request.POST.get("key", "")).first()
    form = PutAwayForm(request.POST)
    if already is None and not form.is_valid():
        return _waiting_page(request, refused="Choose a shelf and write how many go there.")
    try:
        posting = already or _put_away(form, person(request))
    except ProblemError as refusal:
        return _waiting_page(request, refusal=refusal)
    messages.success(request, done_message("Put away", posting))
    return redirect("stores:put_away")


@require_GET
def holds(request: HttpRequest) -> HttpResponse:
    """What is on hold, why, by whom and since when."""
    now = timezone.now()
    rows = [{"held": one, "days": holding.days_held(one, now)} for one in holding.held()]
    return page(request, "stores/holds.html", {"rows": rows})


@require_GET
def bin_list(request: HttpRequest) -> HttpResponse:
    """Items that stand at work in two bins; those with an empty one first."""
    return _bins_page(request)


@require_POST
@needs("inventory.issue_stock")
def bin_empty(request: HttpRequest, code: str) -> HttpResponse:
    """Somebody tells of an empty bin."""
    item = get_object_or_404(Item, code=code)
    try:
        signal = bins.raise_signal(item=item, by=person(request))
    except ProblemError as refusal:
        return _bins_page(request, refusal)
    messages.success(
        request, f"{item.code}: an empty bin is told of. Signal {signal.pk} waits for a full one."
    )
    return redirect("stores:bins")


@require_POST
@needs("inventory.issue_stock")
def bin_full(request: HttpRequest, code: str) -> HttpResponse:
    """A full bin goes to work."""
    item = get_object_or_404(Item, code=code)
    form = BinForm(request.POST)
    if not form.is_valid():
        return redirect("stores:bins")
    try:
        posting = bins.issue_bin(item=item, by=person(request), key=form.cleaned_data["key"])
    except ProblemError as refusal:
        return _bins_page(request, refusal)
    messages.success(request, done_message(f"{item.code}, a full bin", posting))
    return redirect("stores:bins")


def _put_away(form: PutAwayForm, by: User | None) -> Posting:
    heap = form.cleaned_data["balance"]
    return putting_away.put_away(
        item=heap.item,
        quantity=form.cleaned_data["quantity"],
        source=heap.location,
        target=form.cleaned_data["target"],
        by=by,
        key=form.cleaned_data["key"],
        lot=heap.lot,
    )


def _waiting_page(
    request: HttpRequest, refusal: ProblemError | None = None, refused: str = ""
) -> HttpResponse:
    context: dict[str, Any] = {
        "rows": [
            {"waiting": one, "key": page_key(), "amount": f"{one.balance.quantity.normalize():f}"}
            for one in putting_away.waiting()
        ],
        "shelves": list(shelves()),
        "places": putting_away.goods_in_places(),
        "problems": refusal.problems if refusal else (),
        "refused": refused,
    }
    return page(request, "stores/put_away.html", context, status=409 if refusal or refused else 200)


def _bins_page(request: HttpRequest, refusal: ProblemError | None = None) -> HttpResponse:
    context = {
        "rows": [{"bin": row, "key": page_key()} for row in bins.bin_rows()],
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/bins.html", context, status=409 if refusal else 200)
