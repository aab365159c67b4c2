"""What the item card shows: figures, where it is used, for whom it is kept, and its projected balance."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import Q, QuerySet
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from bom.items.models import Item
from bom.structure.models import BillLine, Revision
from inventory.levels.models import ItemLevel
from inventory.levels.queries import working
from inventory.stock.queries import Availability, availability, open_receipts
from production.planning.balance import Chart, Event, Step, draw, running
from production.planning.models import Peg, Plan, Suggestion

if TYPE_CHECKING:
    from inventory.levels.arithmetic import ReorderPoint

MOST_EVENTS = 400


@dataclass(frozen=True)
class Card:
    """Everything the card of one item shows."""

    item: Item
    stock: Availability
    level: ItemLevel | None
    level_working: ReorderPoint | None
    steps: list[Step]
    chart: Chart
    used_in: list[BillLine]
    suggestions: list[Suggestion]


def card_of(item: Item, plan: Plan | None) -> Card:
    """The card of an item under a plan (without one it shows no needs). A constant number of queries."""
    stock = availability([item.pk])[item.pk]
    level = ItemLevel.objects.filter(item=item).first()
    suggestions = list(_suggestions(plan, item)[:MOST_EVENTS]) if plan else []
    steps = running(stock.on_hand, _events(item, plan, suggestions))
    point = level.reorder_point if level and level.reorder_point > 0 else None
    return Card(
        item=item,
        stock=stock,
        level=level,
        level_working=working(level) if level else None,
        steps=steps,
        chart=draw(stock.on_hand, steps, today=timezone.localdate(), level=point),
        used_in=_used_in(item),
        suggestions=suggestions,
    )


def _suggestions(plan: Plan, item: Item) -> QuerySet[Suggestion]:
    return Suggestion.objects.filter(plan=plan, item=item).select_related("purchase_line__order")


def _events(item: Item, plan: Plan | None, suggestions: list[Suggestion]) -> list[Event]:
    receipts = [
        Event(
            receipt.due_on,
            receipt.quantity,
            f"coming on {receipt.order_number}",
            _address("buying:order", receipt.order_number),
        )
        for receipt in open_receipts([item.pk])
    ]
    if plan is None:
        return receipts
    made = [
        Event(row.needed_on, row.quantity, f"suggestion {row.number}: {row.get_kind_display()}")
        for row in suggestions
    ]
    needs: dict[tuple[date, str], Decimal] = {}
    rows = Peg.objects.filter(plan=plan, item=item).order_by("needed_on")
    for day, number, quantity in rows.values_list("needed_on", "order__number", "quantity")[:MOST_EVENTS]:
        needs[day, number] = needs.get((day, number), Decimal(0)) + quantity
    return [
        *receipts,
        *made,
        *(
            Event(day, -quantity, f"order {number}", _address("orders:order", number))
            for (day, number), quantity in needs.items()
        ),
    ]


def _address(view: str, number: str) -> str:
    """Where an order can be read; nothing where those pages are not served."""
    try:
        return reverse(view, args=[number])
    except NoReverseMatch:
        return ""


def _used_in(item: Item) -> list[BillLine]:
    """Lines of released revisions that name the item or its family."""
    asked = Q(component=item) | (Q(family=item.family_id) if item.family_id else Q(pk=None))
    lines = BillLine.objects.filter(asked, revision__state=Revision.State.RELEASED).select_related(
        "revision__item"
    )
    return list(lines.order_by("revision__item__code", "position")[:50])
