"""What the open orders need, as the netting wants to be told: demands, frozen bills, rules, stock, receipts.

Order numbers and item codes name things in the netting, so that its problems can be read by people.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.utils import timezone

from bom.items.models import Item
from bom.structure.models import Operation
from inventory.buying.measured import PlanningLead
from inventory.buying.record import planning_leads
from inventory.levels.arithmetic import WEIGHING
from inventory.levels.costs import costs_of, weighed_sizes
from inventory.levels.models import ItemLevel
from inventory.levels.offers import Offer, offers
from inventory.levels.quantities import Costs
from inventory.stock.models import Reservation
from inventory.stock.queries import availability, open_receipts
from production.orders.models import FrozenLine, Order
from production.planning.netting.data import Bills, Demand, ItemRule, LotRule, Receipt, Stock
from production.shop.hours import WorkingDays
from production.works.models import Swap, WorksOperation

NOTHING = Decimal(0)
WHOLE_UNITS = (Item.Unit.PIECE, Item.Unit.SET)
# Working days that a stage takes when nobody has said otherwise: common practice, no source.
STAGE_DAYS: Mapping[str, int] = {
    "laser": 1,
    "saw": 1,
    "fold": 1,
    "weld": 1,
    "powder": 1,
    "assemble": 1,
    "inspect": 1,
}
# Parts are wanted so many working days before the work that uses them could first begin: common practice, no source.
BUFFER_DAYS = 2
# Waiting for the next lorry, on top of the days until it is back.
LORRY_WAIT_DAYS = 2


@dataclass(frozen=True)
class UnderWay:
    """What orders have beyond their reservations: picked into kits, on begun sheets, at the galvaniser.

    `kept` is by (order id, item id). `spoken_for` says how much of what counts as on hand is taken up by it,
    by item id: the picked parts, and the raw sheets that begun batches will still use.
    """

    kept: Mapping[tuple[int, int], Decimal] = field(default_factory=dict)
    spoken_for: Mapping[int, Decimal] = field(default_factory=dict)


@dataclass(frozen=True)
class Needs:
    """The netting's input, with what is needed to read its answer."""

    orders: Mapping[str, Order]
    items: Mapping[str, Item]
    demands: tuple[Demand, ...]
    bills: Bills
    rules: tuple[ItemRule, ...]
    stock: Stock
    receipts: tuple[Receipt, ...]
    today: int
    days: WorkingDays

    def stops_on(self, needed_day: int) -> int:
        """The day on which work really stops for want of something that the netting wanted on `needed_day`."""
        return self.days.shift(needed_day, BUFFER_DAYS)


def read_needs(
    orders: Sequence[Order],
    *,
    under_way: UnderWay,
    today: date,
    days: WorkingDays,
    galvanising_days: int,
) -> Needs:
    """Gather the needs of open orders (with `model__item` at hand). Fifteen queries whatever their number.

    `galvanising_days` is how many working days a load is away.
    """
    items = {item.pk: item for item in Item.objects.all()}
    swaps = _swaps(orders, items)
    edges = _edges({order.bill_id for order in orders if order.bill_id}, items)
    by_number = {order.number: order for order in orders}
    return Needs(
        orders=by_number,
        items={item.code: item for item in items.values()},
        demands=(*_demands(orders, days), *_instead(by_number, swaps, days)),
        bills=Bills({order.number: str(order.bill_id) for order in orders}, edges, _standard(edges)),
        rules=tuple(_rules(items.values(), galvanising_days)),
        stock=_stock(orders, items, under_way, swaps),
        receipts=tuple(
            Receipt(
                items[row.item_id].code,
                row.quantity,
                max(row.due_on, today).toordinal(),
                str(row.line_id),
            )
            for row in open_receipts()
        ),
        today=today.toordinal(),
        days=days,
    )


