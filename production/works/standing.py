"""How far an order is: its frozen bill, what is kept for it, how its operations stand."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.stock.models import Reservation
from production.orders.models import FrozenLine, FrozenTotal, Order
from production.works.first_process import Made, made_items
from production.works.models import Swap, WorksOperation
from production.works.still_needed import NOTHING, Triple

State = WorksOperation.State


@dataclass(frozen=True)
class Standing:
    """How far an order is, by item code: its frozen bill, what is kept for it, how its operations stand."""

    top: str
    totals: Mapping[str, Decimal]
    edges: tuple[Triple, ...]
    revisions: Mapping[str, tuple[int, str]]
    made: Mapping[str, Made]
    kept: Mapping[str, Decimal]
    swapped: frozenset[str]
    operations: Mapping[str, WorksOperation]
    colours: Mapping[str, str]

    def is_under_way(self, process: str) -> bool:
        """Begun or done."""
        operation = self.operations.get(process)
        return operation is not None and operation.state in (State.BEGUN, State.DONE)

    def is_done(self, process: str) -> bool:
        operation = self.operations.get(process)
        return operation is not None and operation.state == State.DONE

    @property
    def begun(self) -> frozenset[str]:
        """Codes of made items on which work has begun."""
        return frozenset(
            code
            for code, one in self.made.items()
            if self.is_under_way(one.first) or self.kept.get(code, NOTHING) > 0
        )


def standing_of(order: Order) -> Standing:
    """Eight queries."""
    rows = list(
        FrozenTotal.objects.filter(bill=order.bill_id).values_list(
            "item_id", "item__code", "quantity", "revision_id", "revision__letter"
        )
    )
    codes = {item_id: code for item_id, code, *_ in rows}
    lines = FrozenLine.objects.filter(bill=order.bill_id).order_by("pk")
    kept = defaultdict(
        Decimal, Reservation.objects.filter(purpose=order.purpose_id).values_list("item__code", "quantity")
    )
    swaps = list(Swap.objects.filter(order=order).values_list("item__code", "instead__code", "quantity"))
    for code, instead, quantity in swaps:
        moved = min(quantity, kept[instead])
        kept[instead] -= moved
        kept[code] += moved
    operations = WorksOperation.objects.filter(works_order__order=order).select_related("process")
    return Standing(
        top=order.model.item.code,
        totals={code: quantity for _, code, quantity, *_ in rows},
        edges=tuple(lines.values_list("parent__code", "item__code", "quantity_per")),
        revisions={code: (pk, letter) for _, code, _, pk, letter in rows if pk is not None},
        made={
            codes[pk]: one for pk, one in made_items([order.bill_id or 0]).get(order.bill_id or 0, {}).items()
        },
        kept={code: quantity for code, quantity in kept.items() if quantity > 0},
        swapped=frozenset(code for code, _, _ in swaps),
        operations={one.process.code: one for one in operations},
        colours=dict(order.colours.values_list("place", "colour__code")),
    )
