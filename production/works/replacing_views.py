"""The page on which a welded part that was lost or spoilt is had made again, and what was made again before."""

from __future__ import annotations

from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from bom.items.models import Item
from bom.kernel.entries import Done, Sent, entry_page
from bom.kernel.errors import Problem
from bom.kernel.pages import new_key, page
from bom.kernel.quantities import format_quantity
from production.orders.models import Order
from production.works.card_views import pieces_of
from production.works.first_process import made_items
from production.works.replacement_models import Replacement
from production.works.replacing import replace

KEY = "again"


def _order(number: str) -> Order:
    return get_object_or_404(Order.objects.select_related("model", "works_order"), number=number)


def _welded(order: Order) -> list[tuple[Item, Decimal]]:
    """The welded parts of the trailer and how many it has."""
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    counts = {one.item_id: one.quantity for one in made.values() if one.first == "weld"}
    items = Item.objects.filter(pk__in=counts).order_by("code")
    return [(item, counts[item.pk]) for item in items]


def _page(request: HttpRequest, problems: tuple[Problem, ...], number: str) -> HttpResponse:
    order = _order(number)
    before = Replacement.objects.filter(works_order__order=order).select_related("item", "by")
    context = {
        "order": order,
        "parts": _welded(order),
        "before": before,
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "works/made_again.html", context, status=409 if problems else 200)


def _take(sent: Sent, number: str) -> Done:
    order = _order(number)
    made = replace(
        order=order,
        pieces=_pieces(sent, _welded(order)),
        reason=sent.fields.get("reason", ""),
        key=f"page:{sent.key}"[:45],
        by=sent.by,
        is_here=sent.fields.get("is_here") == "yes",
    )
    said = ", ".join(f"{format_quantity(one.pieces)} × {one.item.code}" for one in made)
    return Done(
        f"{said} is made again; its cards are at the stations.", reverse("cards:made_again", args=[number])
    )


def _pieces(sent: Sent, parts: list[tuple[Item, Decimal]]) -> dict[Item, Decimal]:
    counts = pieces_of(sent, "pieces")
    return {item: counts[item.pk] for item, _ in parts if counts.get(item.pk)}


made_again = entry_page(permission="production.replace_part", show=_page, take=_take)
