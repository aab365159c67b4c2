"""Pages of the parts plan: the card of an item, alerts, suggestions."""

from collections.abc import Callable

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import table_page
from inventory.buying.models import PurchaseOrder
from inventory.buying.queries import order_value
from inventory.levels.arithmetic import after_working_days
from inventory.stores.queries import item_ledger, reservations
from production.planning.alerting import watching
from production.planning.card import card_of
from production.planning.filters import SuggestionFilter, SupplyChangeFilter
from production.planning.gathering import by_supplier, for_order
from production.planning.models import Plan, Suggestion, SupplyChange
from production.planning.raising import add_suggestions, raise_for_shelf, raise_suggestions
from production.planning.tables import SuggestionTable, SupplyChangeTable
from production.works.person import person

DAYS_AHEAD, MOST_DAYS = 5, 250
CHANGES_A_PAGE = 25


def card(request: HttpRequest, code: str) -> HttpResponse:
    """One item: figures, projected balance, ledger, where used, for whom it is kept."""
    item = get_object_or_404(Item.objects.select_related("colour", "family"), code=code)
    found = card_of(item, Plan.current())
    ledger = item_ledger(item, found.stock.on_hand, 30)
    context = {"card": found, "ledger": ledger, "kept": reservations(item)}
    return page(request, "planning/card.html", context)


def suggestions(request: HttpRequest) -> HttpResponse:
    """What to buy and to make under the released plan."""
    rows = Suggestion.objects.filter(plan=Plan.current()).select_related("item", "purchase_line__order")
    rows = rows.prefetch_related("pegs__order")
    return table_page(
        request,
        table_class=SuggestionTable,
        queryset=rows.order_by("kind", "begin_on", "number"),
        filterset_class=SuggestionFilter,
        template="planning/suggestions.html",
        export_name="suggestions",
    )


def changes(request: HttpRequest) -> HttpResponse:
    """What to change about supplies on their way under the released plan: bring forward, push back, cancel, split."""
    plan = Plan.current()
    rows = SupplyChange.objects.filter(plan=plan).select_related("item", "instead", "purchase_line__order")
    by_kind = dict(
        rows.order_by().values_list("kind").annotate(count=Count("pk")).values_list("kind", "count")
    )
    kinds = [
        (kind.label, kind.value, by_kind[kind.value]) for kind in SupplyChange.Kind if kind.value in by_kind
    ]
    return table_page(
        request,
        table_class=SupplyChangeTable,
        queryset=rows.prefetch_related("orders"),
        filterset_class=SupplyChangeFilter,
        template="planning/changes.html",
        export_name="changes",
        rows_a_page=CHANGES_A_PAGE,
        context={"plan": plan, "kinds": kinds},
    )


@require_POST
@needs("inventory.add_purchaseorder")
def buy(request: HttpRequest) -> HttpResponse:
    """Draft a purchase order for a shelf that is under its level."""
    item = get_object_or_404(Item, code=request.POST.get("item", ""))
    return _raised(request, lambda: raise_for_shelf(item=item, by=person(request)), "planning:alerts")


@require_POST
@needs("inventory.add_purchaseorder")
def buy_suggestions(request: HttpRequest) -> HttpResponse:
    """Draft purchase orders for the suggestions that were ticked."""
    chosen = [int(text) for text in request.POST.getlist("suggestion") if text.isdecimal()]
    back = "planning:alerts" if request.POST.get("from") == "alerts" else "planning:suggestions"
    return _raised(request, lambda: raise_suggestions(suggestion_ids=chosen, by=person(request)), back)


@require_GET
def gather(request: HttpRequest) -> HttpResponse:
    """What to buy, by supplier: what is due to begin, and what to add where his minimum is not reached."""
    days = request.GET.get("days", "")
    ahead = min(int(days), MOST_DAYS) if days.isdecimal() and len(days) < 4 else DAYS_AHEAD
    until = after_working_days(timezone.localdate(), ahead)
    context = {"firms": by_supplier(Plan.current(), until=until), "until": until, "days": ahead}
    return page(request, "planning/gather.html", context)


@require_http_methods(["GET", "POST"])
@needs("inventory.change_purchaseorder")
def fill(request: HttpRequest, number: str) -> HttpResponse:
    """The next suggestions of a draft's supplier, to reach his minimum value."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), number=number)
    if request.method == "GET":
        worth = order_value(order)
        context = {"order": order, "worth": worth, "firm": for_order(order, Plan.current(), worth.value)}
        return page(request, "planning/fill.html", context)
    chosen = [int(text) for text in request.POST.getlist("suggestion") if text.isdecimal()]
    try:
        lines = add_suggestions(order=order, suggestion_ids=chosen, by=person(request))
    except ProblemError as error:
        messages.error(request, str(error))
        return redirect("planning:fill", number=number)
    messages.success(request, f"{len(lines)} suggestion{'' if len(lines) == 1 else 's'} added.")
    return redirect("buying:order", number=number)


def _raised(request: HttpRequest, work: Callable[[], list[PurchaseOrder]], back: str) -> HttpResponse:
    try:
        orders = work()
    except ProblemError as error:
        messages.error(request, str(error))
        return redirect(back)
    watching.watch()
    numbers = ", ".join(order.number for order in orders)
    messages.success(request, f"Drafted {numbers}. Release it under Buying to send it.")
    return redirect(back)