def _demands(orders: Iterable[Order], days: WorkingDays) -> Iterable[Demand]:
    """Each order asks for one trailer a buffer before the day it is held to; heavier orders come first on a day."""
    for order in orders:
        day = days.before(order.due_on.toordinal(), BUFFER_DAYS)
        yield Demand(order.number, order.model.item.code, Decimal(1), day, -order.weight)


@dataclass(frozen=True)
class _Swapped:
    """An order that is not assembled yet takes so many of one item instead of another."""

    order: str
    item: str
    instead: str
    quantity: Decimal


def _swaps(orders: Iterable[Order], items: Mapping[int, Item]) -> list[_Swapped]:
    """The substitutes taken. What is assembled has used its own up and needs nothing more."""
    numbers = {order.pk: order.number for order in orders}
    assembled = WorksOperation.objects.filter(process__code="assemble", state=WorksOperation.State.DONE)
    rows = Swap.objects.filter(order__in=numbers).exclude(order__in=assembled.values("works_order__order"))
    return [
        _Swapped(numbers[order_id], items[item_id].code, items[instead_id].code, quantity)
        for order_id, item_id, instead_id, quantity in rows.order_by("pk").values_list(
            "order_id", "item_id", "instead_id", "quantity"
        )
    ]


def _instead(orders: Mapping[str, Order], swaps: Iterable[_Swapped], days: WorkingDays) -> Iterable[Demand]:
    """The order needs the substitute itself, beside its frozen bill, in time for its assembly."""
    for swap in swaps:
        order = orders[swap.order]
        day = days.before(order.due_on.toordinal(), BUFFER_DAYS + STAGE_DAYS["assemble"])
        yield Demand(order.number, swap.instead, swap.quantity, day, -order.weight)


def _edges(
    bill_ids: set[int], items: Mapping[int, Item]
) -> dict[str, dict[str, tuple[tuple[str, Decimal], ...]]]:
    found: dict[str, dict[str, dict[str, Decimal]]] = {str(bill_id): {} for bill_id in bill_ids}
    open_bills = FrozenLine.objects.filter(bill__orders__state__in=Order.OPEN).distinct()
    rows = open_bills.order_by("bill_id", "pk").values_list(
        "bill_id", "parent_id", "item_id", "quantity_per", "pk"
    )
    for bill_id, parent_id, item_id, quantity, _ in rows.iterator(chunk_size=5000):
        if bill_id not in bill_ids:
            continue
        below = found[str(bill_id)].setdefault(items[parent_id].code, {})
        code = items[item_id].code
        below[code] = below.get(code, NOTHING) + quantity
    return {
        bill: {parent: tuple(below.items()) for parent, below in parents.items()}
        for bill, parents in found.items()
    }


def _standard(
    edges: Mapping[str, Mapping[str, tuple[tuple[str, Decimal], ...]]],
) -> dict[str, tuple[tuple[str, Decimal], ...]]:
    """The latest bill of each parent serves what a lot makes beyond its orders."""
    found: dict[str, tuple[tuple[str, Decimal], ...]] = {}
    for bill in sorted(edges, key=int):
        found.update(edges[bill])
    return found


def _rules(items: Iterable[Item], galvanising_days: int) -> Iterable[ItemRule]:
    bought = [item.pk for item in items if not item.is_made]
    sold, leads, processes = offers(bought), planning_leads(bought), _processes()
    weighed = _weighed(items, sold)
    for item in items:
        size, costs = weighed.get(item.pk, (NOTHING, None))
        lot_rule, lot_size = _lot(item, sold.get(item.pk), size, costs)
        yield ItemRule(
            item=item.code,
            make=item.is_made,
            lead_days=_lead_days(item, leads.get(item.pk), processes.get(item.pk, ()), galvanising_days),
            lot_rule=lot_rule,
            lot_size=lot_size,
            safety_stock=item.safety_stock,
            phantom=item.is_phantom,
            whole=item.unit in WHOLE_UNITS,
            order_cost=costs.order_cost if costs else NOTHING,
            holding_cost=costs.holding_cost_a_day if costs else NOTHING,
        )


