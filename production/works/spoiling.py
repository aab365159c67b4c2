"""Spoilt pieces: what they had used up goes to scrap, so that the shelves tell the truth."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from bom.people.models import User
from production.orders.models import FrozenLine, Order
from production.works.card_models import CardLine, JobCard
from production.works.first_process import Made, made_items
from production.works.making import scrap_inputs


def spoil(*, card: JobCard, lines: Sequence[CardLine], reason: str, by: User) -> None:
    """Post the inputs of spoilt pieces to scrap, one posting an order. Call inside a transaction.

    Raises:
        ProblemError: the inputs do not lie where the process takes them from.
    """
    by_order: dict[Order, list[CardLine]] = defaultdict(list)
    for line in lines:
        if line.operation.works_order.order is not None:
            by_order[line.operation.works_order.order].append(line)
    for order, spoilt in by_order.items():
        scrap_inputs(
            order=order,
            process=card.process.code,
            used=_inputs(order, card.process.code, spoilt),
            key=f"spoilt:{card.number}:{order.number}",
            reason=f"{card.number}: {reason.strip()}"[:200],
            by=by,
        )


def _inputs(order: Order, process: str, lines: Sequence[CardLine]) -> dict[int, Decimal]:
    """What the pieces were made from; the piece itself where this process only works on it."""
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    inside: dict[int, list[tuple[int, Decimal]]] = defaultdict(list)
    for parent, item, per in FrozenLine.objects.filter(bill_id=order.bill_id).values_list(
        "parent_id", "item_id", "quantity_per"
    ):
        inside[parent].append((item, per))
    used: dict[int, Decimal] = defaultdict(Decimal)
    waiting = [(line.item_id, line.spoilt) for line in lines]
    # A frozen bill has no loops, so this ends.
    while waiting:
        item_id, pieces = waiting.pop()
        if _is_made_here(made.get(item_id), process):
            waiting += [(component, pieces * per) for component, per in inside[item_id]]
        else:
            used[item_id] += pieces
    return dict(used)


def _is_made_here(one: Made | None, process: str) -> bool:
    return one is not None and one.first == process
