"""Kits: the bought parts of one trailer, gathered before it is assembled.

Picking moves parts from their shelves to KIT for the order's purpose. KIT counts as on hand, so what is picked stays
kept for its order (and is kept now if it was not before) until assembly uses it up. A part that is kept for another
order is not picked: the problem names who holds it.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import format_quantity
from bom.people.models import User
from inventory.stock import ledger, reserving
from inventory.stock.models import Balance, Location, Movement, Posting, Purpose, Reservation
from inventory.stock.queries import place
from production.assembly.contents import kit_contents
from production.assembly.models import Kit, KitLine
from production.assembly.supply import holders, promised, shelf_supply
from production.orders.models import Order
from production.works.models import WorksOperation

State = Kit.State


@transaction.atomic
def ensure_kits(orders: Iterable[Order]) -> list[Kit]:
    """Make the kit of every order that has none yet, from its frozen bill. Returns the kits made.

    Orders that share a bill share the reckoning; the number of queries does not grow with the orders.
    """
    having = set(
        Kit.objects.filter(order__in=[order.pk for order in orders]).values_list("order_id", flat=True)
    )
    lacking = [order for order in orders if order.bill_id and order.pk not in having]
    contents = kit_contents({order.bill_id for order in lacking if order.bill_id})
    kits = Kit.objects.bulk_create([Kit(order=order) for order in lacking], batch_size=500)
    KitLine.objects.bulk_create(
        [
            KitLine(kit=kit, item_id=item_id, wanted=quantity)
            for kit, order in zip(kits, lacking, strict=True)
            for item_id, quantity in sorted(contents.get(order.bill_id or 0, {}).items())
        ],
        batch_size=1000,
    )
    return kits


@transaction.atomic
def pick_line(
    *,
    line: KitLine,
    by: User,
    quantity: Decimal | None = None,
    seen: Decimal | None = None,
    happened_at: datetime | None = None,
) -> KitLine:
    """Pick one line of a kit (all that is still wanted, or `quantity`) from the shelves, in walking order.

    `happened_at` says when it was picked, where that is written down later.

    A line that is complete is left as it is, and so is one of which another number is picked than the picker has
    `seen`: a second click, or a colleague at the same kit.

    Raises:
        ProblemError: the shelves hold too few, or the rest is kept for other orders (named).
    """
    kit = locked_kit(line.kit_id)
    line = kit.lines.select_related("item").get(pk=line.pk)
    wanted = line.wanted - line.picked
    if wanted <= 0 or (seen is not None and seen != line.picked):
        return line
    refuse_when_taken(kit)
    asked = wanted if quantity is None else quantity
    if not 0 < asked <= wanted:
        raise ProblemError(
            Problem(
                f"{format_quantity(asked)} of {line.item.code} cannot be picked; "
                f"the kit still wants {format_quantity(wanted)}",
                where=named(kit),
                mend="Pick no more than the kit wants.",
            )
        )
    purpose = purpose_of(kit)
    free = shelf_supply({line.item_id: line.picked}, purpose)[line.item_id]
    if free < asked:
        raise ProblemError(_too_few(kit, line, asked, free, purpose))
    _pick(kit, [(line, asked)], f"pick:{line.pk}", by, happened_at)
    return line


@transaction.atomic
def pick_all_available(*, kit: Kit, by: User) -> list[KitLine]:
    """Pick everything the shelves can give this kit now, in one posting. Returns the lines that are still short."""
    kit = locked_kit(kit.pk)
    lines = list(kit.lines.select_related("item").order_by("pk"))
    wanting = [line for line in lines if line.picked < line.wanted]
    if not wanting:
        return []
    refuse_when_taken(kit)
    free = shelf_supply({line.item_id: line.picked for line in wanting}, purpose_of(kit))
    takes = [(line, min(line.wanted - line.picked, free[line.item_id])) for line in wanting]
    takes = [(line, quantity) for line, quantity in takes if quantity > 0]
    if takes:
        _pick(kit, takes, f"pick-all:{kit.pk}", by)
    return [line for line in wanting if line.picked < line.wanted]


@transaction.atomic
def unpick(*, line: KitLine, by: User) -> KitLine:
    """Put what is picked of a line back on the shelves it came from; an open order goes on keeping it.

    A line with nothing picked is left as it is. A cancelled order's kit is emptied the same way.
    """
    kit = locked_kit(line.kit_id)
    line = kit.lines.select_related("item").get(pk=line.pk)
    if line.picked <= 0:
        return line
    _refuse_in_assembly(kit)
    purpose, kit_place = purpose_of(kit), place("KIT")
    movements: list[ledger.Line] = []
    for location_id, lot_id, quantity in _came_from(line, purpose, kit_place):
        movements += [
            ledger.Line(line.item_id, kit_place.pk, -quantity, lot_id),
            ledger.Line(line.item_id, location_id, quantity, lot_id),
        ]
    key = _next_key(f"unpick:{line.pk}")
    ledger.post(key=key, kind=Posting.Kind.RETURN, lines=movements, by=by, reason=named(kit), purpose=purpose)
    line.picked = Decimal(0)
    line.save(update_fields=["picked"])
    settle(kit)
    return line


def locked_kit(pk: int) -> Kit:
    """The kit as it is now; nobody else changes it until we are done."""
    return Kit.objects.select_for_update(of=("self",)).select_related("order__purpose").get(pk=pk)


def named(kit: Kit) -> str:
    return f"kit of order {kit.order.number}"


def purpose_of(kit: Kit) -> Purpose:
    if kit.order.purpose is None:
        raise ProblemError(
            Problem("The order is not confirmed", where=named(kit), mend="Confirm the order, then pick.")
        )
    return kit.order.purpose


def refuse_when_taken(kit: Kit) -> None:
    """Nobody picks for an order that is cancelled or gone, nor into a kit that stands in an assembly bay."""
    if kit.state == State.CANCELLED or not kit.order.is_open:
        raise ProblemError(
            Problem(
                f"Order {kit.order.number} is {kit.order.get_state_display()}",
                where=named(kit),
                mend="Leave this kit; put back what is picked of it.",
            )
        )
    _refuse_in_assembly(kit)


def _refuse_in_assembly(kit: Kit) -> None:
    taken = WorksOperation.objects.filter(
        works_order__order=kit.order, process__code="assemble", state__in=["begun", "done"]
    ).exists()
    if taken:
        raise ProblemError(
            Problem(
                "The kit is already in assembly",
                where=named(kit),
                mend="Issue a further part from the stores page instead.",
            )
        )


def _too_few(kit: Kit, line: KitLine, asked: Decimal, free: Decimal, purpose: Purpose) -> Problem:
    held = holders(line.item_id, purpose)
    by_whom = f" {', '.join(held)} hold the rest on the shelf." if held else ""
    coming = promised([line.item_id]).get(line.item_id)
    verb = "was due" if coming and coming < timezone.localdate() else "is coming"
    hint = f" More {verb} {coming:%a} {coming.day} {coming:%b}." if coming else ""
    return Problem(
        f"Only {format_quantity(max(free, Decimal(0)))} of {line.item.code} {line.item.name} can be picked, "
        f"{format_quantity(asked)} are wanted.{by_whom}{hint}",
        where=named(kit),
        mend="Pick what there is, or ask the stores to release what another order keeps.",
    )


def _pick(
    kit: Kit,
    takes: Sequence[tuple[KitLine, Decimal]],
    key: str,
    by: User,
    happened_at: datetime | None = None,
) -> None:
    purpose, kit_place = purpose_of(kit), place("KIT")
    movements: list[ledger.Line] = []
    shelves = _shelves([line.item_id for line, _ in takes])
    for line, quantity in takes:
        for balance, taken in _from_shelves(shelves[line.item_id], quantity):
            movements += [
                ledger.Line(line.item_id, balance.location_id, -taken, balance.lot_id),
                ledger.Line(line.item_id, kit_place.pk, taken, balance.lot_id),
            ]
    _keep([(line, line.picked + quantity) for line, quantity in takes], purpose, by)
    ledger.post(
        key=_next_key(key),
        kind=Posting.Kind.ISSUE,
        lines=movements,
        by=by,
        reason=named(kit),
        purpose=purpose,
        happened_at=happened_at,
    )
    for line, quantity in takes:
        line.picked += quantity
    KitLine.objects.bulk_update([line for line, _ in takes], ["picked"])
    settle(kit)


def _keep(totals: Sequence[tuple[KitLine, Decimal]], purpose: Purpose, by: User) -> None:
    """See to it that at least this much of each line's item is kept for the order."""
    kept = dict(
        Reservation.objects.filter(
            purpose=purpose, item_id__in=[line.item_id for line, _ in totals]
        ).values_list("item_id", "quantity")
    )
    lacking = [(line.item_id, total - kept.get(line.item_id, Decimal(0))) for line, total in totals]
    wants = [reserving.Want(item_id, purpose.pk, quantity) for item_id, quantity in lacking if quantity > 0]
    reserving.reserve_many(wants=wants, by=by)


