"""What open replacements ask of each process: the parts that are made again, and what is below them in the bill."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal

from production.orders.models import FrozenLine, Order
from production.works.first_process import Made, made_items
from production.works.replacement_models import Replacement

Below = Mapping[int, Iterable[tuple[int, Decimal]]]


def pieces_below(pieces: Mapping[int, Decimal], below: Below) -> dict[int, Decimal]:
    """These items and everything in them, how many of each. `below` is what one of an item is made of.

    A frozen bill has no loops, so this ends.
    """
    found: defaultdict[int, Decimal] = defaultdict(Decimal)
    waiting = list(pieces.items())
    while waiting:
        item, many = waiting.pop()
        found[item] += many
        waiting += [(component, many * per) for component, per in below.get(item, ())]
    return dict(found)


def replaced_pieces(orders: Iterable[Order]) -> dict[int, dict[int, Decimal]]:
    """By order, how many of which parts are being made again; orders without any are left out. One query."""
    wanted: defaultdict[int, dict[int, Decimal]] = defaultdict(dict)
    for order, item, pieces in Replacement.objects.filter(
        works_order__order__in=[order.pk for order in orders],
        made_at__isnull=True,
        called_off_at__isnull=True,
    ).values_list("works_order__order_id", "item_id", "pieces"):
        wanted[order or 0][item] = pieces
    return dict(wanted)


def open_pieces(orders: Iterable[Order]) -> dict[int, dict[int, Decimal]]:
    """By order, the parts that are being made again and everything in them. One query, two where there are some."""
    orders = list(orders)
    by_bill: dict[int, int] = {order.pk: order.bill_id for order in orders if order.bill_id}
    wanted = replaced_pieces(orders)
    if not wanted:
        return {}
    below = lines_below({by_bill[order] for order in wanted})
    return {order: pieces_below(pieces, below[by_bill[order]]) for order, pieces in wanted.items()}


def below_of(edges: Iterable[tuple[int, int, Decimal]]) -> dict[int, list[tuple[int, Decimal]]]:
    """What one of each item is made of, from (parent, component, quantity per parent)."""
    found: defaultdict[int, list[tuple[int, Decimal]]] = defaultdict(list)
    for parent, item, per in edges:
        found[parent].append((item, per))
    return dict(found)


def lines_below(bills: Iterable[int]) -> defaultdict[int, dict[int, list[tuple[int, Decimal]]]]:
    """By bill what one of each item is made of. One query."""
    found: defaultdict[int, dict[int, list[tuple[int, Decimal]]]] = defaultdict(dict)
    rows = FrozenLine.objects.filter(bill__in=set(bills))
    for bill, parent, item, per in rows.values_list("bill_id", "parent_id", "item_id", "quantity_per"):
        found[bill].setdefault(parent, []).append((item, per))
    return found


def made_once_more(order: Order, pieces: Mapping[int, Decimal]) -> dict[int, Made]:
    """What of these pieces is made here, each with its processes. Two queries."""
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    return {item: Made(item, many, made[item].processes) for item, many in pieces.items() if item in made}
