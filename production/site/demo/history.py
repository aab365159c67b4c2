"""Twelve months of goods-in and issues, simulated week by week, so that the levels have something to go by.

Each item is used at the rate the order book implies and bought again when it runs low. A few rollers and axles
are held back at the end, so that named orders are short of them.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from random import Random

from django.utils import timezone

from bom.items.models import Item
from bom.people.models import User
from inventory.stock import ledger
from inventory.stock.models import Location, Lot, Posting
from production.site.demo.recipes import Thing, exact
from production.site.demo.suppliers import seller

HELD_BACK = (
    "KEEL-160-RED",
    "SIDE-120-BLUE",
    "SIDE-120-YELLOW",
    "STERN-210-BLACK",
    "AX-1500B",
    "AX-1350T",
    "JW-48P",
)
"""What comes late: nothing of it has arrived for some weeks."""

ONE_OFFS: Mapping[str, int] = {
    "LAMP-PLATE": 21,
    "CLIP-R": 17,
    "POLE-GUIDE": 30,
    "CAP-HUB-S": 26,
    "WALLET": 24,
}
"""A batch for another workshop, a refit of old trailers: so many weeks before today, many times the usual use."""

_TIMES_THE_USUAL = 6

# Weeks of use at which more is fetched in, where the lead time does not say it: the dearest are kept short.
_LOW_WEEKS = {"axles": Decimal(3), "couplings": Decimal(3)}
_WEEKS_FETCHED = 3
_ISSUE_DAYS = {
    "sheets": 0,
    "sections": 0,
    "fixings": 1,
    "rollers": 2,
    "axles": 2,
    "wheels": 3,
    "lights": 3,
    "powder": 4,
}
_POSTINGS_AT_ONCE = 250


@dataclass(frozen=True)
class Flow:
    """One item over one week: what came and what was used, in stock units."""

    week: int
    thing: Thing
    received: Decimal
    issued: Decimal


@dataclass
class Shelf:
    """Lots of one item on its shelf, the oldest first; without tracking one heap that has no lot."""

    lots: list[tuple[int | None, Decimal]] = field(default_factory=list)

    def put(self, lot_id: int | None, quantity: Decimal) -> None:
        self.lots.append((lot_id, quantity))

    def take(self, quantity: Decimal) -> Iterator[tuple[int | None, Decimal]]:
        while quantity > 0:
            lot_id, there = self.lots[0]
            taken = min(there, quantity)
            self.lots[0] = (lot_id, there - taken)
            if taken == there:
                self.lots.pop(0)
            quantity -= taken
            yield lot_id, taken


@dataclass(frozen=True)
class Simulated:
    """What the simulation says of one item."""

    thing: Thing
    opening: Decimal
    flows: Sequence[Flow]

    @property
    def ending(self) -> Decimal:
        return self.opening + sum((flow.received - flow.issued for flow in self.flows), Decimal(0))


def simulate(random: Random, thing: Thing, weekly: Decimal, weeks: int) -> Simulated:
    """Weeks of use at about `weekly` units, bought up to the cover again whenever less than half is left."""
    step = step_of(thing)
    low_weeks = _LOW_WEEKS.get(thing.group, Decimal(thing.lead_days) / 5 + Decimal("1.5"))
    low = weekly * low_weeks + step
    top = _up(low + weekly * _WEEKS_FETCHED, step) + step
    held_back_from = weeks - 2 * (int(low_weeks) + _WEEKS_FETCHED)
    opening = stock = top
    flows = []
    for week in range(weeks):
        wanted = weekly * exact(random.uniform(0.5, 1.5), 3)
        if ONE_OFFS.get(thing.code) == weeks - week:
            wanted *= _TIMES_THE_USUAL
        issued = min(stock, _down(wanted + step * exact(random.random(), 3), step))
        stock -= issued
        is_late = thing.code in HELD_BACK and week >= held_back_from
        received = Decimal(0) if is_late or stock > low else _up(top - stock, _pack(thing, step))
        stock += received
        if issued or received:
            flows.append(Flow(week, thing, received, issued))
    return Simulated(thing, opening, flows)


def step_of(thing: Thing) -> Decimal:
    """The least quantity that moves: a whole bar of a section, half a kilogram of powder, one piece."""
    if thing.kind == "section":
        return exact(thing.lot_size, 4)
    return Decimal("0.5") if thing.unit in ("kg", "m") else Decimal(1)


def _pack(thing: Thing, step: Decimal) -> Decimal:
    return exact(thing.lot_size, 4) or step


def _up(quantity: Decimal, step: Decimal) -> Decimal:
    return (quantity / step).to_integral_value(ROUND_CEILING) * step


def _down(quantity: Decimal, step: Decimal) -> Decimal:
    return (quantity / step).to_integral_value(ROUND_FLOOR) * step


@dataclass(frozen=True)
class Arrival:
    """So much of a thing that came on a day, by the key of its posting."""

    key: str
    thing: Thing
    quantity: Decimal
    day: date


@dataclass
class Diary:
    """Turns the simulated weeks into postings of the ledger, in the order in which they happened."""

    items: Mapping[str, Item]
    shelves: Mapping[str, Location]
    outside: Mapping[str, Location]
    first_monday: date
    by: User
    held: dict[str, Shelf] = field(default_factory=lambda: defaultdict(Shelf))
    arrivals: list[Arrival] = field(default_factory=list)

    def write(self, simulated: Sequence[Simulated], weeks: int) -> int:
        """Post everything; returns how many postings there are."""
        lots = self._make_lots(simulated)
        drafts = [self._opening(simulated, lots)]
        by_week: dict[int, list[Flow]] = defaultdict(list)
        for one in simulated:
            for flow in one.flows:
                by_week[flow.week].append(flow)
        for week in range(weeks):
            drafts += self._issues(week, by_week[week])
            drafts += self._receipts(week, by_week[week], lots)
        for start in range(0, len(drafts), _POSTINGS_AT_ONCE):
            ledger.post_many(drafts[start : start + _POSTINGS_AT_ONCE])
        return len(drafts)

    def _opening(self, simulated: Sequence[Simulated], lots: "Lots") -> ledger.Draft:
        lines = []
        for one in simulated:
            if one.opening:
                lines += self._arrive(one.thing, "COUNT", one.opening, lots.of(one.thing.code, -1))
        at = self._moment(-1, 0)
        return ledger.Draft("demo:opening", Posting.Kind.OPENING, lines, self.by, at, "first count")

    def _issues(self, week: int, flows: Sequence[Flow]) -> Iterator[ledger.Draft]:
        days: dict[int, list[ledger.Line]] = defaultdict(list)
        for flow in flows:
            if flow.issued:
                days[_ISSUE_DAYS.get(flow.thing.group, 1)] += self._leave(flow.thing, flow.issued)
        for day, lines in sorted(days.items()):
            yield ledger.Draft(
                f"demo:issue:{week}:{day}",
                Posting.Kind.ISSUE,
                lines,
                self.by,
                self._moment(week, day),
                "used on trailers",
            )

    def _receipts(self, week: int, flows: Sequence[Flow], lots: "Lots") -> Iterator[ledger.Draft]:
        """One for each thing, as goods-in books them; the arrival is kept for the order it belongs to."""
        for flow in sorted(flows, key=lambda flow: (seller(flow.thing), flow.thing.code)):
            if not flow.received:
                continue
            key, at = f"demo:receipt:{week}:{flow.thing.code}", self._moment(week, 4, hour=14)
            self.arrivals.append(Arrival(key, flow.thing, flow.received, at.date()))
            lines = self._arrive(flow.thing, "SUPPLIER", flow.received, lots.of(flow.thing.code, week))
            yield ledger.Draft(key, Posting.Kind.RECEIPT, lines, self.by, at, "delivery note seen")

    def _arrive(self, thing: Thing, origin: str, quantity: Decimal, lots: Sequence[Lot]) -> list[ledger.Line]:
        item_id, shelf_id = self.items[thing.code].pk, self.shelves[thing.code].pk
        pieces: list[tuple[int | None, Decimal]] = [(lot.pk, quantity / len(lots)) for lot in lots]
        pieces = pieces or [(None, quantity)]
        lines = [ledger.Line(item_id, self.outside[origin].pk, -quantity)]
        for lot_id, piece in pieces:
            self.held[thing.code].put(lot_id, piece)
            lines.append(ledger.Line(item_id, shelf_id, piece, lot_id))
        return lines

    def _leave(self, thing: Thing, quantity: Decimal) -> list[ledger.Line]:
        item_id, shelf_id = self.items[thing.code].pk, self.shelves[thing.code].pk
        taken: dict[int | None, Decimal] = defaultdict(Decimal)
        for lot_id, piece in self.held[thing.code].take(quantity):
            taken[lot_id] += piece
        lines = [ledger.Line(item_id, shelf_id, -piece, lot_id) for lot_id, piece in taken.items()]
        return [*lines, ledger.Line(item_id, self.outside["CONV"].pk, quantity)]

    def _make_lots(self, simulated: Sequence[Simulated]) -> "Lots":
        """A serial number for each tracked piece, a lot for each delivery of what is tracked by lot."""
        rows: list[tuple[str, int, Lot]] = []
        for one in simulated:
            if one.thing.tracking == "none":
                continue
            arrivals = [(-1, one.opening), *((flow.week, flow.received) for flow in one.flows)]
            number = 0
            for week, quantity in arrivals:
                pieces = int(quantity) if one.thing.tracking == "serial" else int(quantity > 0)
                for _ in range(pieces):
                    number += 1
                    rows.append((one.thing.code, week, self._lot(one.thing, week, number)))
        Lot.objects.bulk_create([lot for _, _, lot in rows], batch_size=500)
        lots = Lots()
        for code, week, lot in rows:
            lots.arrived[code, week].append(lot)
        return lots

    def _lot(self, thing: Thing, week: int, number: int) -> Lot:
        is_serial = thing.tracking == "serial"
        received_on = self._moment(week, 4).date()
        return Lot(
            item=self.items[thing.code],
            code=f"{thing.code}-{received_on:%y%m}{number:04d}",
            kind=Lot.Kind.SERIAL if is_serial else Lot.Kind.LOT,
            received_on=received_on,
        )

    def _moment(self, week: int, day: int, hour: int = 10) -> datetime:
        at = self.first_monday + timedelta(weeks=week, days=day)
        return timezone.make_aware(datetime.combine(at, time(hour)))


@dataclass
class Lots:
    """The lots that came of an item in a week; week -1 is the opening stock."""

    arrived: dict[tuple[str, int], list[Lot]] = field(default_factory=lambda: defaultdict(list))

    def of(self, code: str, week: int) -> Sequence[Lot]:
        return self.arrived.get((code, week), [])
