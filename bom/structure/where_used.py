"""Where an item is used, upwards through every level. Plain data in, plain data out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from bom.kernel.errors import ProblemError
from bom.structure.conditions import Scope, compile_quantity, compile_text
from bom.structure.expansion import BillLine, Catalogue, low_level_codes


@dataclass(frozen=True)
class Usage:
    """A line that may bring `component` into `parent`.

    `quantity` of it in one parent, or None where that depends on what an order chooses (a condition, an expression
    with names, a colour). `line` is the line as written.
    """

    parent: str
    component: str
    quantity: Decimal | None
    line: BillLine


@dataclass(frozen=True)
class Above:
    """One place higher up: `quantity` of the item asked about in one of `item` by this way, None where it depends."""

    item: str
    usage: Usage
    quantity: Decimal | None
    above: tuple[Above, ...]


def usages_of(catalogue: Catalogue) -> list[Usage]:
    """Every line of every bill, once for each item that it may bring."""
    members: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for (family, colour, hand), code in catalogue.members.items():
        members[family].append((colour, hand, code))
    return [
        usage
        for parent, structure in catalogue.structures.items()
        for line in structure.lines
        for usage in _of_line(parent, line, members)
    ]


def where_used(usages: Iterable[Usage], item: str) -> tuple[Above, ...]:
    """Every way up from an item to what is in nothing. ProblemError where an item contains itself."""
    known = list(usages)
    low_level_codes((one.parent, one.component) for one in known)
    above: dict[str, list[Usage]] = defaultdict(list)
    for one in known:
        above[one.component].append(one)

    def climb(code: str, quantity: Decimal | None) -> tuple[Above, ...]:
        found = []
        for one in sorted(above.get(code, ()), key=lambda usage: (usage.parent, usage.line.position)):
            number = None if quantity is None or one.quantity is None else quantity * one.quantity
            found.append(Above(one.parent, one, number, climb(one.parent, number)))
        return tuple(found)

    return climb(item, Decimal(1))


def totals_above(usages: Iterable[Usage], item: str) -> dict[str, Decimal | None]:
    """For everything that contains the item at any depth, how many are in one of it; None where it depends on the
    order. Each item once, whatever the number of ways. ProblemError where an item contains itself."""
    known = list(usages)
    level = low_level_codes((one.parent, one.component) for one in known)
    below: dict[str, list[Usage]] = defaultdict(list)
    for one in known:
        below[one.parent].append(one)
    found: dict[str, Decimal | None] = {item: Decimal(1)}
    for parent in sorted(below, key=lambda code: -level[code]):
        reaching = [one for one in below[parent] if one.component in found]
        if reaching and parent != item:
            found[parent] = _sum(reaching, found)
    found.pop(item)
    return found


def _sum(usages: Iterable[Usage], found: Mapping[str, Decimal | None]) -> Decimal | None:
    total = Decimal(0)
    for one in usages:
        inside = found[one.component]
        if one.quantity is None or inside is None:
            return None
        total += one.quantity * inside
    return total


def _of_line(
    parent: str, line: BillLine, members: Mapping[str, list[tuple[str, str, str]]]
) -> Iterable[Usage]:
    quantity = _plain_quantity(line)
    if line.component is not None:
        yield Usage(parent, line.component, quantity, line)
        return
    colour, hand = _plain_text(line.colour), _plain_text(line.hand)
    for its_colour, its_hand, code in members.get(line.family or "", ()):
        if colour in (None, its_colour) and hand in (None, its_hand):
            yield Usage(parent, code, None if None in (colour, hand) else quantity, line)


def _plain_quantity(line: BillLine) -> Decimal | None:
    """The quantity where it is the same for every order."""
    if line.condition.strip():
        return None
    try:
        compiled = compile_quantity(line.quantity)
        return None if compiled.references else compiled.value(Scope())
    except ProblemError:
        return None


def _plain_text(text: str) -> str | None:
    """The colour or hand where it is the same for every order."""
    try:
        compiled = compile_text(text)
        return None if compiled.references else compiled.value(Scope())
    except ProblemError:
        return None
