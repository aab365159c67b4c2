"""What a bill costs, from its leaves upwards: material, bought parts, work, outside work, scrap. Plain data only.

Prices and rates come as an argument (`Prices`), so that the same arithmetic serves an order, a model and a whole
set of items at once. Money is Decimal in the workshop's currency and is rounded by whoever shows it.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple, Protocol

from bom.costing.masses import Facts, below_each
from bom.kernel.quantities import exact, format_quantity
from bom.structure.expansion import Edge

NOTHING = Decimal(0)
MINUTES_PER_HOUR = Decimal(60)
SCRAP = "scrap allowance"


class Parts(NamedTuple):
    """A cost by its kinds."""

    material: Decimal = NOTHING
    bought: Decimal = NOTHING
    labour: Decimal = NOTHING
    overhead: Decimal = NOTHING
    outside: Decimal = NOTHING
    scrap: Decimal = NOTHING

    @property
    def total(self) -> Decimal:
        return sum(self, NOTHING)

    def times(self, factor: Decimal) -> "Parts":
        return Parts(*(one * factor for one in self))

    def plus(self, other: "Parts") -> "Parts":
        return Parts(*(one + two for one, two in zip(self, other, strict=True)))


KINDS: tuple[str, ...] = Parts._fields


@dataclass(frozen=True)
class Price:
    """What one stock unit is bought for, and where the figure comes from."""

    amount: Decimal
    source: str = ""


@dataclass(frozen=True)
class Rate:
    """What an hour at a process costs: the people, and the machine and the building with it. `name` for people."""

    labour_per_hour: Decimal
    overhead_per_hour: Decimal = NOTHING
    source: str = ""
    name: str = ""


@dataclass(frozen=True)
class OutsideRate:
    """Work done outside by the kg, with a minimum charge a load.

    A load of `load_kg` is charged as `minimum_kg` where it is lighter, and what is charged is shared by mass, so a
    kg in a light load costs more.
    """

    price_per_kg: Decimal
    minimum_kg: Decimal = NOTHING
    load_kg: Decimal = NOTHING
    source: str = ""

    @property
    def per_kg(self) -> Decimal:
        if self.load_kg <= 0 or self.load_kg >= self.minimum_kg:
            return self.price_per_kg
        return self.price_per_kg * self.minimum_kg / self.load_kg


@dataclass(frozen=True)
class Yield:
    """The share (0 to 1) of a raw material that becomes good parts; the rest is waste that is paid for too."""

    share: Decimal
    source: str = ""


class Operation(Protocol):
    """Work on a made item: minutes once a lot and minutes a piece."""

    @property
    def process(self) -> str: ...
    @property
    def setup_minutes(self) -> Decimal: ...
    @property
    def run_minutes(self) -> Decimal: ...


@dataclass(frozen=True)
class Prices:
    """Everything money is worked out with.

    `prices` and `yields` by item code, `rates` and `outside` by process. A raw item without a yield is charged with
    the quantity that the bill says. `scrap_share` is added to material and work of what is made here.
    """

    prices: Mapping[str, Price] = field(default_factory=dict)
    rates: Mapping[str, Rate] = field(default_factory=dict)
    outside: Mapping[str, OutsideRate] = field(default_factory=dict)
    yields: Mapping[str, Yield] = field(default_factory=dict)
    scrap_share: Decimal = NOTHING
    scrap_source: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One figure that is not opened further: `amount` for all of its item in the bill.

    `subject` is the raw or bought item, or the process; `figures` fill the sentence `says`, which is only written
    when somebody asks for the `working`.
    """

    kind: str
    subject: str
    amount: Decimal
    says: str
    figures: tuple[Decimal, ...]
    source: str = ""

    @property
    def working(self) -> str:
        """How the amount came about."""
        return self.says.format(*(_written(one) for one in self.figures))


@dataclass(frozen=True, slots=True)
class Costed:
    """One item of the set: `quantity` of it in all, what it costs itself (`own`, `pieces`) for all of them, and
    `unit`, the cost of one with everything in it."""

    quantity: Decimal
    own: Parts
    pieces: tuple[Piece, ...]
    unit: Parts


