"""Pages of the galvaniser's lorry: the next load, the lorries side by side, which order goes with which."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem
from bom.kernel.pages import new_key, page
from bom.kernel.tables import table_page
from production.coating import load_queries as queries
from production.coating import loads as verbs
from production.coating import outstanding
from production.coating.models import GalvanisingLoad
from production.coating.tables import LoadFilter, LoadTable
from production.orders.models import Order

Load = GalvanisingLoad.State
COAT = "production.coat_parts"
KEY = "load"
WAITING_SHOWN = 30
LORRIES_DRAWN = 8


@require_GET
@kept_offline
def galvanising(request: HttpRequest) -> HttpResponse:
    """The next lorry large with its drawing and lines, the others small, what is away, what no lorry carries."""
    here = queries.load_views(queries.loads(Load.RELEASED))
    waiting = queries.waiting_orders()
    context = {
        "next": queries.filled(here[:1])[0] if here else None,
        "then": here[1:],
        "away": queries.load_views(queries.loads(Load.AWAY)),
        "again": outstanding.lacking(),
        "waiting": waiting[:WAITING_SHOWN],
        "waiting_count": waiting.count(),
        "key": new_key(KEY),
    }
    return page(request, "coating/galvanising.html", context)


@require_GET
def loads(request: HttpRequest) -> HttpResponse:
    """Every load that was ever on the floor, with filters and export."""
    rows = queries.loads(Load.RELEASED, Load.AWAY, Load.BACK).order_by("-leaves_at", "number")
    return table_page(
        request,
        table_class=LoadTable,
        queryset=rows,
        filterset_class=LoadFilter,
        template="coating/loads.html",
        export_name="galvanising-loads",
    )


@require_GET
@kept_offline
def lorries(request: HttpRequest) -> HttpResponse:
    """The lorries that have not left, each drawn, and the orders that may change from one to another."""
    return _lorries_page(request, ())


def _lorries_page(request: HttpRequest, problems: tuple[Problem, ...]) -> HttpResponse:
    views = queries.load_views(queries.loads(Load.RELEASED))[:LORRIES_DRAWN]
    waiting = queries.waiting_orders()
    context = {
        "lorries": queries.filled(views),
        "lost": sum((view.money_lost for view in views), queries.NOTHING),
        "below": [view for view in views if view.below_minimum_kg],
        "savings": queries.savings(views)[:3],
        "again": outstanding.lacking(),
        "waiting": waiting[:WAITING_SHOWN],
        "waiting_count": waiting.count(),
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "coating/lorries.html", context, status=409 if problems else 200)


def _take_fill(sent: Sent) -> Done:
    """Put an order on a lorry, move it to another one, or leave it here."""
    order = get_object_or_404(Order, number=sent.fields.get("order", ""))
    source, target = sent.fields.get("from", ""), sent.fields.get("to", "")
    back_to = reverse("coating:lorries")
    if not target:
        load = get_object_or_404(GalvanisingLoad, number=source)
        verbs.take_off(order=order, load=load, by=sent.by)
        return Done(f"Order {order.number} stays here when load {source} leaves.", back_to)
    load = get_object_or_404(GalvanisingLoad, number=target)
    if source:
        before = get_object_or_404(GalvanisingLoad, number=source)
        verbs.move_order(order=order, from_load=before, to_load=load, by=sent.by)
    else:
        verbs.put_on(order=order, load=load, by=sent.by)
    return Done(f"Order {order.number} goes with load {load.number}.", back_to)


fill = entry_page(permission=COAT, show=_lorries_page, take=_take_fill)
