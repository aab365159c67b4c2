"""What the verbs of a load share: the lock, its lines, and what keeps a load here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from decimal import Decimal

from django.db.models import Sum

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from inventory.stock.models import Balance
from inventory.stock.queries import place
from production.coating.models import GalvanisingLoad, LoadLine
from production.orders.models import Order
from production.works.models import WorksOperation

State = GalvanisingLoad.State
NOTHING = Decimal(0)
CENT = Decimal("0.01")


def locked(pk: int) -> GalvanisingLoad:
    """The load as it is now, its row locked."""
    return GalvanisingLoad.objects.select_for_update().get(pk=pk)


def lines_of(load: GalvanisingLoad) -> list[LoadLine]:
    return list(load.lines.select_related("order__purpose", "item").order_by("order__number", "item__code"))


def draft_line(load: GalvanisingLoad, order_id: int, item: Item, quantity: Decimal) -> LoadLine:
    """A line that is not saved yet, with the mass and length of its item's card."""
    return LoadLine(
        load=load,
        order_id=order_id,
        item=item,
        quantity=quantity,
        mass_kg=(item.mass_kg * quantity).quantize(CENT),
        length_mm=int(item.length_mm or 0),
    )


def draft_again(load: GalvanisingLoad, line: LoadLine, quantity: Decimal) -> LoadLine:
    """A line that is not saved yet and makes good what another one lacks, with that one's mass and length."""
    draft = draft_line(load, line.order_id, line.item, quantity)
    draft.mass_kg = (line.mass_kg * quantity / line.quantity).quantize(CENT)
    draft.length_mm, draft.repeats = line.length_mm, line
    return draft


def refuse_unless_released(load: GalvanisingLoad, verb: str) -> None:
    """Raises ProblemError unless the load is on the floor and has not left."""
    if load.state == State.RELEASED:
        return
    why = {
        State.PROPOSED: "its plan is not released yet",
        State.DROPPED: "a newer plan has dropped it",
        State.AWAY: "it has left",
        State.BACK: "it is back already",
    }[State(load.state)]
    raise ProblemError(
        Problem(
            f"Load {load.number} cannot be {verb}: {why}",
            mend="Open the galvanising page again and take a load that is still here.",
        )
    )


def not_signed(load: GalvanisingLoad, lines: Iterable[LoadLine]) -> list[Problem]:
    return [
        Problem(
            f"Nobody has signed for the vent and drain holes of {line.item.code}, order {line.order.number}. "
            "A sealed cavity can burst in the bath",
            where=f"load {load.number}",
            mend="Look at every hollow member, drill what is missing, then sign.",
        )
        for line in lines
        if line.vents_checked_at is None
    ]


def not_there(load: GalvanisingLoad, lines: list[LoadLine]) -> list[Problem]:
    """Lines whose assembly does not lie at WELD. The stock is shared by code, so it is given out in line order."""
    if not lines:
        return [
            Problem(
                f"Load {load.number} is empty", mend="Move an order to it, or leave the lorry without a load."
            )
        ]
    lies = welded({line.item_id for line in lines})
    problems = []
    for line in lines:
        if lies[line.item_id] >= line.quantity:
            lies[line.item_id] -= line.quantity
            continue
        problems.append(
            Problem(
                f"{line.item.code} of order {line.order.number} is not welded yet",
                where=f"load {load.number}",
                mend="Finish the weld, or move the order to another load.",
            )
        )
    return problems


def welded(item_ids: Collection[int]) -> defaultdict[int, Decimal]:
    """How many of each item lie welded. One query."""
    rows = (
        Balance.objects.filter(item_id__in=item_ids, location=place("WELD"))
        .values_list("item_id")
        .annotate(total=Sum("quantity"))
        .order_by()
    )
    return defaultdict(Decimal, dict(rows))


def too_much(load: GalvanisingLoad, lines: Iterable[LoadLine]) -> list[Problem]:
    """What of the lorry's mass and the bath's length these lines exceed."""
    lines = list(lines)
    mass = sum((line.mass_kg for line in lines), NOTHING)
    longest = max((line.length_mm for line in lines), default=0)
    problems = []
    if mass > load.max_kg:
        problems.append(
            Problem(
                f"It would be {mass:.0f} kg; the lorry takes {load.max_kg} kg",
                where=f"load {load.number}",
                mend="Choose a later lorry, or move another order off this one first.",
            )
        )
    if longest > load.bath_length_mm:
        problems.append(
            Problem(
                f"The longest part is {longest} mm; the bath is {load.bath_length_mm} mm",
                where=f"load {load.number}",
                mend="Ask the galvaniser for a double dip, or choose a lorry that goes to a longer bath.",
            )
        )
    return problems


def galvanising(order_ids: Collection[int], *states: str) -> list[WorksOperation]:
    """The galvanising of these open orders that is in one of `states`."""
    return list(
        WorksOperation.objects.select_related("works_order__order", "process").filter(
            works_order__order__in=order_ids,
            works_order__order__state__in=Order.OPEN,
            process__code="galvanise",
            state__in=states,
        )
    )
