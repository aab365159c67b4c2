"""What the galvanising pages show: loads against their limits, lines and how ready they are, what waits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Count, Max, Q, QuerySet, Sum
from django.utils import timezone

from inventory.buying.outside import charge
from production.coating.load_drawing import LoadDrawing, Piece, Readiness, draw
from production.coating.models import GalvanisingLoad, LoadLine
from production.orders.models import Order
from production.shop.models import LorryDay
from production.works.models import WorksOperation

NOTHING = Decimal(0)
# A line of more pieces is drawn as one.
PIECES_DRAWN = 40
Load = GalvanisingLoad.State


@dataclass(frozen=True)
class LineView:
    """A line of a load, with a plain phrase for how ready it is."""

    line: LoadLine
    standing: str
    readiness: Readiness

    @property
    def is_ready(self) -> bool:
        return self.readiness is Readiness.READY


@dataclass(frozen=True)
class LoadView:
    """A load against its limits. Mass in kg, money in the workshop's currency."""

    load: GalvanisingLoad
    mass_kg: Decimal
    longest_mm: int
    line_count: int
    signed: int
    price_per_kg: Decimal

    @property
    def mass_percent(self) -> int:
        return round(self.mass_kg / self.load.max_kg * 100) if self.load.max_kg else 0

    @property
    def length_percent(self) -> int:
        return round(self.longest_mm / self.load.bath_length_mm * 100) if self.load.bath_length_mm else 0

    @property
    def below_minimum_kg(self) -> Decimal:
        """What is paid for and not sent."""
        return max(self.load.minimum_charge_kg - self.mass_kg, NOTHING)

    @property
    def money_lost(self) -> Decimal:
        return self.below_minimum_kg * self.price_per_kg

    @property
    def charge(self) -> Decimal:
        """What the galvaniser asks for the load."""
        return charge(
            mass_kg=self.mass_kg,
            price_per_kg=self.price_per_kg,
            minimum_kg=Decimal(self.load.minimum_charge_kg),
        )

    @property
    def minimum_percent(self) -> int:
        return round(self.load.minimum_charge_kg / self.load.max_kg * 100) if self.load.max_kg else 0

    @property
    def all_signed(self) -> bool:
        return self.line_count > 0 and self.signed == self.line_count


@dataclass(frozen=True)
class Filled:
    """A load with its lines and its drawing."""

    view: LoadView
    lines: tuple[LineView, ...]
    drawing: LoadDrawing

    @property
    def ready_kg(self) -> Decimal:
        return self._mass(Readiness.READY)

    @property
    def coming_kg(self) -> Decimal:
        """Not there yet, and planned to be before the lorry leaves."""
        return self._mass(Readiness.IN_TIME)

    @property
    def late_kg(self) -> Decimal:
        return self._mass(Readiness.LATE)

    @property
    def small_parts(self) -> Decimal:
        """Pieces without a length on their card: they are in the mass, not in the drawing."""
        return sum((one.line.quantity for one in self.lines if not one.line.length_mm), NOTHING)

    @property
    def orders(self) -> list[tuple[Order, str, Readiness, Decimal]]:
        """Each order once: its worst standing, and its mass on the load."""
        found: dict[int, tuple[Order, str, Readiness, Decimal]] = {}
        worst = (Readiness.READY, Readiness.IN_TIME, Readiness.LATE)
        for one in self.lines:
            order, standing, readiness, mass = found.get(
                one.line.order_id, (one.line.order, one.standing, one.readiness, NOTHING)
            )
            if worst.index(one.readiness) > worst.index(readiness):
                standing, readiness = one.standing, one.readiness
            found[order.pk] = (order, standing, readiness, mass + one.line.mass_kg)
        return list(found.values())

    def _mass(self, readiness: Readiness) -> Decimal:
        return sum((one.line.mass_kg for one in self.lines if one.readiness is readiness), NOTHING)


@dataclass(frozen=True)
class Saving:
    """Two lorries of which the later could take both loads, and the money that saves."""

    first: LoadView
    second: LoadView
    money: Decimal


def loads(*states: str) -> QuerySet[GalvanisingLoad]:
    """Loads in these states with mass, longest part, lines and signatures, by lorry day."""
    return (
        GalvanisingLoad.objects.filter(state__in=states)
        .annotate(
            mass=Sum("lines__mass_kg"),
            longest=Max("lines__length_mm"),
            line_count=Count("lines"),
            signed=Count("lines", filter=Q(lines__vents_checked_at__isnull=False)),
        )
        .order_by("leaves_at", "number")
    )


