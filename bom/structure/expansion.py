"""From a configured trailer to its exact bill: plain data in, plain data out.

Within one configuration an item always has the same components, so each item is expanded once, and totals
are summed from the top down in low-level order (each item after everything that contains it), which for n
lines takes n steps however often a subassembly recurs.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.quantities import exact, format_quantity
from bom.structure.conditions import Scope, compile_condition, compile_quantity, compile_text

# What one order chose is exactly what expressions on its bill may look at.
Configuration = Scope


@dataclass(frozen=True)
class BillLine:
    """One line of a bill. Either `component` (an item code) or `family` is given.

    `quantity` per one parent, `condition`, `colour` and `hand` are CEL (see `bom.structure.conditions`); an
    empty condition always applies, an empty colour or hand means none.
    """

    position: int
    component: str | None = None
    family: str | None = None
    colour: str = ""
    hand: str = ""
    quantity: str = "1"
    condition: str = ""


@dataclass(frozen=True)
class Structure:
    """One released revision of a made item's bill."""

    revision: str
    lines: tuple[BillLine, ...]


@dataclass(frozen=True)
class Catalogue:
    """Everything an expansion may look at.

    `structures` has an entry for each made item (bought ones are absent), `members` leads from (family,
    colour, hand) to an item code with "" for no colour or hand, `phantoms` are never stocked: their
    components go straight to what contains them.
    """

    structures: Mapping[str, Structure]
    members: Mapping[tuple[str, str, str], str]
    phantoms: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Edge:
    """`quantity_per` of `component` in each `parent`, at this position of the parent's revision.

    What a phantom brings stands at the position of the phantom's own line. Position and component together
    are unique within a parent.
    """

    parent: str
    component: str
    position: int
    quantity_per: Decimal
    revision: str


@dataclass(frozen=True)
class Node:
    """One place in the tree. `quantity` counts it there for one of the root; `revision` is its own bill's."""

    item: str
    quantity_per: Decimal
    quantity: Decimal
    position: int
    revision: str
    children: tuple[Node, ...]


@dataclass(frozen=True)
class Expansion:
    """The exact bill of one top item.

    `totals` holds every item with the quantity that one top item needs in all, the top item itself with 1
    and phantoms left out, in low-level order. `digest` is the same for two expansions exactly when top item, edges
    and the revisions of what is made are the same.
    """

    top_item: str
    totals: Mapping[str, Decimal]
    edges: tuple[Edge, ...]
    digest: str

    @cached_property
    def root(self) -> Node:
        """The tree, built when first asked for: a shared subassembly stands in it once for each use."""
        return tree_from_edges(self.top_item, self.edges)

    @cached_property
    def revisions(self) -> dict[str, str]:
        """Each made item's revision that was used."""
        return {edge.parent: edge.revision for edge in self.edges}


def expand(catalogue: Catalogue, top_item: str, configuration: Configuration) -> Expansion:
    """The exact bill of one `top_item` in this configuration.

    ProblemError, listing everything found, for a bill that contains itself, a family without the wanted
    colour and hand, an expression that cannot be worked out, and a top item or phantom without a bill.
    """
    if top_item not in catalogue.structures:
        raise ProblemError(
            Problem(f"{top_item} has no released bill", mend="Release a revision of its bill, then try again")
        )
    own_edges = _Expander(catalogue, configuration).run(top_item)
    level = low_level_codes((edge.parent, edge.component) for edges in own_edges.values() for edge in edges)
    order = sorted(own_edges, key=lambda item: (level.get(item, 0), item))
    edges = tuple(edge for item in order for edge in own_edges[item])
    # An item without lines (a flat part) stands in no edge with its revision, but it is made by one.
    bare = {item: catalogue.structures[item].revision for item in order if not own_edges[item]}
    return Expansion(top_item, _totals(top_item, edges, level), edges, _digest(top_item, edges, bare))


def find_cycle(edges: Iterable[tuple[str, str]]) -> tuple[str, ...] | None:
    """A chain of items that returns to its first ("A", "B", "A"), or None where nothing contains itself."""
    below: dict[str, list[str]] = defaultdict(list)
    for parent, component in edges:
        below[parent].append(component)
    done: set[str] = set()
    for start in list(below):
        cycle = None if start in done else _cycle_from(start, below, done)
        if cycle:
            return cycle
    return None


