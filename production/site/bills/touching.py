"""What the release of a draft bill touches: open orders by how far the part is with each, and what there is already
of the parts on lines that differ."""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, Sum

from bom.items.models import Item
from bom.structure.differing import LineChange, line_changes
from bom.structure.effectivity import Start
from bom.structure.models import Revision
from inventory.stock.models import Reservation
from inventory.stock.queries import on_hand_balances
from production.cutting.models import CutPlacement
from production.orders.models import Order
from production.orders.numbers import trailer_number
from production.planning.models import Peg
from production.site.bills.showing import plain_lines
from production.works.models import WorksOperation

State = WorksOperation.State
NOTHING = Decimal(0)


@dataclass(frozen=True)
class Touched:
    """Open orders whose frozen bill holds the item, by number. Those not begun take the new revision when they are
    changed, except those `below` its first trailer; the others keep the one they were begun with. `on_hand` lies made
    by earlier revisions."""

    not_begun: tuple[str, ...]
    below: tuple[str, ...]
    begun: tuple[str, ...]
    made: tuple[str, ...]
    on_hand: Decimal

    @property
    def orders(self) -> int:
        return len(self.not_begun) + len(self.below) + len(self.begun) + len(self.made)


@dataclass(frozen=True)
class TouchedPart:
    """A part on a line that differs, and what there is of it for the orders that take the revision: `cut` good parts,
    `kept` in all (cut, made or on the shelf for them), `coming` on purchase orders, `free` here for anybody."""

    item: Item
    words: str
    cut: int
    kept: Decimal
    coming: Decimal
    free: Decimal


@dataclass(frozen=True)
class WorkDone:
    """On how many of the orders that take the revision a process is begun or done."""

    process: str
    begun: int
    done: int


def touched_by(revision: Revision, start: Start | None = None) -> Touched:
    """What releasing the draft would touch, from this start on. Three queries."""
    processes = list(revision.operations.values_list("process__code", flat=True))
    return touched_of(revision.item_id, processes, start)


def touched_of(item_id: int, processes: Collection[str], start: Start | None = None) -> Touched:
    """Open orders by how far an item that goes through these processes is with each. Two queries."""
    states: dict[str, set[str]] = defaultdict(set)
    numbers: dict[str, None] = {}
    rows = Order.objects.filter(state__in=Order.OPEN, bill__totals__item=item_id).order_by("number")
    operation = "works_order__operations"
    for number, process, state in rows.values_list(
        "number", f"{operation}__process__code", f"{operation}__state"
    ):
        numbers.setdefault(number)
        if process in processes:
            states[number].add(state)
    waiting = [number for number in numbers if states[number] <= {State.WAITING, State.CANCELLED}]
    taking = [number for number in waiting if _takes(number, start)]
    return Touched(
        tuple(taking),
        tuple(number for number in waiting if number not in set(taking)),
        tuple(number for number in numbers if State.BEGUN in states[number] or _is_between(states[number])),
        tuple(number for number in numbers if states[number] and states[number] <= {State.DONE}),
        on_hand_balances().filter(item=item_id).aggregate(all=Sum("quantity"))["all"] or NOTHING,
    )


def touched_parts(revision: Revision, before: Revision | None, orders: Collection[str]) -> list[TouchedPart]:
    """The parts on lines that differ from the bill before, with what there is of them for these orders. At most eight
    queries."""
    changes = line_changes(plain_lines(before) if before else [], plain_lines(revision))
    items = _parts_of(changes)
    pks = [item.pk for item in items]
    is_theirs = Q(purpose__code__in=orders)
    reserved = {
        item: (ours or NOTHING, everybody)
        for item, ours, everybody in Reservation.objects.filter(item__in=pks)
        .order_by()
        .values("item")
        .annotate(ours=Sum("quantity", filter=is_theirs), everybody=Sum("quantity"))
        .values_list("item", "ours", "everybody")
    }
    placed = CutPlacement.objects.filter(
        order__number__in=orders, part__item__in=pks, state=CutPlacement.State.GOOD
    ).order_by()
    cut = dict(placed.values("part__item").annotate(all=Count("pk")).values_list("part__item", "all"))
    pegs = Peg.objects.filter(
        plan__is_current=True, order__number__in=orders, item__in=pks, purchase_line__isnull=False
    ).order_by()
    coming = dict(pegs.values("item").annotate(all=Sum("quantity")).values_list("item", "all"))
    lying = on_hand_balances().filter(item__in=pks).order_by().values("item").annotate(all=Sum("quantity"))
    here = dict(lying.values_list("item", "all"))
    words = _words(changes, items)
    return [
        TouchedPart(
            item,
            words[item.pk],
            cut.get(item.pk, 0),
            reserved.get(item.pk, (NOTHING, NOTHING))[0],
            coming.get(item.pk, NOTHING),
            max(NOTHING, here.get(item.pk, NOTHING) - reserved.get(item.pk, (NOTHING, NOTHING))[1]),
        )
        for item in items
    ]


def work_done(orders: Collection[str]) -> list[WorkDone]:
    """Work that is begun or done on these orders, by process in the order of the work. One query."""
    rows = WorksOperation.objects.filter(
        works_order__order__number__in=orders, state__in=[State.BEGUN, State.DONE]
    ).order_by()
    counted = rows.values("process__sequence", "process__name").annotate(
        begun=Count("pk", filter=Q(state=State.BEGUN)), done=Count("pk", filter=Q(state=State.DONE))
    )
    return [
        WorkDone(one["process__name"], one["begun"], one["done"])
        for one in sorted(counted, key=lambda one: one["process__sequence"])
    ]


def _takes(number: str, start: Start | None) -> bool:
    """Whether an order of this number takes a revision with this start once its day has come."""
    return start is None or start.holds(start.day, trailer_number(number))


def _is_between(states: set[str]) -> bool:
    """Some work on it is done and some is waiting."""
    return State.DONE in states and State.WAITING in states


def _parts_of(changes: Collection[LineChange]) -> list[Item]:
    """The items that these lines bring; a family counts with all its items."""
    lines = [line for one in changes for line in (one.before, one.after) if line is not None]
    components = {line.component for line in lines if line.component}
    families = {line.family for line in lines if line.family}
    asked = Q(code__in=components) | Q(family__code__in=families)
    return list(Item.objects.filter(asked).select_related("family").order_by("code")) if lines else []


def _words(changes: Collection[LineChange], items: Collection[Item]) -> Mapping[int, str]:
    said: dict[int, Counter[str]] = defaultdict(Counter)
    for one in changes:
        line = one.line
        for item in items:
            family = item.family.code if item.family else ""
            if line.component == item.code or (line.family and line.family == family):
                said[item.pk][one.word] += 1
    return {item.pk: ", ".join(said[item.pk]) for item in items}