def _weighed(items: Iterable[Item], sold: Mapping[int, Offer]) -> dict[int, tuple[Decimal, Costs]]:
    """By item whose lot rule weighs costs: its economic quantity and the costs. No query where there is none."""
    weighing = {item.pk: item for item in items if item.lot_rule in WEIGHING}
    if not weighing:
        return {}
    known = {level.item_id: level for level in ItemLevel.objects.filter(item__in=list(weighing))}
    levels = [known.get(pk) or ItemLevel(item=item) for pk, item in weighing.items()]
    for level in levels:
        level.item = weighing[level.item_id]
    offered = {pk: offer for pk, offer in sold.items() if pk in weighing}
    today = timezone.localdate()
    costs = costs_of(levels, offered, today=today)
    sizes = weighed_sizes(levels, offered, today=today)
    return {pk: (sizes.get(pk, NOTHING), one) for pk, one in costs.items()}


def _lot(item: Item, offer: Offer | None, economic: Decimal, costs: Costs | None) -> tuple[LotRule, Decimal]:
    """The item's own rule; what is bought as needed still comes in whole packs.

    A rule that weighs costs is as needed where the costs or the use are not known.
    """
    rule = LotRule(item.lot_rule)
    pack = offer.pack if offer is not None and offer.pack > 1 else NOTHING
    if rule == LotRule.ECONOMIC:
        if economic > 0:
            return rule, economic
        rule = LotRule.AS_NEEDED
    elif rule in (LotRule.LEAST_AVERAGE, LotRule.LEAST_TOTAL):
        if costs is not None and costs.can_be_weighed:
            return rule, pack
        rule = LotRule.AS_NEEDED
    if rule == LotRule.AS_NEEDED and not item.is_made and offer is not None and offer.pack > 1:
        return LotRule.MULTIPLE, offer.pack
    return rule, item.lot_size


def _lead_days(item: Item, lead: PlanningLead | None, processes: Iterable[str], galvanising_days: int) -> int:
    """What is bought takes as long as measured, or as stated where too little is known (see `buying.record`)."""
    if not item.is_made:
        return lead.days if lead is not None else item.lead_days
    stages = {**STAGE_DAYS, "galvanise": galvanising_days + LORRY_WAIT_DAYS}
    return max(item.lead_days, sum(stages.get(process, 0) for process in processes))


def _processes() -> dict[int, list[str]]:
    """The processes that each made item goes through, by its released revisions."""
    found: dict[int, dict[str, None]] = defaultdict(dict)
    rows = Operation.objects.filter(revision__state="released").order_by("revision_id", "sequence")
    for item_id, code in rows.values_list("revision__item_id", "process__code"):
        found[item_id][code] = None
    return {item_id: list(codes) for item_id, codes in found.items()}


def _stock(
    orders: Iterable[Order], items: Mapping[int, Item], under_way: UnderWay, swaps: Iterable[_Swapped]
) -> Stock:
    """What is free and what is kept for orders; a substitute taken fulfils the need of the item it stands for."""
    numbers = {order.pk: order.number for order in orders}
    by_purpose = {order.purpose_id: order.number for order in orders}
    reserved: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for purpose_id, item_id, quantity in Reservation.objects.values_list("purpose_id", "item_id", "quantity"):
        if purpose_id in by_purpose:
            reserved[by_purpose[purpose_id], items[item_id].code] += quantity
    for (order_id, item_id), quantity in under_way.kept.items():
        reserved[numbers[order_id], items[item_id].code] += quantity
    for swap in swaps:
        reserved[swap.order, swap.item] += swap.quantity
    free = {
        items[item_id].code: one.available - under_way.spoken_for.get(item_id, NOTHING)
        for item_id, one in availability().items()
    }
    return Stock({code: quantity for code, quantity in free.items() if quantity > 0}, dict(reserved))