def low_level_codes(edges: Iterable[tuple[str, str]]) -> dict[str, int]:
    """For each item the length of the longest chain above it; 0 for what is in nothing.

    ProblemError naming the chain where an item contains itself.
    """
    pairs = list(dict.fromkeys(edges))
    below: dict[str, list[str]] = defaultdict(list)
    waiting: dict[str, int] = defaultdict(int)
    for parent, component in pairs:
        below[parent].append(component)
        waiting[component] += 1
    ready = [item for item in below if not waiting[item]]
    level = dict.fromkeys(ready, 0)
    while ready:
        item = ready.pop()
        for component in below.get(item, ()):
            level[component] = max(level.get(component, 0), level[item] + 1)
            waiting[component] -= 1
            if not waiting[component]:
                ready.append(component)
    if any(waiting.values()):
        raise _contains_itself(find_cycle(pairs) or ())
    return level


def tree_from_edges(root: str, edges: Iterable[Edge]) -> Node:
    """The tree below `root`, children by position. ProblemError where an item contains itself."""
    below: dict[str, list[Edge]] = defaultdict(list)
    for edge in edges:
        below[edge.parent].append(edge)
    for children in below.values():
        children.sort(key=lambda edge: (edge.position, edge.component))
    cycle = find_cycle((edge.parent, edge.component) for children in below.values() for edge in children)
    if cycle:
        raise _contains_itself(cycle)

    def node(item: str, quantity_per: Decimal, quantity: Decimal, position: int) -> Node:
        own = below.get(item, ())
        children = tuple(
            node(edge.component, edge.quantity_per, quantity * edge.quantity_per, edge.position)
            for edge in own
        )
        return Node(item, quantity_per, exact(quantity), position, own[0].revision if own else "", children)

    return node(root, Decimal(1), Decimal(1), 0)


class _Expander:
    """Expands each item once for one configuration and gathers every problem on the way."""

    def __init__(self, catalogue: Catalogue, configuration: Configuration) -> None:
        self.catalogue = catalogue
        self.configuration = configuration
        self.problems: list[Problem] = []
        self.worked: dict[tuple[str, str], Any] = {}
        self.applying: dict[str, tuple[tuple[int, str, Decimal], ...]] = {}

    def run(self, top_item: str) -> dict[str, tuple[Edge, ...]]:
        self._walk(top_item)
        if self.problems:
            raise ProblemError(*self.problems)
        if self.catalogue.phantoms & self.applying.keys():
            # Blowing a circle of phantoms through would never end; any other circle shows in the levels.
            cycle = find_cycle((item, line[1]) for item, lines in self.applying.items() for line in lines)
            if cycle:
                raise _contains_itself(cycle)
        made = [item for item in self.applying if item == top_item or item not in self.catalogue.phantoms]
        return {item: self._edges(item) for item in made}

    def _walk(self, top_item: str) -> None:
        waiting = [top_item]
        while waiting:
            item = waiting.pop()
            if item in self.applying:
                continue
            self.applying[item] = tuple(self._lines(item))
            for _, component, _ in self.applying[item]:
                if component in self.catalogue.structures:
                    waiting.append(component)
                elif component in self.catalogue.phantoms:
                    self.problems.append(_empty_phantom(component, item))

    def _lines(self, item: str) -> Iterator[tuple[int, str, Decimal]]:
        """Position, component and quantity of each line that applies; a line of quantity nothing does not."""
        structure = self.catalogue.structures[item]
        for line in structure.lines:
            place = f"bill of {item}, revision {structure.revision}, line {line.position}"
            try:
                worked_out = self._line(line)
            except ProblemError as error:
                self.problems += error.within(place).problems
                continue
            if worked_out:
                yield line.position, *worked_out

    def _line(self, line: BillLine) -> tuple[str, Decimal] | None:
        """Component and quantity of a line, or None where it does not apply."""
        if line.condition and not self._worked_out("condition", line.condition):
            return None
        quantity: Decimal = self._worked_out("quantity", line.quantity)
        if not quantity:
            return None
        return line.component or self._member(line), quantity

    def _worked_out(self, field: str, text: str) -> Any:
        """The value of an expression for this configuration, worked out once however many lines use it."""
        if (field, text) not in self.worked:
            try:
                self.worked[field, text] = _WORK[field](text, self.configuration)
            except ProblemError as error:
                raise error.within(field) from error
        return self.worked[field, text]

    def _member(self, line: BillLine) -> str:
        colour: str = self._worked_out("colour", line.colour)
        hand: str = self._worked_out("hand", line.hand)
        member = self.catalogue.members.get((line.family or "", colour, hand))
        if member is None:
            raise ProblemError(self._no_member(line, colour, hand))
        return member

    def _no_member(self, line: BillLine, colour: str, hand: str) -> Problem:
        if not line.family:
            return Problem("The line names neither an item nor a family", mend="Name one of the two")
        asked = " and ".join(
            part for part in (f"colour {colour}" if colour else "", f"hand {hand}" if hand else "") if part
        )
        others = sorted(
            " ".join(part for part in key[1:] if part) or "without colour or hand"
            for key in self.catalogue.members
            if key[0] == line.family
        )
        return Problem(
            f"Family {line.family} has no item {'of ' + asked if asked else 'without colour and hand'}",
            mend=f"It has: {', '.join(others) or 'no items'}. Choose one of these or add the missing item",
        )

    def _edges(self, item: str) -> tuple[Edge, ...]:
        """The item's edges, phantoms blown through, equal components of one position added up."""
        summed: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
        for position, component, quantity in self.applying[item]:
            for real, amount in self._through(component, quantity):
                summed[position, real] += amount
        revision = self.catalogue.structures[item].revision
        return tuple(
            Edge(item, component, position, exact(quantity), revision)
            for (position, component), quantity in summed.items()
        )

    def _through(self, component: str, quantity: Decimal) -> Iterator[tuple[str, Decimal]]:
        if component not in self.catalogue.phantoms:
            yield component, quantity
            return
        for _, inner, amount in self.applying[component]:
            yield from self._through(inner, quantity * amount)


