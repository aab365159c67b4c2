"""What the release of a draft bill touches: open orders by how far the part is with each, and what lies made."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from bom.structure.models import Revision
from inventory.stock.queries import availability
from production.orders.models import Order
from production.works.models import WorksOperation

State = WorksOperation.State


@dataclass(frozen=True)
class Touched:
    """Open orders whose frozen bill holds the item, by number. Those not begun take the new revision when they are
    changed; the others keep the one they were begun with. `on_hand` lies made by earlier revisions."""

    not_begun: tuple[str, ...]
    begun: tuple[str, ...]
    made: tuple[str, ...]
    on_hand: Decimal

    @property
    def orders(self) -> int:
        return len(self.not_begun) + len(self.begun) + len(self.made)


def touched_by(revision: Revision) -> Touched:
    """What releasing the draft would touch. Four queries."""
    numbers = list(
        Order.objects.filter(state__in=Order.OPEN, bill__totals__item=revision.item_id)
        .order_by("number")
        .values_list("number", flat=True)
    )
    processes = list(revision.operations.values_list("process__code", flat=True))
    states: dict[str, set[str]] = defaultdict(set)
    rows = WorksOperation.objects.filter(works_order__order__number__in=numbers, process__code__in=processes)
    for number, state in rows.values_list("works_order__order__number", "state"):
        states[number].add(state)
    return Touched(
        tuple(number for number in numbers if states[number] <= {State.WAITING, State.CANCELLED}),
        tuple(number for number in numbers if State.BEGUN in states[number] or _is_between(states[number])),
        tuple(number for number in numbers if states[number] and states[number] <= {State.DONE}),
        availability([revision.item_id])[revision.item_id].on_hand,
    )


def _is_between(states: set[str]) -> bool:
    """Some work on it is done and some is waiting."""
    return State.DONE in states and State.WAITING in states
