"""What the assembly pages show: kits in the order they are needed, and one kit in walking order."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.quantities import format_quantity
from inventory.stock.models import Balance, Location, Purpose, Reservation
from inventory.stores.rules import substitutes
from production.assembly.models import Kit, KitLine
from production.assembly.supply import promised, shelf_supply
from production.orders.models import Order
from production.planning.models import Plan, Shortage
from production.works.models import WorksOperation

NOTHING = Decimal(0)
LAST = 10**9
MOST_NAMED = 12


@dataclass(frozen=True)
class Shelf:
    """Where a part lies and how many are there."""

    code: str
    walk_order: int
    quantity: Decimal


@dataclass(frozen=True)
class PickRow:
    """A line of a kit as the picker meets it."""

    line: KitLine
    shelf: Shelf | None
    free: Decimal
    held_by: tuple[str, ...]
    coming: date | None

    @property
    def wanting(self) -> Decimal:
        return self.line.wanted - self.line.picked

    @property
    def can_pick(self) -> Decimal:
        """How many the picker may take now."""
        return max(min(self.wanting, self.free), NOTHING)

    @property
    def is_overdue(self) -> bool:
        """Whether the supplier's day has passed and the part is still not here."""
        return self.coming is not None and self.coming < timezone.localdate()

    @property
    def short(self) -> Decimal:
        """How many no shelf can give."""
        return self.wanting - self.can_pick


@dataclass(frozen=True)
class Way:
    """An item that may be taken instead, what to mind, and how many the shelves can give."""

    instead: Item
    note: str
    free: Decimal


@dataclass(frozen=True)
class Lack:
    """What a kit is short of, who holds it, and the ways out of it."""

    row: PickRow
    holders: tuple[Reservation, ...]
    ways: tuple[Way, ...]


def lacks(kit: Kit, rows: Sequence[PickRow]) -> list[Lack]:
    """The shortages of a kit, known before picking begins. Four queries at most, none where nothing is short."""
    short = [row for row in rows if row.short > 0]
    if not short:
        return []
    ids = {row.line.item_id for row in short}
    holders: dict[int, list[Reservation]] = defaultdict(list)
    others = Reservation.objects.filter(item__in=ids).exclude(purpose=kit.order.purpose)
    # The one who needs it last is asked first.
    for held in others.select_related("purpose").order_by("-purpose__needed_on", "purpose__code"):
        holders[held.item_id].append(held)
    offers = substitutes(ids)
    picked = {row.line.item_id: row.line for row in rows}
    instead = {offer.instead.pk for few in offers.values() for offer in few}
    in_kit = {pk: picked[pk].picked if pk in picked else NOTHING for pk in instead}
    supply = shelf_supply(in_kit, kit.order.purpose) if in_kit else defaultdict(Decimal)
    for pk in instead & set(picked):
        supply[pk] -= picked[pk].wanted - picked[pk].picked
    return [
        Lack(
            row,
            tuple(holders[row.line.item_id][:4]),
            tuple(
                Way(offer.instead, offer.note, supply[offer.instead.pk])
                for offer in offers.get(row.line.item_id, [])
            ),
        )
        for row in short
    ]


def kits() -> QuerySet[Kit]:
    """Kits of orders on the floor, the first needed first; `short_of` names the part that keeps it longest.

    Every figure is a question of its own about one kit: joined in one, lines and operations would multiply.
    """
    plan = Plan.objects.filter(is_current=True).values_list("pk", flat=True).first()
    shortage = Shortage.objects.filter(plan=plan, order=OuterRef("order")).order_by("-available_on")
    assembling = WorksOperation.objects.filter(works_order__order=OuterRef("order"), process__code="assemble")
    planned = Order.objects.filter(
        pk=OuterRef("order"),
        planned_operations__plan=plan,
        planned_operations__operation__process__code="assemble",
    ).order_by("planned_operations__starts_at")
    lines = KitLine.objects.filter(kit=OuterRef("pk")).order_by().values("kit").annotate(many=Count("pk"))
    return (
        Kit.objects.exclude(state=Kit.State.CANCELLED)
        .filter(order__state__in=Order.OPEN)
        .select_related("order__model", "order__customer")
        .annotate(
            line_count=Coalesce(Subquery(lines.values("many")), 0),
            open_lines=Coalesce(Subquery(lines.filter(picked__lt=F("wanted")).values("many")), 0),
            short_of=Subquery(shortage.values("item__code")[:1]),
            short_until=Subquery(shortage.values("available_on")[:1]),
            assembly=Subquery(assembling.values("state")[:1]),
            needed_at=Subquery(planned.values("planned_operations__starts_at")[:1]),
        )
        .order_by(F("needed_at").asc(nulls_last=True), "order__asked_for", "order__number")
    )


def lacking_soon(days: int) -> list[Kit]:
    """Kits that a bay is to take within so many days and that wait for a part which comes later than it is wanted."""
    until = timezone.now() + timedelta(days=days)
    rows = (
        kits()
        .filter(Q(("short_of__isnull", False)), Q(("needed_at__lte", until)))
        .exclude(state=Kit.State.DONE)
    )
    return list(rows[:MOST_NAMED])


def pick_rows(kit: Kit) -> list[PickRow]:
    """The lines of a kit in the order a picker walks; picked ones keep their place. Five queries."""
    lines = list(kit.lines.select_related("item__colour"))
    items = {line.item_id for line in lines}
    shelves = _shelves(items)
    free = shelf_supply({line.item_id: line.picked for line in lines}, kit.order.purpose)
    held_by = _held_by(items, kit.order.purpose)
    coming = promised(items)
    rows = [
        PickRow(
            line,
            shelves[line.item_id][0] if shelves[line.item_id] else None,
            free[line.item_id],
            tuple(held_by[line.item_id][:3]),
            coming.get(line.item_id),
        )
        for line in lines
    ]
    return sorted(rows, key=lambda row: (row.shelf.walk_order if row.shelf else LAST, row.line.item.code))


def assembly_operation(order: Order) -> WorksOperation | None:
    return (
        WorksOperation.objects.select_related("by", "process")
        .filter(works_order__order=order, process__code="assemble")
        .first()
    )


def bays_taken() -> dict[int, str]:
    """Order number by bay, for bays with a trailer in them."""
    rows = Kit.objects.filter(
        bay__isnull=False,
        order__works_order__operations__process__code="assemble",
        order__works_order__operations__state=WorksOperation.State.BEGUN,
    ).values_list("bay", "order__number")
    return {bay: number for bay, number in rows if bay is not None}


def _shelves(items: Iterable[int]) -> defaultdict[int, list[Shelf]]:
    found: defaultdict[int, list[Shelf]] = defaultdict(list)
    for item_id, code, walk_order, quantity in (
        Balance.objects.filter(item_id__in=items, location__kind=Location.Kind.SHELF, quantity__gt=0)
        .order_by("location__walk_order", "location__code")
        .values_list("item_id", "location__code", "location__walk_order", "quantity")
    ):
        found[item_id].append(Shelf(code, walk_order, quantity))
    return found


def _held_by(items: Iterable[int], purpose: Purpose | None) -> defaultdict[int, list[str]]:
    """Who else keeps each item, those who need it first before the others."""
    found: defaultdict[int, list[str]] = defaultdict(list)
    for item_id, code, quantity in (
        Reservation.objects.filter(item_id__in=items)
        .exclude(purpose=purpose)
        .order_by("purpose__needed_on", "purpose__code")
        .values_list("item_id", "purpose__code", "quantity")
    ):
        found[item_id].append(f"{code} ({format_quantity(quantity)})")
    return found
