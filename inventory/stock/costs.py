"""What stock is worth: moving weighted average and first in, first out, from the movements in their order.

Pure arithmetic. What is ours (on shelves, in work, away for outside work) is one heap for each item; carrying it
about inside costs nothing. Goods enter the heap with a value and leave it with one; what is left is worth the rest.
Values are worked in eight places of the currency, so that what was taken and what is left always add up exactly;
they are rounded to the currency's places once, where they are shown.

Rules, by the sources named in tests/outside/test_stock_value.py:
- moving average: what leaves is worth its share of the whole heap, at the moment it leaves;
- first in, first out: what leaves comes from the oldest delivery that has any left.

The trade's usual care for the rest, common practice, no source:
- what is made is worth what was used up for it in the same posting, shared by mass (by pieces where a mass is
  missing); work and machine time are the concern of costing;
- a reversal puts back what its posting took, or takes out what it brought; where some of that was used up
  meanwhile, the heap gives what it can and the rest is said as a difference;
- an issue that happened before the delivery it was taken from leaves at the latest cost known, and the difference
  is said when the delivery comes: a heap is never below nothing.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

NOTHING = Decimal(0)
KEPT_PLACES = 8
_KEPT = Decimal(1).scaleb(-KEPT_PLACES)


class Method(StrEnum):
    AVERAGE = "average"
    FIFO = "fifo"


class Basis(StrEnum):
    """Where the cost of what came in was taken from."""

    PURCHASE = "purchase price"
    STATED = "cost stated"
    INPUTS = "what was used up for it"
    KNOWN = "latest cost known"
    STANDARD = "standard cost"
    TAKEN_BACK = "as it was taken"
    LEFT = "what left, by the method"
    NONE = "carried within the house"


@dataclass(frozen=True)
class Facts:
    """What an item is valued by. `standard_cost` and `mass_kg` are for one stock unit."""

    method: Method = Method.AVERAGE
    standard_cost: Decimal = NOTHING
    mass_kg: Decimal = NOTHING


@dataclass(frozen=True)
class Given:
    """The cost of a delivery: for one stock unit, and charges (freight, duty) for all of it."""

    unit_cost: Decimal | None
    charges: Decimal = NOTHING
    basis: Basis = Basis.PURCHASE


@dataclass(frozen=True)
class Change:
    """What one posting did to one item: net into (plus) or out of (minus) what is ours.

    `by_kind` is the change at each kind of place that is ours; `across` the kind of outside place it came from or
    went to, empty where it was only carried within.
    """

    item_id: int
    quantity: Decimal
    across: str = ""
    by_kind: Mapping[str, Decimal] = field(default_factory=dict)


@dataclass(frozen=True)
class Event:
    """One posting. `reverses` names the posting whose mirror it is."""

    posting_id: int
    at: datetime
    changes: Sequence[Change]
    reverses: int | None = None


@dataclass(frozen=True)
class Layer:
    """So much that came with one posting and what it is worth. A moving average has one layer, of many postings."""

    at: datetime
    posting_id: int
    quantity: Decimal
    value: Decimal

    @property
    def unit_cost(self) -> Decimal:
        return self.value / self.quantity

    def part(self, quantity: Decimal) -> Layer:
        return replace(self, quantity=quantity, value=kept(self.value * quantity / self.quantity))

    def less(self, other: Layer) -> Layer:
        return replace(self, quantity=self.quantity - other.quantity, value=self.value - other.value)


@dataclass(frozen=True)
class Entry:
    """One line of an item's working: what came or left, what it was worth, what there was after it.

    `difference` is what came in or left without goods: value_after = value_before + value + difference.
    """

    posting_id: int
    at: datetime
    item_id: int
    quantity: Decimal
    value: Decimal
    basis: Basis
    difference: Decimal
    quantity_after: Decimal
    value_after: Decimal
    across: str = ""

    @property
    def unit_cost(self) -> Decimal:
        return self.value / self.quantity if self.quantity else NOTHING


@dataclass
class Heap:
    """All of one item that is ours, in layers, oldest first. `owed` left before it had come."""

    layers: list[Layer] = field(default_factory=list)
    by_kind: dict[str, Decimal] = field(default_factory=dict)
    owed: Decimal = NOTHING
    latest_cost: Decimal | None = None

    @property
    def quantity(self) -> Decimal:
        return sum((layer.quantity for layer in self.layers), NOTHING)

    @property
    def value(self) -> Decimal:
        return sum((layer.value for layer in self.layers), NOTHING)

    @property
    def unit_cost(self) -> Decimal | None:
        """Worth of one: of what there is, else the latest known; none where nothing ever came."""
        quantity = self.quantity
        return self.value / quantity if quantity else self.latest_cost

    def put(self, layer: Layer, method: Method) -> None:
        if method == Method.AVERAGE and self.layers:
            first = self.layers[0]
            quantity, value = first.quantity + layer.quantity, first.value + layer.value
            self.layers = [replace(first, quantity=quantity, value=value)]
            return
        for index, there in enumerate(self.layers):
            if _age(there) == _age(layer):
                quantity, value = there.quantity + layer.quantity, there.value + layer.value
                self.layers[index] = replace(there, quantity=quantity, value=value)
                return
        insort(self.layers, layer, key=_age)

    def take(self, quantity: Decimal) -> list[Layer]:
        """The oldest first, as far as there is any."""
        taken: list[Layer] = []
        while quantity and self.layers:
            oldest = self.layers[0]
            if oldest.quantity <= quantity:
                taken.append(self.layers.pop(0))
            else:
                taken.append(oldest.part(quantity))
                self.layers[0] = oldest.less(taken[-1])
            quantity -= taken[-1].quantity
        return taken

    def take_of(self, posting_id: int, quantity: Decimal) -> list[Layer]:
        """What came with one posting, as far as it still lies here; the rest oldest first."""
        for index, layer in enumerate(self.layers):
            if layer.posting_id == posting_id:
                piece = layer if layer.quantity <= quantity else layer.part(quantity)
                self.layers[index : index + 1] = [] if piece is layer else [layer.less(piece)]
                return [piece, *self.take(quantity - piece.quantity)]
        return self.take(quantity)

    def take_worth(self, quantity: Decimal, value: Decimal) -> list[Layer]:
        """So much of an averaged heap at a worth already known, never more than it is worth; all of it whole."""
        if not self.layers or quantity >= self.quantity:
            return self.take(quantity)
        piece = replace(self.layers[0], quantity=quantity, value=min(value, self.layers[0].value))
        self.layers[0] = self.layers[0].less(piece)
        return [piece]

    def carry(self, by_kind: Mapping[str, Decimal]) -> None:
        for kind, quantity in by_kind.items():
            self.by_kind[kind] = self.by_kind.get(kind, NOTHING) + quantity


@dataclass
class Books:
    """The heaps of all items, led on posting by posting in the order in which they happened."""

    facts: Mapping[int, Facts]
    given: Mapping[tuple[int, int], Given] = field(default_factory=dict)
    taken_back: frozenset[int] = frozenset()
    heaps: dict[int, Heap] = field(default_factory=dict)
    _remembered: dict[tuple[int, int], list[Layer]] = field(default_factory=dict)

    def lead(self, events: Iterable[Event]) -> Iterable[Entry]:
        """Take in the events, giving the entries they make. The heaps stand at the last event taken in."""
        for event in events:
            yield from self._take_in(event)

    def heap(self, item_id: int) -> Heap:
        found = self.heaps.get(item_id)
        if found is None:
            found = self.heaps[item_id] = Heap()
        return found

    def _take_in(self, event: Event) -> list[Entry]:
        entries = []
        used: Decimal = NOTHING
        coming = []
        for change in event.changes:
            self.heap(change.item_id).carry(change.by_kind)
            if change.quantity > 0:
                coming.append(change)
            elif change.quantity < 0:
                entry = self._leave(event, change)
                used -= entry.value if change.across == "conversion" else NOTHING
                entries.append(entry)
        shares = self._shares(coming, used) if event.reverses is None else {}
        return [*entries, *(self._come(event, change, shares.get(change.item_id)) for change in coming)]

    def _shares(self, coming: Sequence[Change], used: Decimal) -> dict[int, Decimal]:
        """What was used up, shared among what was made of it; nothing where nothing was used up."""
        made = [change for change in coming if change.across == "conversion"]
        if not used or not made:
            return {}
        weights = [change.quantity * self.facts[change.item_id].mass_kg for change in made]
        if not all(weights):
            weights = [change.quantity for change in made]
        parts = shared(used, weights, KEPT_PLACES)
        return {change.item_id: part for change, part in zip(made, parts, strict=True)}

    def _come(self, event: Event, change: Change, share: Decimal | None) -> Entry:
        heap = self.heap(change.item_id)
        back = self._remembered.get((event.reverses or 0, change.item_id))
        if back:
            layers, basis = list(back), Basis.TAKEN_BACK
            value = _worth(layers)
        else:
            value, basis = self._worth_of(event, change, share)
            layers = [Layer(event.at, event.posting_id, change.quantity, value)]
        self._remember(event, change, layers)
        settled = self._settle(heap, layers)
        for layer in layers:
            if layer.quantity:
                heap.put(layer, self.facts[change.item_id].method)
        heap.latest_cost = kept(value / change.quantity)
        return self._entry(event, change, heap, value, basis, -settled)

    def _worth_of(self, event: Event, change: Change, share: Decimal | None) -> tuple[Decimal, Basis]:
        given = self.given.get((event.posting_id, change.item_id))
        charges = given.charges if given else NOTHING
        if given and given.unit_cost is not None:
            return kept(given.unit_cost * change.quantity + charges), given.basis
        if share is not None:
            return share + charges, Basis.INPUTS
        known = self.heap(change.item_id).unit_cost
        standard = self.facts[change.item_id].standard_cost
        # What a supplier brings without a price need not cost what the last one did: it has a standard.
        if not known or (change.across == "supplier" and standard):
            return kept(standard * change.quantity + charges), Basis.STANDARD
        return kept(known * change.quantity + charges), Basis.KNOWN

    def _settle(self, heap: Heap, layers: list[Layer]) -> Decimal:
        """What had left before it came is taken from what comes now. Returns what that is worth."""
        settled = NOTHING
        for index, layer in enumerate(layers):
            quantity = min(heap.owed, layer.quantity)
            if not quantity:
                break
            piece = layer if quantity == layer.quantity else layer.part(quantity)
            heap.owed -= quantity
            settled += piece.value
            layers[index] = layer.less(piece)
        return settled

    def _leave(self, event: Event, change: Change) -> Entry:
        heap, quantity = self.heap(change.item_id), -change.quantity
        cost = heap.unit_cost
        brought = self._remembered.get((event.reverses or 0, change.item_id))
        taken = self._taken(heap, event, change, brought)
        gone = _worth(taken)
        lacking = quantity - sum((layer.quantity for layer in taken), NOTHING)
        if taken:
            heap.latest_cost = kept(taken[-1].unit_cost)
        if lacking:
            heap.owed += lacking
            each = self.facts[change.item_id].standard_cost if cost is None else cost
            taken.append(Layer(event.at, event.posting_id, lacking, kept(lacking * each)))
        self._remember(event, change, taken)
        worth = _worth(taken) if brought is None else _worth(brought)
        basis = Basis.LEFT if brought is None else Basis.TAKEN_BACK
        return self._entry(event, change, heap, -worth, basis, worth - gone)

    def _taken(self, heap: Heap, event: Event, change: Change, brought: list[Layer] | None) -> list[Layer]:
        quantity = -change.quantity
        if brought is None:
            return heap.take(quantity)
        if self.facts[change.item_id].method == Method.FIFO:
            return heap.take_of(event.reverses or 0, quantity)
        return heap.take_worth(quantity, _worth(brought))

    def _remember(self, event: Event, change: Change, layers: Sequence[Layer]) -> None:
        if event.posting_id in self.taken_back:
            self._remembered[event.posting_id, change.item_id] = list(layers)

    def _entry(
        self, event: Event, change: Change, heap: Heap, value: Decimal, basis: Basis, difference: Decimal
    ) -> Entry:
        return Entry(
            event.posting_id,
            event.at,
            change.item_id,
            change.quantity,
            value,
            basis,
            difference,
            heap.quantity,
            heap.value,
            change.across,
        )


def kept(value: Decimal) -> Decimal:
    """A value in the places that are worked in, half to even."""
    return value.quantize(_KEPT, ROUND_HALF_EVEN)


def shared(amount: Decimal, weights: Sequence[Decimal], places: int) -> list[Decimal]:
    """An amount in parts as the weights, each in so many places; the parts add up to the amount exactly.

    Each part is rounded towards zero; the units left go one each to the parts that lost most, the first of
    equals first (the method of largest remainders). A negative amount, a credit, is shared the same way.

    Raises:
        ValueError: a weight is negative, or they add up to nothing, or the amount has more places.
    """
    whole = sum(weights, NOTHING)
    unit = Decimal(1).scaleb(-places)
    if whole <= 0 or min(weights) < 0 or amount != amount.quantize(unit):
        raise ValueError("Weights must be zero or more and not all zero, the amount within its places.")
    sign = -1 if amount < 0 else 1
    units = int(abs(amount).scaleb(places))
    parts = [int(units * weight // whole) for weight in weights]
    lost = [units * weight % whole for weight in weights]
    left = units - sum(parts)
    for index in sorted(range(len(parts)), key=lambda one: (-lost[one], one))[:left]:
        parts[index] += 1
    return [sign * part * unit for part in parts]


def by_place(value: Decimal, quantities: Mapping[str, Decimal], places: int) -> dict[str, Decimal]:
    """A heap's value shared among the kinds of place where it lies; the parts add up to the value exactly.

    The value has at most so many places, and so have the parts.
    """
    lying = {kind: quantity for kind, quantity in quantities.items() if quantity > 0}
    if not lying:
        return {}
    parts = shared(value, list(lying.values()), places)
    return dict(zip(lying, parts, strict=True))


def _age(layer: Layer) -> tuple[datetime, int]:
    return (layer.at, layer.posting_id)


def _worth(layers: Iterable[Layer]) -> Decimal:
    return sum((layer.value for layer in layers), NOTHING)
