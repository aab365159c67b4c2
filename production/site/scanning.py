"""A scanned code opens what it names: our labels, suppliers' numbers, or a code as somebody typed it."""

from __future__ import annotations

from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from bom.items.identifying import items_called
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import page
from bom.kernel.scans import Kind, Scan, read, why_unknown
from inventory.buying.models import PurchaseOrder
from inventory.stock.models import Location, Lot
from production.assembly.models import Kit
from production.coating.models import GalvanisingLoad
from production.orders.models import Order
from production.site.navigation import address
from production.works.card_models import JobCard
from production.works.models import WorksOrder


@require_GET
def scan(request: HttpRequest) -> HttpResponse:
    """Go where the code leads; what is wrong with it is said on a page that takes the next one."""
    code = request.GET.get("code", "")
    problems: tuple[Problem, ...] = ()
    if code:
        try:
            return redirect(_where(read(code)))
        except ProblemError as refusal:
            problems = refusal.problems
    context = {"code": code, "problems": problems}
    return page(request, "site/scan.html", context, status=404 if problems else 200)


def _where(scan: Scan) -> str:
    """The address of the page for what was scanned; at most a handful of questions.

    Raises:
        ProblemError: nothing here has this code; a wrong check digit is named.
    """
    looks = {
        Kind.PLACE: (_place,),
        Kind.ITEM: (_item,),
        Kind.LOT: (_lot,),
        Kind.TRADE_ITEM: (_item, _called),
        Kind.PURCHASE: (_purchase,),
        Kind.ORDER: (_order,),
        Kind.KIT: (_kit,),
        Kind.WORKS: (_works,),
        Kind.CARD: (_card,),
        Kind.LOAD: (_load,),
        Kind.PLAIN: (_item, _place, _purchase, _card, _load, _works, _order, _called, _lot_alone),
    }
    for look in looks.get(scan.kind, ()):
        if url := look(scan):
            return url
    raise why_unknown(scan)


def _item(scan: Scan) -> str:
    item = Item.objects.filter(code__iexact=scan.code).first()
    return address("stores:item", (item.code,)) or "" if item else ""


def _called(scan: Scan) -> str:
    found = items_called(scan.code)
    if len(found) == 1:
        return address("stores:item", (found[0].item.code,)) or ""
    return f"{address('site:find')}?q={quote(scan.code)}" if found else ""


def _place(scan: Scan) -> str:
    place = Location.objects.filter(code__iexact=scan.code).first()
    return f"{address('stores:stock')}?place={quote(place.code)}" if place else ""


def _lot(scan: Scan) -> str:
    lot = (
        Lot.objects.filter(item__code__iexact=scan.code, code__iexact=scan.lot).select_related("item").first()
    )
    return address("stores:item", (lot.item.code,)) or "" if lot else ""


def _lot_alone(scan: Scan) -> str:
    lots = list(Lot.objects.filter(code__iexact=scan.code).select_related("item")[:2])
    return address("stores:item", (lots[0].item.code,)) or "" if len(lots) == 1 else ""


def _purchase(scan: Scan) -> str:
    order = PurchaseOrder.objects.filter(number__iexact=scan.code).first()
    if order is None:
        return ""
    if order.state == PurchaseOrder.State.RELEASED:
        return f"{address('stores:hand_goods_in')}?order={quote(order.number)}"
    return address("buying:order", (order.number,)) or ""


def _order(scan: Scan) -> str:
    order = Order.objects.filter(number__iexact=scan.code).first()
    return address("orders:order", (order.number,)) or "" if order else ""


def _kit(scan: Scan) -> str:
    kit = Kit.objects.filter(order__number__iexact=scan.code).select_related("order").first()
    return address("picking:kit", (kit.order.number,)) or "" if kit else ""


def _works(scan: Scan) -> str:
    works = WorksOrder.objects.filter(number__iexact=scan.code).select_related("order").first()
    return address("orders:order", (works.order.number,)) or "" if works and works.order else ""


def _card(scan: Scan) -> str:
    card = JobCard.objects.filter(number__iexact=scan.code).first()
    return address("cards:card", (card.number,)) or "" if card else ""


def _load(scan: Scan) -> str:
    load = GalvanisingLoad.objects.filter(number__iexact=scan.code).first()
    return address("coating:load", (load.number,)) or "" if load else ""