_WORK: dict[str, Callable[[str, Configuration], Any]] = {
    "condition": lambda text, configuration: compile_condition(text).holds(configuration),
    "quantity": lambda text, configuration: compile_quantity(text).value(configuration),
    "colour": lambda text, configuration: compile_text(text).value(configuration),
    "hand": lambda text, configuration: compile_text(text).value(configuration),
}


def _totals(top_item: str, edges: Iterable[Edge], level: Mapping[str, int]) -> dict[str, Decimal]:
    """Sums of the products along every chain; `edges` come in low-level order of their parents."""
    totals: dict[str, Decimal] = defaultdict(Decimal, {top_item: Decimal(1)})
    for edge in edges:
        totals[edge.component] += totals[edge.parent] * edge.quantity_per
    return {item: exact(totals[item]) for item in sorted(totals, key=lambda item: (level.get(item, 0), item))}


def _digest(top_item: str, edges: Iterable[Edge], bare: Mapping[str, str]) -> str:
    lines = sorted(
        "\x1f".join(
            (
                edge.parent,
                f"{edge.position}",
                edge.component,
                format_quantity(edge.quantity_per),
                edge.revision,
            )
        )
        for edge in edges
    )
    lines += sorted("\x1f".join(pair) for pair in bare.items())
    return hashlib.sha256("\x1e".join((top_item, *lines)).encode()).hexdigest()


def _cycle_from(start: str, below: Mapping[str, list[str]], done: set[str]) -> tuple[str, ...] | None:
    """Depth first without recursion, so that a chain may be as long as it likes."""
    chain, places = [start], {start: 0}
    rest = [iter(below.get(start, ()))]
    while chain:
        component = next(rest[-1], None)
        if component is None:
            done.add(chain[-1])
            del places[chain.pop()]
            rest.pop()
        elif component in places:
            return (*chain[places[component] :], component)
        elif component not in done:
            places[component] = len(chain)
            chain.append(component)
            rest.append(iter(below.get(component, ())))
    return None


def _contains_itself(cycle: tuple[str, ...]) -> ProblemError:
    chain = " → ".join(cycle)
    return ProblemError(
        Problem(
            f"{cycle[0]} contains itself: {chain}",
            f"bill of {cycle[-2]}",
            f"Take {cycle[-1]} off the bill of {cycle[-2]}, or break the chain at another link",
        )
    )


def _empty_phantom(phantom: str, parent: str) -> Problem:
    return Problem(
        f"{phantom} is never stocked but has no released bill",
        f"bill of {parent}",
        f"Release a bill of {phantom}, or make it a stocked item",
    )
