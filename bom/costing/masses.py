"""Masses rolled up from parts: of every item of a bill, of what goes to the galvaniser, of the zinc that comes back,
and where the whole balances. Plain data only, for one bill at a time and each item once.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from bom.costing.coating import inside_surface_m2, zinc_kg
from bom.structure.expansion import Edge, Expansion

NOTHING = Decimal(0)

ESTIMATED = "estimated"


@dataclass(frozen=True)
class Facts:
    """What one stock unit of an item is: mass (kg), outside surface (m²), steel thickness and length (mm), whether it
    is hollow, raw material (sheet or section), or made of metres of something (`length_mm` is then 1000)."""

    mass_kg: Decimal = NOTHING
    surface_m2: Decimal = NOTHING
    thickness_mm: Decimal | None = None
    length_mm: Decimal | None = None
    is_hollow: bool = False
    is_raw: bool = False


@dataclass(frozen=True)
class Centre:
    """Where what a bill line brings has its centre of gravity, in the trailer's axes.

    `x_mm` behind the coupling's centre, `y_mm` to the right of the middle plane (left is minus), `z_mm` above the
    road; the directions are those of ISO 4130 (from memory). `basis` says how it is known: measured, drawn, estimated.
    """

    x_mm: Decimal
    y_mm: Decimal
    z_mm: Decimal
    basis: str = ESTIMATED


@dataclass(frozen=True)
class Surfaces:
    """Surface in m² and the least zinc on it in kg."""

    outside_m2: Decimal = NOTHING
    inside_m2: Decimal = NOTHING
    zinc_kg: Decimal = NOTHING


@dataclass(frozen=True)
class Placed:
    """One line that counts in the balance: so many kg at a centre, in this parent."""

    parent: str
    item: str
    position: int
    mass_kg: Decimal
    centre: Centre


@dataclass(frozen=True)
class Balance:
    """Mass and centre of gravity of a whole, in the trailer's axes.

    `x_mm`, `y_mm`, `z_mm` are of the `placed_kg` whose place is known and are None where none is; the rest of
    `mass_kg` is left out of them. `estimated_kg` is the part of the placed mass whose place is an estimate.
    """

    mass_kg: Decimal
    placed_kg: Decimal
    estimated_kg: Decimal
    x_mm: Decimal | None
    y_mm: Decimal | None
    z_mm: Decimal | None
    placed: tuple[Placed, ...] = field(default=(), repr=False)
    unplaced: tuple[tuple[str, Decimal], ...] = field(default=(), repr=False)

    @property
    def is_estimated(self) -> bool:
        return self.estimated_kg > 0 or self.placed_kg < self.mass_kg


def unit_masses(
    expansion: Expansion, own_kg: Mapping[str, Decimal], raw: Collection[str]
) -> dict[str, Decimal]:
    """kg of one stock unit of every item of the bill.

    A bought or raw item has its own mass. A made item is the sum of its components; one made from raw material
    only (cut from sheet, sawn from section) keeps its own mass where one is given, because what is cut away goes
    to scrap and not on the road.
    """
    return masses_of_all(expansion.totals, expansion.edges, own_kg, raw)


def masses_of_all(
    items: Iterable[str], edges: Iterable[Edge], own_kg: Mapping[str, Decimal], raw: Collection[str]
) -> dict[str, Decimal]:
    """`unit_masses` of any set at once. `items` in low-level order: each after everything that contains it."""
    below = below_each(edges)
    masses: dict[str, Decimal] = {}
    for item in reversed(list(items)):
        own, lines = own_kg.get(item, NOTHING), below.get(item, ())
        is_cut = own > 0 and all(edge.component in raw for edge in lines)
        masses[item] = (
            own
            if is_cut or not lines
            else sum((edge.quantity_per * masses[edge.component] for edge in lines), NOTHING)
        )
    return masses


def mass_to_galvanise(
    expansion: Expansion, masses: Mapping[str, Decimal], galvanised: Collection[str]
) -> Decimal:
    """kg that go to the galvaniser for one top item: each galvanised assembly once, with all that is in it."""
    outside: dict[str, Decimal] = defaultdict(Decimal, {expansion.top_item: Decimal(1)})
    below = below_each(expansion.edges)
    mass = Decimal(0)
    for item in expansion.totals:
        if item in galvanised:
            mass += outside[item] * masses[item]
            continue
        for edge in below.get(item, ()):
            outside[edge.component] += outside[item] * edge.quantity_per
    return mass


def surfaces_of_all(
    items: Iterable[str], edges: Iterable[Edge], facts: Mapping[str, Facts]
) -> dict[str, Surfaces]:
    """Surface and zinc of one stock unit of every item, from its leaves upwards. `items` in low-level order.

    A leaf is a bought or raw item, or one cut from raw material that has a surface of its own. Zinc is worked out
    for leaves with a steel thickness, on both sides of a hollow section; other leaves (rubber, fixings that come
    coated) get none. Whether a part is galvanised at all is the caller's to say (see `zinc_of_galvanised`).
    """
    below = below_each(edges)
    found: dict[str, Surfaces] = {}
    for item in reversed(list(items)):
        own, lines = facts.get(item, _UNKNOWN), below.get(item, ())
        is_cut = own.surface_m2 > 0 and all(facts.get(edge.component, _UNKNOWN).is_raw for edge in lines)
        found[item] = _of_leaf(own) if is_cut or not lines else _summed(lines, found)
    return found


def zinc_of_galvanised(
    expansion: Expansion, surfaces: Mapping[str, Surfaces], galvanised: Collection[str]
) -> Decimal:
    """kg of zinc that come back on one top item, at least: that of each galvanised assembly once."""
    return mass_to_galvanise(expansion, {item: one.zinc_kg for item, one in surfaces.items()}, galvanised)


def balance(
    expansion: Expansion, masses: Mapping[str, Decimal], centres: Mapping[tuple[str, int], Centre]
) -> Balance:
    """Mass and centre of gravity of one top item. `centres` by (parent, position of the line).

    A line with a centre counts there with all that it brings. A line without one is opened, and the lines of what
    it brings are looked at; what has no centre down to the leaf is left out of the balance and told.
    """
    below = below_each(expansion.edges)
    known = _with_centres(expansion, below, centres)
    placed: list[Placed] = []
    unplaced: dict[str, Decimal] = defaultdict(Decimal)
    waiting = [(expansion.top_item, Decimal(1))]
    while waiting:
        parent, quantity = waiting.pop()
        for edge in below.get(parent, ()):
            number = quantity * edge.quantity_per
            mass = number * masses[edge.component]
            centre = centres.get((edge.parent, edge.position))
            if centre is not None:
                placed.append(Placed(edge.parent, edge.component, edge.position, mass, centre))
            elif edge.component in known:
                waiting.append((edge.component, number))
            else:
                unplaced[edge.component] += mass
    return _balance(masses[expansion.top_item], placed, unplaced)


def below_each(edges: Iterable[Edge]) -> dict[str, list[Edge]]:
    """The edges under each parent."""
    below: dict[str, list[Edge]] = defaultdict(list)
    for edge in edges:
        below[edge.parent].append(edge)
    return below


_UNKNOWN = Facts()


def _of_leaf(own: Facts) -> Surfaces:
    length = own.length_mm
    if own.thickness_mm is None or own.thickness_mm <= 0:
        return Surfaces(own.surface_m2)
    inside = NOTHING
    if own.is_hollow and length is not None:
        inside = inside_surface_m2(own.surface_m2, own.thickness_mm, length)
    zinc = zinc_kg(own.surface_m2 + inside, own.thickness_mm)
    return Surfaces(own.surface_m2, inside, zinc)


def _summed(lines: Iterable[Edge], found: Mapping[str, Surfaces]) -> Surfaces:
    outside, inside, zinc = NOTHING, NOTHING, NOTHING
    for edge in lines:
        part = found[edge.component]
        outside += edge.quantity_per * part.outside_m2
        inside += edge.quantity_per * part.inside_m2
        zinc += edge.quantity_per * part.zinc_kg
    return Surfaces(outside, inside, zinc)


def _with_centres(
    expansion: Expansion, below: Mapping[str, list[Edge]], centres: Mapping[tuple[str, int], Centre]
) -> set[str]:
    """Items under which, at any depth, a line has a centre of its own."""
    found: set[str] = set()
    for item in reversed(list(expansion.totals)):
        if any((item, edge.position) in centres or edge.component in found for edge in below.get(item, ())):
            found.add(item)
    return found


def _balance(mass_kg: Decimal, placed: list[Placed], unplaced: Mapping[str, Decimal]) -> Balance:
    total = sum((one.mass_kg for one in placed), NOTHING)
    estimated = sum((one.mass_kg for one in placed if one.centre.basis == ESTIMATED), NOTHING)

    def middle(axis: str) -> Decimal | None:
        if total <= 0:
            return None
        moment = sum((one.mass_kg * getattr(one.centre, axis) for one in placed), NOTHING)
        return Decimal(moment / total)

    return Balance(
        mass_kg,
        total,
        estimated,
        middle("x_mm"),
        middle("y_mm"),
        middle("z_mm"),
        tuple(placed),
        tuple(sorted(unplaced.items(), key=lambda pair: -pair[1])),
    )
