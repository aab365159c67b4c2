"""What a finished operation makes and uses up: worked out from the frozen bill, found in the workshop, posted.

Saw, weld and assemble bring items into being (see `production.works.first_process`). What one operation makes and
uses up itself never lies anywhere, so it is not posted; what is already kept for the order is not made again.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Sum

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock import ledger, reserving
from inventory.stock.drafts import PLACES
from inventory.stock.models import Balance, Location, Movement, Posting, Purpose, Reservation
from inventory.stock.queries import availability, open_receipts, place, stacks
from inventory.stores.bins import FLOOR, bin_items
from production.orders.models import FrozenLine, Order
from production.works.first_process import Made, made_items
from production.works.made_again import below_of, pieces_below, replaced_pieces
from production.works.models import Swap

NOTHING = Decimal(0)
KIT = "KIT"
_NO_ITEM = 0


@dataclass(frozen=True)
class Maker:
    """How a process posts: the work locations it takes from, in that order, whether also from the shelves, and
    where it puts what it makes."""

    takes_from: tuple[str, ...]
    puts_in: str
    from_shelves: bool


MAKERS: Mapping[str, Maker] = {
    "saw": Maker((), "CUT", from_shelves=True),
    "weld": Maker(("CUT", "WELD"), "WELD", from_shelves=True),
    "assemble": Maker((KIT, "WELD", "CUT"), "READY", from_shelves=False),
}

# A process that brings nothing into being works on what lies on the racks.
ON_THE_RACKS = Maker(("CUT", "WELD"), "WELD", from_shelves=False)

# Where what is missing comes from, by the process that makes it.
SOURCES: Mapping[str, str] = {
    "laser": "It is cut at the laser: finish its sheet there",
    "saw": "It is sawn: finish the saw's work on this order",
    "weld": "It is welded: finish the weld's work, and bring it back from the galvaniser if it is away",
    "assemble": "It is assembled here: its own parts must be there first",
}


@dataclass(frozen=True)
class Change:
    """What an operation makes and what it uses up, by item id, in stock units to four places."""

    made: Mapping[int, Decimal]
    used: Mapping[int, Decimal]


def change_of(order: Order, process: str) -> Change:
    """What finishing `process` on this order will make and use up, substitutes taken. Six queries.

    Where parts of it are made again, only those and what they are made of.
    """
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    edges = list(
        FrozenLine.objects.filter(bill_id=order.bill_id).values_list("parent_id", "item_id", "quantity_per")
    )
    kept = dict(Reservation.objects.filter(purpose=_purpose(order)).values_list("item_id", "quantity"))
    if again := replaced_pieces([order]).get(order.pk):
        return work_out_again(made, edges, kept, again, process)
    change = work_out(made, edges, kept, order.model.item_id, process)
    # Only kits hold substitutes, and kits are used up in assembly.
    return swapped(change, _swaps(order)) if process == "assemble" else change


def swapped(change: Change, swaps: Sequence[tuple[int, int, Decimal]]) -> Change:
    """The change with substitutes used up: `swaps` are (item, taken instead, how many)."""
    used = defaultdict(Decimal, change.used)
    for item, instead, quantity in swaps:
        quantity = min(quantity, used[item])
        used[item] -= quantity
        used[instead] += quantity
    return Change(change.made, {item: quantity for item, quantity in used.items() if quantity > 0})


def _swaps(order: Order) -> list[tuple[int, int, Decimal]]:
    return list(Swap.objects.filter(order=order).values_list("item_id", "instead_id", "quantity"))


def work_out(
    made: Mapping[int, Made],
    edges: Sequence[tuple[int, int, Decimal]],
    kept: Mapping[int, Decimal],
    top_id: int,
    process: str,
) -> Change:
    """The arithmetic of `change_of`: `edges` are (parent, component, quantity per parent)."""
    targets = {item_id for item_id, one in made.items() if one.first == process}
    need: dict[int, Decimal] = defaultdict(Decimal)
    if top_id in targets:
        need[top_id] = made[top_id].quantity
    for parent, item, per in edges:
        if item in targets and parent not in targets and parent in made:
            need[item] += made[parent].quantity * per
    net: dict[int, Decimal] = defaultdict(Decimal)
    for item in _parents_first(targets, edges):
        amount = max(NOTHING, need[item] - kept.get(item, NOTHING))
        net[item] += amount
        for parent, component, per in edges:
            if parent == item:
                net[component] -= amount * per
                # A target inside another target is made for it too, unless some is kept already.
                if component in targets:
                    need[component] += amount * per
    rounded = {item: quantity.quantize(PLACES) for item, quantity in net.items()}
    return Change(
        made={item: quantity for item, quantity in rounded.items() if quantity > 0},
        used={item: -quantity for item, quantity in rounded.items() if quantity < 0},
    )


def work_out_again(
    made: Mapping[int, Made],
    edges: Sequence[tuple[int, int, Decimal]],
    kept: Mapping[int, Decimal],
    again: Mapping[int, Decimal],
    process: str,
) -> Change:
    """The same for parts that are made again: what is kept of these themselves is other pieces than the lost ones."""
    pieces = pieces_below(again, below_of(edges))
    parts = {item: Made(item, count, made[item].processes) for item, count in pieces.items() if item in made}
    # They stand under a trailer of their own, so that only they are asked for.
    own = {**parts, _NO_ITEM: Made(_NO_ITEM, Decimal(1), ("",))}
    tops = [(_NO_ITEM, item, count) for item, count in again.items()]
    others = {item: count for item, count in kept.items() if item not in again}
    return work_out(own, [*edges, *tops], others, _NO_ITEM, process)


def make(*, order: Order, process: str, key: str, by: User | None) -> Posting | None:
    """Post what finishing `process` makes and uses up, and keep what was made for the order.

    Returns the posting, or none where everything was there already. Call inside a transaction.

    Raises:
        ProblemError: naming every missing part, how many, and where to get it.
    """
    maker, purpose = MAKERS[process], _purpose(order)
    change = change_of(order, process)
    if not change.made and not change.used:
        return None
    takes = _takes(order, process, change.used)
    conversion, target = place("CONV"), place(maker.puts_in)
    lines = list(takes)
    lines += [
        ledger.Line(item, conversion.pk, quantity) for item, quantity in _by_item(takes, sign=-1).items()
    ]
    for item, quantity in change.made.items():
        lines += [ledger.Line(item, conversion.pk, -quantity), ledger.Line(item, target.pk, quantity)]
    posting = ledger.post(
        key=key,
        kind=Posting.Kind.MAKE,
        lines=lines,
        by=by,
        reason=f"{process}, order {order.number}",
        purpose=purpose,
    )
    kit = place(KIT)
    # What was picked is no longer kept by a reservation.
    used = _by_item((line for line in takes if line.location_id != kit.pk), sign=-1)
    reserving.use_many(used=used, purpose=purpose)
    keep_what_is_free(change.made, purpose, by)
    return posting


def unmake(*, order: Order, posting: Posting, by: User | None) -> Posting:
    """Take back what `make` posted: parts lie where they lay and are kept for the order again."""
    purpose, conversion = _purpose(order), place("CONV")
    into = dict(
        posting.movements.filter(location=conversion)
        .order_by()
        .values_list("item_id")
        .annotate(total=Sum("quantity"))
    )
    made = {item: -quantity for item, quantity in into.items() if quantity < 0}
    reserving.use_many(used=made, purpose=purpose)
    mirror = ledger.reverse(posting=posting, by=by, reason=f"undone, order {order.number}")
    in_kit = set(posting.movements.filter(location__code=KIT).values_list("item_id", flat=True))
    back = {item: quantity for item, quantity in into.items() if quantity > 0 and item not in in_kit}
    keep_what_is_free(back, purpose, by)
    return mirror


def scrap_inputs(
    *, order: Order, process: str, used: Mapping[int, Decimal], key: str, reason: str, by: User | None
) -> Posting | None:
    """Post to scrap what spoilt pieces of an order had used up, from where `process` takes its parts.

    What was kept for the order is kept no longer, so the next parts plan sees what must come again. Call inside a
    transaction.

    Raises:
        ProblemError: naming every part that does not lie there.
    """
    rounded = {item: quantity.quantize(PLACES) for item, quantity in used.items() if quantity > 0}
    if not rounded:
        return None
    takes, purpose, scrap = _takes(order, process, rounded), _purpose(order), place("SCRAP")
    if not takes:
        return None
    lines = [*takes, *(ledger.Line(one.item_id, scrap.pk, -one.quantity, one.lot_id) for one in takes)]
    posting = ledger.post(
        key=key, kind=Posting.Kind.SCRAP, lines=lines, by=by, reason=reason, purpose=purpose
    )
    reserving.use_many(used=_by_item(takes, sign=-1), purpose=purpose)
    return posting


def keep_what_is_free(quantities: Mapping[int, Decimal], purpose: Purpose, by: User | None) -> None:
    """Keep this much for the purpose, as far as it is not kept for others."""
    free = availability(quantities)
    wants = [
        reserving.Want(item, purpose.pk, min(quantity, free[item].available))
        for item, quantity in quantities.items()
        if free[item].available > 0
    ]
    reserving.reserve_many(wants=wants, by=by)


def _purpose(order: Order) -> Purpose:
    if order.purpose is None:
        raise ProblemError(
            Problem("The order has no frozen bill yet", f"order {order.number}", "Confirm it first.")
        )
    return order.purpose


def _parents_first(targets: Collection[int], edges: Iterable[tuple[int, int, Decimal]]) -> list[int]:
    """The targets so that none comes before what contains it. A frozen bill has no loops, so this ends."""
    above: dict[int, set[int]] = defaultdict(set)
    for parent, item, _ in edges:
        if parent in targets and item in targets:
            above[item].add(parent)
    ordered: list[int] = []
    waiting = sorted(targets)
    while waiting:
        ready = [item for item in waiting if above[item] <= set(ordered)]
        ordered += ready
        waiting = [item for item in waiting if item not in ready]
    return ordered


def _by_item(lines: Iterable[ledger.Line], sign: int) -> dict[int, Decimal]:
    sums: dict[int, Decimal] = defaultdict(Decimal)
    for line in lines:
        sums[line.item_id] += sign * line.quantity
    return dict(sums)


def _takes(order: Order, process: str, used: Mapping[int, Decimal]) -> list[ledger.Line]:
    """Where the parts are taken from. ProblemError with everything that is missing.

    What is kept in two bins is taken from the floor as far as the ledger knows of it there, and never missed:
    bins are not counted piece by piece.
    """
    in_bins = bin_items()
    spots = _spots(order, MAKERS.get(process, ON_THE_RACKS), used, in_bins)
    free = _free_for(order, used)
    lines: list[ledger.Line] = []
    missing: dict[int, Decimal] = {}
    for item, quantity in used.items():
        left = quantity
        for code, location_id, lot_id, have in spots[item]:
            take = min(left, have) if code == KIT else min(left, have, free[item])
            if take > 0:
                lines.append(ledger.Line(item, location_id, -take, lot_id))
                left -= take
                free[item] -= take if code != KIT else NOTHING
        if left > 0 and item not in in_bins:
            missing[item] = left
    if missing:
        raise ProblemError(*_missing_problems(order, process, used, missing))
    return lines


Spot = tuple[str, int, int | None, Decimal]


def _spots(
    order: Order, maker: Maker, items: Iterable[int], in_bins: Collection[int]
) -> dict[int, list[Spot]]:
    """Stacks that the process may take from, by item: (location code, location, lot, quantity), best first.

    In the kit rack only what was picked for this order counts: another trailer's axle is another serial number.
    """
    rank = {code: index for index, code in enumerate(maker.takes_from)}
    rows = (
        Balance.objects.filter(item_id__in=set(items), quantity__gt=0)
        .select_related("location")
        .order_by("location__walk_order", "location__code", "lot_id")
    )
    picked = _picked(order)
    found: dict[int, list[Spot]] = defaultdict(list)
    for row in rows:
        code, quantity = row.location.code, row.quantity
        if row.item_id in in_bins:
            if code == FLOOR:
                found[row.item_id].append((code, row.location_id, row.lot_id, quantity))
            continue
        is_shelf = maker.from_shelves and row.location.kind == Location.Kind.SHELF
        if code == KIT and code in rank:
            quantity = min(quantity, picked.get((row.item_id, row.lot_id), NOTHING))
        if (code in rank or is_shelf) and quantity > 0:
            found[row.item_id].append((code, row.location_id, row.lot_id, quantity))
    for spots in found.values():
        spots.sort(key=lambda spot: rank.get(spot[0], len(rank)))
    return found


def _picked(order: Order) -> dict[tuple[int, int | None], Decimal]:
    """What lies in the kit rack for this order, by item and lot."""
    rows = (
        Movement.objects.filter(posting__purpose=_purpose(order), location__code=KIT)
        .order_by()
        .values_list("item_id", "lot_id")
        .annotate(total=Sum("quantity"))
    )
    return {(item_id, lot_id): total for item_id, lot_id, total in rows}


def _free_for(order: Order, items: Iterable[int]) -> dict[int, Decimal]:
    """How much of each item on hand is not kept for somebody else."""
    own = dict(Reservation.objects.filter(purpose=_purpose(order)).values_list("item_id", "quantity"))
    return {item: one.available + own.get(item, NOTHING) for item, one in availability(items).items()}


def _missing_problems(
    order: Order, process: str, used: Mapping[int, Decimal], missing: Mapping[int, Decimal]
) -> list[Problem]:
    items = Item.objects.in_bulk(missing)
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    elsewhere = stacks(missing, kinds=[Location.Kind.SHELF, Location.Kind.WORK, Location.Kind.OUTSIDE])
    coming = {receipt.item_id: receipt for receipt in reversed(open_receipts(missing))}
    problems = []
    for item_id, short in missing.items():
        item = items[item_id]
        hints = []
        if item_id in made:
            hints.append(SOURCES.get(made[item_id].first, ""))
        elif process == "assemble":
            hints.append("Pick it into the kit of this order")
        if lying := elsewhere.get(item_id):
            places = ", ".join(f"{one.location_code} ({format_quantity(one.quantity)})" for one in lying[:4])
            hints.append(f"there is some at {places}, not free for this order or not yet brought here")
        if receipt := coming.get(item_id):
            day = f"{receipt.due_on:%a} {receipt.due_on.day} {receipt.due_on:%b}"
            hints.append(f"more comes on {day} with {receipt.order_number}")
        elif item_id not in made and not lying:
            hints.append("none lies anywhere and none is ordered: order it")
        problems.append(
            Problem(
                f"{format_quantity(short)} {item.get_unit_display()} of {item.code} {item.name} missing, "
                f"{format_quantity(used[item_id])} needed",
                f"order {order.number}, {process}",
                "; ".join(hint for hint in hints if hint),
            )
        )
    return problems
