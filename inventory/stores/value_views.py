"""What stock is worth: the list on a day, the working of one item, the cost of one posting."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import table_page
from bom.people.models import User
from inventory.stock import stating, valuing
from inventory.stock.cost_models import ChargeShare, CostMethod
from inventory.stock.costs import Basis, Entry
from inventory.stock.models import Posting
from inventory.stores.value_forms import AS_THE_WORKSHOP, ChargeForm, CostForm, DayForm, MethodForm, SpanForm
from inventory.stores.value_tables import ValueTable, totals, value_rows

MAY_VALUE = "inventory.value_stock"
DAYS_SHOWN = 90
ENTRIES_SHOWN = 200

_GONE = {
    "conversion": "used for work",
    "supplier": "back to the supplier",
    "customer": "gone to the customer",
    "scrap": "scrapped",
    "count": "missing at a count",
}


@require_GET
def values(request: HttpRequest) -> HttpResponse:
    """Every item with what it is worth at the end of a day."""
    form = DayForm(request.GET)
    chosen = form.chosen()
    rows = value_rows(
        on=chosen.get("on"),
        text=chosen.get("text", ""),
        group=chosen.get("group", ""),
        kind=chosen.get("kind", ""),
    )
    house = CostMethod.objects.filter(item=None).first()
    day = DayForm({**request.GET.dict(), "on": chosen.get("on") or timezone.localdate()})
    context = {
        "day": day,
        "on": chosen.get("on") or timezone.localdate(),
        "totals": totals(rows),
        "method": house or CostMethod(method=CostMethod.Method.AVERAGE),
        "method_form": MethodForm(of_item=False, initial={"method": house.method if house else "average"}),
    }
    return table_page(
        request,
        table_class=ValueTable,
        queryset=rows,  # type: ignore[arg-type]
        template="stores/value.html",
        export_name="stock-value",
        context=context,
    )


@require_POST
@needs(MAY_VALUE)
def house_method(request: HttpRequest) -> HttpResponse:
    """The workshop's method, for all items that have none of their own."""
    stating.choose_method(method=request.POST.get("method", ""))
    messages.success(request, "All stock that has no method of its own is valued anew.")
    return redirect("stores:value")


@require_GET
def item(request: HttpRequest, code: str) -> HttpResponse:
    """How the worth of one item comes about."""
    found = get_object_or_404(Item, code=code)
    span = SpanForm(request.GET)
    span.is_valid()
    on = span.cleaned_data.get("on")
    since = span.cleaned_data.get("since") or (on or timezone.localdate()) - timedelta(days=DAYS_SHOWN)
    working = valuing.working(found.pk, on=on, since=since)
    entries = working.entries[-ENTRIES_SHOWN:]
    cut = (
        working.entries[len(working.entries) - len(entries) - 1]
        if len(entries) < len(working.entries)
        else None
    )
    rule = CostMethod.objects.filter(item=found).first()
    method = CostMethod.Method(working.worth.method).label
    context = {
        "item": found,
        "span": SpanForm(initial={"since": since, "on": on or timezone.localdate()}),
        "on": on or timezone.localdate(),
        "since": since,
        "working": working,
        "worth": working.worth,
        "entries": [(entry, _told(entry, method)) for entry in entries],
        "before": _before(working, cut),
        "layers": working.layers,
        "method": method,
        "method_form": MethodForm(of_item=True, initial={"method": rule.method if rule else AS_THE_WORKSHOP}),
    }
    return page(request, "stores/item_value.html", context, part="stores/_worth.html")


@require_POST
@needs(MAY_VALUE)
def item_method(request: HttpRequest, code: str) -> HttpResponse:
    """The method of one item; none given, it follows the workshop's."""
    found = get_object_or_404(Item, code=code)
    _choose(found, request.POST.get("method", ""))
    messages.success(request, f"{found.code} is valued anew.")
    return redirect("stores:item_value", code=found.code)


