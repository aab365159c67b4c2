"""What the saw owes to the orders on the floor: pieces by order, part and section."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_CEILING, Decimal

from django.db.models import Count

from bom.geometry.models import SawnEnds
from production.cutting.completing import kept_parts
from production.cutting.saw.models import BarBatch, SawBar, SawCut
from production.orders.models import FrozenLine, Order
from production.works import station_queries
from production.works.first_process import made_items
from production.works.made_again import open_pieces

TENTH = Decimal("0.1")
NOTHING = Decimal(0)


@dataclass(frozen=True)
class Sawn:
    """A part as it is sawn: from which section, how long over its longest edge, its ends off square."""

    item_id: int
    section_id: int
    length_mm: Decimal
    ends_deg: tuple[Decimal, Decimal]


@dataclass(frozen=True)
class OwedPiece:
    """So many of a sawn part that an order still needs; `planned_at` is when the plan lets the saw begin on it."""

    order_id: int
    sawn: Sawn
    count: int
    planned_at: datetime | None
    needed_on: date


def owed_pieces(*, besides_open: bool = False) -> list[OwedPiece]:
    """What is neither kept for its order nor on a bar of a batch that is begun, the first planned first.

    `besides_open` leaves out what waits on any open batch, begun or not. Seven queries whatever the number of orders.
    """
    operations = list(station_queries.queue("saw"))
    orders = {one.works_order.order_id: one.works_order.order for one in operations if one.works_order.order}
    planned = {one.works_order.order_id: vars(one)["planned_at"] for one in operations}
    held = [order for order in orders.values() if order is not None and order.bill_id]
    kept, waiting = kept_parts(held), _waiting(held, besides_open)
    wanted = sawn_parts(held)
    found = []
    for order in held:
        for sawn, quantity in wanted[order.pk]:
            short = quantity - kept[order.pk, sawn.item_id] - waiting[order.pk, sawn.item_id]
            if short > 0:
                count = int(short.to_integral_value(ROUND_CEILING))
                found.append(OwedPiece(order.pk, sawn, count, planned[order.pk], order.due_on))
    return sorted(found, key=_turn)


def _turn(one: OwedPiece) -> tuple[bool, float, date, int, int]:
    at = one.planned_at.timestamp() if one.planned_at else 0.0
    return one.planned_at is None, at, one.needed_on, one.order_id, one.sawn.item_id


def sawn_parts(orders: Iterable[Order]) -> dict[int, list[tuple[Sawn, Decimal]]]:
    """By order its sawn parts and how many its trailer needs, or where parts are made again, those. Six queries."""
    orders = list(orders)
    again = open_pieces(orders)
    bills = made_items(order.bill_id for order in orders if order.bill_id)
    sawn = {
        bill_id: {one.item_id: one.quantity for one in made.values() if one.first == "saw"}
        for bill_id, made in bills.items()
    }
    lines: dict[int, list[tuple[int, int, Decimal]]] = defaultdict(list)
    for bill_id, parent, section, metres in FrozenLine.objects.filter(
        bill_id__in=sawn,
        parent_id__in={item for parts in sawn.values() for item in parts},
        item__kind="section",
    ).values_list("bill_id", "parent_id", "item_id", "quantity_per"):
        lines[bill_id].append((parent, section, metres))
    ends = {
        one.item_id: (one.first_deg, one.second_deg)
        for one in SawnEnds.objects.filter(item__in={row[0] for rows in lines.values() for row in rows})
    }
    square = (Decimal(0), Decimal(0))
    return {
        order.pk: [
            (
                Sawn(parent, section, (metres * 1000).quantize(TENTH), ends.get(parent, square)),
                again[order.pk].get(parent, NOTHING)
                if order.pk in again
                else sawn[order.bill_id or 0][parent],
            )
            for parent, section, metres in lines.get(order.bill_id or 0, [])
            if parent in sawn[order.bill_id or 0]
        ]
        for order in orders
    }


def _waiting(orders: Sequence[Order], besides_open: bool) -> defaultdict[tuple[int, int], Decimal]:
    """Pieces still to be sawn, by (order, item): of begun batches, or of all open ones."""
    states = BarBatch.OPEN if besides_open else (BarBatch.State.BEGUN,)
    rows = (
        SawCut.objects.filter(
            order__in=[order.pk for order in orders],
            state=SawCut.State.WAITING,
            bar__state__in=[SawBar.State.WAITING, SawBar.State.BEGUN],
            bar__batch__state__in=states,
        )
        .values_list("order_id", "item_id")
        .annotate(count=Count("id"))
        .order_by()
    )
    return defaultdict(Decimal, {(order, item): Decimal(count) for order, item, count in rows if order})
