"""What is still to be made, cut or bought for one trailer, with what is kept for it already taken off.

Plain arithmetic on (parent, component, quantity per parent), by item code, in stock units.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from bom.structure.expansion import low_level_codes

NOTHING = Decimal(0)
Triple = tuple[str, str, Decimal]


@dataclass(frozen=True)
class StillNeeded:
    """`wanted`: how many of an item the bill still calls for, what is kept counted in. `to_get`: how many of them
    are not there yet."""

    wanted: Mapping[str, Decimal]
    to_get: Mapping[str, Decimal]

    def surplus(self, kept: Mapping[str, Decimal]) -> dict[str, Decimal]:
        """What is kept and not wanted."""
        over = {code: quantity - self.wanted.get(code, NOTHING) for code, quantity in kept.items()}
        return {code: quantity for code, quantity in sorted(over.items()) if quantity > 0}


def still_needed(top: str, edges: Iterable[Triple], kept: Mapping[str, Decimal]) -> StillNeeded:
    """From the trailer downwards: what is there already asks for no parts below it.

    Raises:
        ProblemError: a bill that contains itself.
    """
    rows = list(edges)
    level = low_level_codes((parent, component) for parent, component, _ in rows)
    below: dict[str, list[tuple[str, Decimal]]] = defaultdict(list)
    for parent, component, per in rows:
        below[parent].append((component, per))
    wanted: dict[str, Decimal] = defaultdict(Decimal, {top: Decimal(1)})
    to_get: dict[str, Decimal] = {}
    for code in sorted(level, key=lambda one: (level[one], one)) or [top]:
        to_get[code] = max(NOTHING, wanted[code] - kept.get(code, NOTHING))
        for component, per in below[code]:
            wanted[component] += to_get[code] * per
    return StillNeeded(dict(wanted), to_get)


def lines_of(edges: Iterable[Triple]) -> dict[str, dict[str, Decimal]]:
    """By parent how many of each component it takes."""
    found: dict[str, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for parent, component, per in edges:
        found[parent][component] += per
    return {parent: dict(below) for parent, below in found.items()}