def costs_of_all(
    totals: Mapping[str, Decimal],
    edges: Iterable[Edge],
    facts: Mapping[str, Facts],
    work: Mapping[str, Collection[Operation]],
    prices: Prices,
    outside_kg: Mapping[str, Decimal],
    *,
    without: Collection[str] = (),
) -> dict[str, Costed]:
    """The cost of every item of a set, each worked out once.

    `totals`: how many of each are wanted in all, in low-level order (each item after everything that contains it).
    A made item's set-up counts once for its whole quantity. `outside_kg`: mass of each item that is sent out in all
    (see `masses_sent_out`). `without`: processes that are not done this time, whatever the bill names (a finish).
    """
    below = below_each(edges)
    found: dict[str, Costed] = {}
    for item in reversed(list(totals)):
        quantity, lines = totals[item], below.get(item, ())
        own = facts.get(item, _NO_FACTS)
        pieces = list(_work(work.get(item, ()), quantity, prices, outside_kg.get(item, NOTHING), without))
        if lines:
            pieces = [*_material(own, quantity, lines, facts, prices), *pieces]
            pieces += _scrap(pieces, prices)
        elif not own.is_raw:
            pieces.insert(0, _bought(item, quantity, prices))
        found[item] = _costed(quantity, tuple(pieces), lines, found)
    return found


def masses_sent_out(
    totals: Iterable[str],
    edges: Iterable[Edge],
    masses: Mapping[str, Decimal],
    sent: Collection[str],
    top_item: str,
) -> dict[str, Decimal]:
    """kg of each item of `sent` for one top item; what lies inside another that is sent goes with it and counts
    there. `totals` in low-level order."""
    below, apart = below_each(edges), {top_item: Decimal(1)}
    found: dict[str, Decimal] = {}
    for item in totals:
        number = apart.get(item, NOTHING)
        if item in sent:
            found[item] = number * masses[item]
            continue
        for edge in below.get(item, ()):
            apart[edge.component] = apart.get(edge.component, NOTHING) + number * edge.quantity_per
    return found


@dataclass(frozen=True, slots=True)
class Branch:
    """One place in the cost tree: either an item with what is in it, or a piece. `amount` for all of it there,
    `share` of the whole tree (0 to 1)."""

    name: str
    kind: str
    quantity: Decimal
    amount: Decimal
    share: Decimal
    working: str
    source: str
    children: tuple["Branch", ...] = ()


def cost_tree(top_item: str, edges: Iterable[Edge], costs: Mapping[str, Costed]) -> Branch:
    """The cost of one `top_item` opened down to the leaf. Children add up to their parent."""
    below = below_each(edges)
    whole = costs[top_item].unit.total

    def branch(item: str, quantity: Decimal) -> Branch:
        costed = costs[item]
        amount = costed.unit.total * quantity
        part = quantity / costed.quantity if costed.quantity else NOTHING
        children = [
            branch(edge.component, quantity * edge.quantity_per)
            for edge in below.get(item, ())
            if costs[edge.component].unit.total
        ]
        children += [
            Branch(
                piece.subject,
                piece.kind,
                NOTHING,
                piece.amount * part,
                _share(piece.amount * part, whole),
                piece.working,
                piece.source,
            )
            for piece in costed.pieces
        ]
        children.sort(key=lambda one: -one.amount)
        if len(children) == 1 and children[0].kind == "bought" and item not in below:
            only = children[0]
            return Branch(item, "bought", quantity, amount, only.share, only.working, only.source)
        return Branch(item, "item", quantity, amount, _share(amount, whole), "", "", tuple(children))

    return branch(top_item, Decimal(1))


_NO_FACTS = Facts()
_NO_PRICE = Price(NOTHING, "no price known")


def _written(figure: Decimal) -> str:
    """At most six decimals, no needless zeros."""
    return format_quantity(exact(figure))


_BOUGHT = "{} × {} each"
_AS_THE_BILL_SAYS = "{} × {} × {}; the bill's own quantity, waste included"
_BY_YIELD = "{} × {} kg of {} kg ÷ yield {} × {}"
_WORKED = "{} min once + {} × {} min = {} min, at {} an hour"
_SENT = "{} kg × {} a kg"
_SENT_LIGHT = "{} kg × {} a kg × {} kg charged at least ÷ {} kg in the load"
_SPOILT = "{} % of material and own work, {}"


