"""What a station's screen shows: its queue in the order of the plan, and the papers of one job."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Case, Exists, F, Min, OuterRef, Q, QuerySet, Subquery, When
from django.utils import timezone

from bom.items.models import Item
from bom.kernel.quantities import format_quantity
from inventory.stock.models import Balance, Location
from production.orders.models import FrozenLine, Order
from production.works.first_process import Made, made_items
from production.works.made_again import open_pieces
from production.works.models import WorksOperation

State = WorksOperation.State
OPEN = (State.WAITING, State.BEGUN)
MOST_AHEAD = 80
ON_THE_FLOOR = (Order.State.RELEASED, Order.State.BEGUN)

# What must be done on an order before a station can begin. Saw and laser wait for nothing.
WAITS_FOR: dict[str, tuple[str, ...]] = {
    "saw": (),
    "fold": ("laser",),
    "weld": ("laser", "saw", "fold"),
    "inspect": ("weld", "galvanise", "powder", "assemble"),
}


def queue(process: str) -> QuerySet[WorksOperation]:
    """Open operations of a station: begun first, then ready ones, then the rest; each in the order of the plan.

    Each row carries `planned_at` (start in the released plan), `is_ready`, and `waits_for` (the name of the first
    process that is still open before it).
    """
    before = WorksOperation.objects.filter(
        works_order=OuterRef("works_order"), process__code__in=WAITS_FOR[process], state__in=OPEN
    ).order_by("sequence")
    return (
        WorksOperation.objects.filter(
            process__code=process, state__in=OPEN, works_order__order__state__in=ON_THE_FLOOR
        )
        .select_related(
            "process",
            "by",
            "works_order__order__model",
            "works_order__order__customer",
            "works_order__order__hull",
        )
        .annotate(
            planned_at=Min("planned__starts_at", filter=Q(planned__plan__is_current=True)),
            is_ready=~Exists(before),
            waits_for=Subquery(before.values("process__name")[:1]),
            rank=Case(When(state=State.BEGUN, then=0), When(Exists(before), then=2), default=1),
        )
        .order_by(
            "rank",
            F("planned_at").asc(nulls_last=True),
            "works_order__order__asked_for",
            "works_order__number",
        )
    )


OTHER_HAND: dict[str, str] = {Item.Hand.LEFT: Item.Hand.RIGHT, Item.Hand.RIGHT: Item.Hand.LEFT}


@dataclass(frozen=True)
class DayAhead:
    """What the plan brings a station on one day: jobs, minutes, and what of them still waits for other work."""

    day: date
    jobs: tuple[WorksOperation, ...]

    @property
    def minutes(self) -> Decimal:
        return sum((job.minutes for job in self.jobs), Decimal(0))

    @property
    def waiting(self) -> dict[str, int]:
        """How many jobs wait for each process."""
        names = (getattr(job, "waits_for", None) for job in self.jobs)
        return dict(Counter(name.lower() for name in names if name))


@dataclass(frozen=True)
class CutLine:
    """So many pieces of a length (mm) to saw from a section."""

    code: str
    name: str
    count: Decimal
    length_mm: Decimal


@dataclass(frozen=True)
class CutList:
    """All pieces of one section, how many metres they are together, and where bars of it lie."""

    section: str
    name: str
    metres: Decimal
    places: str
    lines: tuple[CutLine, ...]


@dataclass(frozen=True)
class WeldLine:
    """So many of a part that go into a welded assembly, and which hand it is."""

    code: str
    name: str
    count: Decimal
    hand: str = ""


@dataclass(frozen=True)
class WeldList:
    """One welded assembly and its parts; the innermost assembly comes first. `other_hand` is the code of its mirror
    on the same order."""

    item_id: int
    code: str
    name: str
    is_hollow: bool
    count: Decimal
    lines: tuple[WeldLine, ...]
    hand: str = ""
    other_hand: str = ""


def days_ahead(process: str, days: int) -> list[DayAhead]:
    """The next days on which the plan has work for a station, from today on. One query."""
    today = timezone.localdate()
    found: dict[date, list[WorksOperation]] = {}
    waiting = queue(process).filter(Q(("planned_at__isnull", False)), state=State.WAITING)
    for job in waiting.order_by(F("planned_at").asc(), "works_order__number")[:MOST_AHEAD]:
        day = max(timezone.localdate(getattr(job, "planned_at", None)), today)
        if day not in found and len(found) == days:
            break
        found.setdefault(day, []).append(job)
    return [DayAhead(day, tuple(jobs)) for day, jobs in found.items()]


def cut_lists(order: Order) -> list[CutList]:
    """What to saw for an order, by section. Lengths come from the metres the bill gives one piece."""
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    again = open_pieces([order]).get(order.pk)
    sawn = {one.item_id: one.quantity for one in _asked(made, again) if one.first == "saw"}
    edges = (
        FrozenLine.objects.filter(bill_id=order.bill_id, parent_id__in=sawn, item__kind="section")
        .select_related("parent", "item")
        .order_by("item__code", "-quantity_per", "parent__code")
    )
    by_section: dict[int, list[FrozenLine]] = {}
    for edge in edges:
        by_section.setdefault(edge.item_id, []).append(edge)
    places = _places(by_section)
    return [
        CutList(
            group[0].item.code,
            group[0].item.name,
            sum((edge.quantity_per * sawn[edge.parent_id] for edge in group), Decimal(0)),
            places.get(section_id, ""),
            tuple(
                CutLine(edge.parent.code, edge.parent.name, sawn[edge.parent_id], edge.quantity_per * 1000)
                for edge in group
            ),
        )
        for section_id, group in by_section.items()
    ]


def weld_lists(order: Order) -> list[WeldList]:
    """What to weld for an order: every welded assembly with its parts, the chassis last."""
    made = made_items([order.bill_id or 0]).get(order.bill_id or 0, {})
    again = open_pieces([order]).get(order.pk)
    welded = {one.item_id: one.quantity for one in _asked(made, again) if one.first == "weld"}
    edges = (
        FrozenLine.objects.filter(bill_id=order.bill_id, parent_id__in=welded)
        .select_related("parent", "item")
        .order_by("position")
    )
    inside: dict[int, list[FrozenLine]] = {}
    for edge in edges:
        inside.setdefault(edge.parent_id, []).append(edge)
    depth = {item_id: _height(item_id, inside) for item_id in inside}
    items = {item_id: lines[0].parent for item_id, lines in inside.items()}
    mirrors: dict[tuple[int | None, str], str] = {
        (one.family_id, one.hand): one.code for one in items.values() if one.family_id and one.hand
    }
    return [
        WeldList(
            item_id=item_id,
            code=items[item_id].code,
            name=items[item_id].name,
            is_hollow=any(edge.item.is_hollow for edge in inside[item_id]),
            count=welded[item_id],
            lines=tuple(
                WeldLine(edge.item.code, edge.item.name, edge.quantity_per, _hand(edge.item))
                for edge in inside[item_id]
            ),
            hand=_hand(items[item_id]),
            other_hand=mirrors.get((items[item_id].family_id, OTHER_HAND.get(items[item_id].hand, "")), ""),
        )
        for item_id in sorted(
            inside, key=lambda one: (depth[one], items[one].family_id or 0, items[one].code)
        )
    ]


def _asked(made: Mapping[int, Made], again: Mapping[int, Decimal] | None) -> list[Made]:
    """What the bill makes; where parts are made again, only those and what is in them."""
    if again is None:
        return list(made.values())
    return [Made(pk, count, made[pk].processes) for pk, count in again.items() if pk in made]


def _hand(item: Item) -> str:
    return f"{item.get_hand_display()} hand" if item.hand else ""


def _height(item_id: int, inside: dict[int, list[FrozenLine]]) -> int:
    """How many welded levels lie below an assembly. A frozen bill has no loops, so this ends."""
    return 1 + max((_height(edge.item_id, inside) for edge in inside.get(item_id, [])), default=-1)


def _places(item_ids: Iterable[int]) -> dict[int, str]:
    """Where each item lies, in words: "B2 (18 m), B4 (6 m)"."""
    found: dict[int, str] = {}
    for one in (
        Balance.objects.filter(item_id__in=item_ids, location__kind=Location.Kind.SHELF, quantity__gt=0)
        .select_related("location", "item")
        .order_by("location__walk_order", "location__code")
    ):
        text = f"{one.location.code} ({format_quantity(one.quantity)} {one.item.unit})"
        found[one.item_id] = f"{found[one.item_id]}, {text}" if one.item_id in found else text
    return found


def ready_to_go() -> QuerySet[Order]:
    """Inspected trailers that wait at the gate, the earliest promise first."""
    return (
        Order.objects.filter(state=Order.State.DONE)
        .select_related("customer", "model", "hull")
        .annotate(
            held_to=Case(When(promised_on__isnull=False, then=F("promised_on")), default=F("asked_for"))
        )
        .order_by("held_to", "number")
    )