@require_GET
def posting(request: HttpRequest, pk: int) -> HttpResponse:
    """What a posting cost by item, and who said so."""
    return _posting_page(request, get_object_or_404(Posting, pk=pk))


@require_POST
@needs(MAY_VALUE)
def state_cost(request: HttpRequest, pk: int) -> HttpResponse:
    """What one unit of a thing cost that came with the posting."""
    found = get_object_or_404(Posting, pk=pk)
    came = Item.objects.filter(pk__in=[entry.item_id for entry in _entries(found) if entry.quantity > 0])
    return _said(request, found, CostForm(request.POST, items=list(came)))


@require_POST
@needs(MAY_VALUE)
def charge(request: HttpRequest, pk: int) -> HttpResponse:
    """A bill for freight, duty or the like on what came with the posting."""
    found = get_object_or_404(Posting, pk=pk)
    return _said(request, found, ChargeForm(request.POST, posting=found))


def _said(request: HttpRequest, found: Posting, form: CostForm | ChargeForm) -> HttpResponse:
    problems: tuple[Any, ...] = ()
    try:
        if _say(found, form, _person(request)):
            messages.success(request, "Kept. What is worth more or less by it is worked out anew.")
            return redirect("stores:posting_cost", pk=found.pk)
    except ProblemError as refusal:
        problems = refusal.problems
    return _posting_page(request, found, form, problems)


def _posting_page(
    request: HttpRequest,
    found: Posting,
    said: CostForm | ChargeForm | None = None,
    problems: tuple[Any, ...] = (),
) -> HttpResponse:
    entries = _entries(found)
    items = Item.objects.in_bulk({entry.item_id for entry in entries})
    came = [items[entry.item_id] for entry in entries if entry.quantity > 0]
    is_receipt = found.kind == Posting.Kind.RECEIPT
    context = {
        "posting": found,
        "rows": [{"entry": entry, "item": items[entry.item_id]} for entry in entries],
        "came": came,
        "shares": ChargeShare.objects.filter(posting=found).select_related("charge", "item")
        if is_receipt
        else [],
        "cost_form": said if isinstance(said, CostForm) else CostForm(items=came),
        "charge_form": (said if isinstance(said, ChargeForm) else ChargeForm(posting=found))
        if is_receipt
        else None,
        "problems": problems,
    }
    return page(request, "stores/posting_cost.html", context, status=409 if problems else 200)


def _entries(found: Posting) -> list[Entry]:
    return valuing.posting_costs([found.pk])[found.pk]


def _say(found: Posting, form: CostForm | ChargeForm, by: User | None) -> bool:
    if not form.is_valid():
        return False
    data = form.cleaned_data
    if isinstance(form, CostForm):
        stating.state_cost(
            posting=found, item=data["item"], unit_cost=data["unit_cost"], reason=data["reason"], by=by
        )
    else:
        stating.add_charge(
            postings=[found, *data.get("also", [])],
            kind=data["kind"],
            amount=data["amount"],
            shared_by=data["shared_by"],
            paper=data["paper"],
            by=by,
            key=data["key"],
        )
    return True


def _told(entry: Entry, method: str) -> str:
    """Why an entry is worth what it is, in words."""
    if entry.quantity > 0 or entry.basis != Basis.LEFT:
        return str(entry.basis)
    return f"{_GONE.get(entry.across, entry.across)}, {method}"


def _before(working: valuing.Working, cut: Any) -> dict[str, Any]:
    """What there was before the first entry shown."""
    if cut is not None:
        return {"quantity": cut.quantity_after, "value": cut.value_after}
    return {"quantity": working.before.quantity, "value": working.before.value}


def _choose(found: Item, method: str) -> None:
    if method == AS_THE_WORKSHOP:
        stating.follow_the_workshop(item=found)
    else:
        stating.choose_method(method=method, item=found)


def _person(request: HttpRequest) -> User | None:
    return request.user if isinstance(request.user, User) else None