def _bought(item: str, quantity: Decimal, prices: Prices) -> Piece:
    price = prices.prices.get(item, _NO_PRICE)
    return Piece("bought", item, quantity * price.amount, _BOUGHT, (quantity, price.amount), price.source)


def _material(
    own: Facts, quantity: Decimal, lines: Iterable[Edge], facts: Mapping[str, Facts], prices: Prices
) -> Iterator[Piece]:
    """Raw material that goes into all of an item: net mass by the yield of real nests, else as the bill says."""
    for edge in lines:
        raw = facts.get(edge.component, _NO_FACTS)
        if not raw.is_raw:
            continue
        price = prices.prices.get(edge.component, _NO_PRICE)
        known = prices.yields.get(edge.component)
        if known is None or known.share <= 0 or own.mass_kg <= 0 or raw.mass_kg <= 0:
            amount = quantity * edge.quantity_per * price.amount
            figures: tuple[Decimal, ...] = (quantity, edge.quantity_per, price.amount)
            yield Piece("material", edge.component, amount, _AS_THE_BILL_SAYS, figures, price.source)
        else:
            amount = quantity * own.mass_kg * price.amount / (raw.mass_kg * known.share)
            figures = (quantity, own.mass_kg, raw.mass_kg, known.share, price.amount)
            source = f"{price.source}; {known.source}"
            yield Piece("material", edge.component, amount, _BY_YIELD, figures, source)


def _work(
    operations: Iterable[Operation],
    quantity: Decimal,
    prices: Prices,
    sent_kg: Decimal,
    without: Collection[str],
) -> Iterator[Piece]:
    for one in operations:
        if one.process in without:
            continue
        outside = prices.outside.get(one.process)
        if outside is not None and sent_kg:
            yield _outside(one.process, sent_kg, outside)
        rate = prices.rates.get(one.process)
        minutes = one.setup_minutes + one.run_minutes * quantity
        if rate is None or not minutes:
            continue
        for kind, hourly in (("labour", rate.labour_per_hour), ("overhead", rate.overhead_per_hour)):
            if hourly:
                figures = (one.setup_minutes, quantity, one.run_minutes, minutes, hourly)
                amount = minutes * hourly / MINUTES_PER_HOUR
                yield Piece(kind, one.process, amount, _WORKED, figures, rate.source)


def _outside(process: str, sent_kg: Decimal, outside: OutsideRate) -> Piece:
    amount = sent_kg * outside.per_kg
    if outside.per_kg == outside.price_per_kg:
        return Piece("outside", process, amount, _SENT, (sent_kg, outside.price_per_kg), outside.source)
    figures = (sent_kg, outside.price_per_kg, outside.minimum_kg, outside.load_kg)
    return Piece("outside", process, amount, _SENT_LIGHT, figures, outside.source)


def _scrap(pieces: Collection[Piece], prices: Prices) -> tuple[Piece, ...]:
    """The allowance for what is spoilt: a share of the item's own material and work."""
    base = sum((one.amount for one in pieces if one.kind in ("material", "labour", "overhead")), NOTHING)
    if not base or not prices.scrap_share:
        return ()
    figures = (prices.scrap_share * 100, base)
    return (Piece("scrap", SCRAP, base * prices.scrap_share, _SPOILT, figures, prices.scrap_source),)


def _costed(
    quantity: Decimal, pieces: tuple[Piece, ...], lines: Iterable[Edge], found: Mapping[str, Costed]
) -> Costed:
    own = dict.fromkeys(KINDS, NOTHING)
    for piece in pieces:
        own[piece.kind] += piece.amount
    unit = [amount / quantity if amount else NOTHING for amount in own.values()]
    for edge in lines:
        for at, amount in enumerate(found[edge.component].unit):
            if amount:
                unit[at] += amount * edge.quantity_per
    return Costed(quantity, Parts(**own), pieces, Parts(*unit))


def _share(amount: Decimal, whole: Decimal) -> Decimal:
    return amount / whole if whole else NOTHING