def load_views(rows: Iterable[GalvanisingLoad]) -> list[LoadView]:
    """Rows of `loads` against the price of their lorry day. One query."""
    prices = dict(LorryDay.objects.values_list("weekday", "price_per_kg"))
    return [
        LoadView(
            load=row,
            mass_kg=getattr(row, "mass", None) or NOTHING,
            longest_mm=getattr(row, "longest", None) or 0,
            line_count=getattr(row, "line_count", 0),
            signed=getattr(row, "signed", 0),
            price_per_kg=prices.get(timezone.localtime(row.leaves_at).weekday(), NOTHING),
        )
        for row in rows
    ]


def filled(views: Sequence[LoadView]) -> list[Filled]:
    """Loads with lines and drawings. Two queries however many loads."""
    lines = line_views([view.load for view in views])
    return [
        Filled(view, tuple(lines[view.load.pk]), _drawn(view.load, lines[view.load.pk])) for view in views
    ]


def line_views(rows: Iterable[GalvanisingLoad]) -> defaultdict[int, list[LineView]]:
    """The lines of loads by load id, and how far their welding is. Two queries."""
    by_id = {row.pk: row for row in rows}
    lines = list(
        LoadLine.objects.filter(load__in=by_id)
        .select_related("order__customer", "order__model", "item", "vents_checked_by", "repeats__load")
        .order_by("order__number", "item__code")
    )
    welds = _weld_state({line.order_id for line in lines})
    found: defaultdict[int, list[LineView]] = defaultdict(list)
    for line in lines:
        phrase, ends = welds.get(line.order_id, ("welded", None))
        leaves = by_id[line.load_id].leaves_at
        stays = (
            line.repeats is not None and line.repeats.then == LoadLine.Then.AGAIN and not line.repeats.missing
        )
        if line.order_id not in welds or stays:
            readiness, phrase = Readiness.READY, "welded"
        else:
            readiness = Readiness.IN_TIME if ends and ends <= leaves else Readiness.LATE
        found[line.load_id].append(LineView(line, phrase, readiness))
    return found


def savings(views: Sequence[LoadView]) -> list[Saving]:
    """Pairs of lorries whose loads the later one could take together for less money, the best first."""
    found = []
    for at, first in enumerate(views):
        for second in views[at + 1 :]:
            together = first.mass_kg + second.mass_kg
            load = second.load
            fits = together <= load.max_kg and first.longest_mm <= load.bath_length_mm
            if not fits or not first.line_count or not second.line_count:
                continue
            once = charge(
                mass_kg=together,
                price_per_kg=second.price_per_kg,
                minimum_kg=Decimal(load.minimum_charge_kg),
            )
            if (saved := first.charge + second.charge - once) > 0:
                found.append(Saving(first, second, saved))
    return sorted(found, key=lambda one: -one.money)


def waiting_orders() -> QuerySet[WorksOperation]:
    """Galvanising still to do on orders that no load carries: the next plan chooses a lorry for them."""
    on_load = LoadLine.objects.filter(load__state__in=[Load.RELEASED, Load.AWAY]).values("order_id")
    return (
        WorksOperation.objects.filter(
            process__code="galvanise",
            state=WorksOperation.State.WAITING,
            works_order__order__state__in=[Order.State.RELEASED, Order.State.BEGUN],
        )
        .exclude(works_order__order__in=on_load)
        .select_related("works_order__order__model")
        .order_by("works_order__order__asked_for", "works_order__number")
    )


def _drawn(load: GalvanisingLoad, lines: Iterable[LineView]) -> LoadDrawing:
    return draw(
        [piece for one in lines for piece in _pieces(one)],
        bath_length_mm=load.bath_length_mm,
        max_kg=load.max_kg,
        minimum_kg=load.minimum_charge_kg,
    )


def _pieces(view: LineView) -> list[Piece]:
    """A line piece by piece, where it is of whole pieces that have a length; else as one."""
    line, count = view.line, int(view.line.quantity)
    if not line.length_mm or not 0 < count <= PIECES_DRAWN or count != line.quantity:
        return [Piece(line.order.number, line.length_mm, float(line.mass_kg), view.readiness)]
    each = float(line.mass_kg / count)
    return [Piece(line.order.number, line.length_mm, each, view.readiness)] * count


def _weld_state(order_ids: set[int]) -> dict[int, tuple[str, datetime | None]]:
    """Orders whose weld is not done, with a phrase and its planned end; absent when it is."""
    rows = (
        WorksOperation.objects.filter(
            works_order__order__in=order_ids, process__code="weld", state__in=["waiting", "begun"]
        )
        .annotate(planned_end=Max("planned__ends_at", filter=Q(planned__plan__is_current=True)))
        .values_list("works_order__order_id", "state", "planned_end")
    )
    return {order_id: (_weld_phrase(state, end), end) for order_id, state, end in rows if order_id}


def _weld_phrase(state: str, end: datetime | None) -> str:
    word = "in the weld bay" if state == WorksOperation.State.BEGUN else "not welded yet"
    if end is None:
        return word
    local = timezone.localtime(end)
    return f"{word}, planned for {local:%a} {local.day} {local:%b %H:%M}"