def _shelves(item_ids: Iterable[int]) -> defaultdict[int, list[Balance]]:
    """What lies on shelves by item, in walking order, the oldest lot first. One query."""
    found: defaultdict[int, list[Balance]] = defaultdict(list)
    for balance in Balance.objects.filter(
        item_id__in=item_ids, location__kind=Location.Kind.SHELF, quantity__gt=0
    ).order_by("location__walk_order", "location__code", "lot__received_on", "lot_id"):
        found[balance.item_id].append(balance)
    return found


def _from_shelves(shelves: Iterable[Balance], quantity: Decimal) -> list[tuple[Balance, Decimal]]:
    takes = []
    for balance in shelves:
        taken = min(quantity, balance.quantity)
        if taken > 0:
            takes.append((balance, taken))
            quantity -= taken
    return takes


def _came_from(line: KitLine, purpose: Purpose, kit_place: Location) -> list[tuple[int, int | None, Decimal]]:
    """Shelves and lots that the picked quantity came from, the latest first."""
    left, found = line.picked, []
    for move in Movement.objects.filter(
        item_id=line.item_id,
        posting__purpose=purpose,
        posting__kind=Posting.Kind.ISSUE,
        location__kind=Location.Kind.SHELF,
        quantity__lt=0,
    ).order_by("-pk"):
        taken = min(left, -move.quantity)
        if taken > 0:
            found.append((move.location_id, move.lot_id, taken))
            left -= taken
    return found


def _next_key(base: str) -> str:
    """A kit line may be picked, put back and picked again: each time is an event of its own."""
    return f"{base}:{Posting.objects.filter(key__startswith=f'{base}:').count() + 1}"


def settle(kit: Kit) -> None:
    """Set the kit's state by its lines."""
    lines = list(kit.lines.values_list("wanted", "picked"))
    complete = all(picked >= wanted for wanted, picked in lines)
    begun = any(picked > 0 for _, picked in lines)
    kit.state = State.DONE if complete else State.BEGUN if begun else State.WAITING
    kit.completed_at = timezone.now() if complete else None
    kit.save(update_fields=["state", "completed_at"])
