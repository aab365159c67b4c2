"""How long changes of colour take: batches of one colour together, and the order of colours that costs least.

Plain data only. Light to dark is a shorter clean-out than dark to light, because a trace of dark powder shows in a
light one (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

# The exact search looks at every set of colours; beyond this many it would be felt, and light to dark is taken.
MOST_EXACT = 10


@dataclass(frozen=True)
class Shade:
    """A colour: its name, and how light it is (0 dark to 100 light)."""

    name: str
    lightness: int


@dataclass(frozen=True)
class Changing:
    """Minutes to change to a darker and to a lighter colour."""

    to_darker: int
    to_lighter: int

    def minutes(self, before: Shade | None, after: Shade) -> int:
        """From one colour to the next; none for the same colour or a clean booth."""
        if before is None or before == after:
            return 0
        return self.to_darker if after.lightness <= before.lightness else self.to_lighter


def total_minutes(order: Sequence[Shade], changing: Changing, start: Shade | None = None) -> int:
    """All changes of a sequence, beginning with `start` in the booth."""
    minutes, before = 0, start
    for shade in order:
        minutes += changing.minutes(before, shade)
        before = shade
    return minutes


def best_order(
    shades: Sequence[Shade], changing: Changing, start: Shade | None = None
) -> tuple[list[Shade], int]:
    """Each colour once, in the order whose changes take least, and its minutes. Ties go to the lighter colour."""
    wanted = sorted(set(shades), key=lambda one: (-one.lightness, one.name))
    if len(wanted) > MOST_EXACT:
        return wanted, total_minutes(wanted, changing, start)

    @cache
    def least(left: frozenset[int], before: Shade | None) -> tuple[int, tuple[int, ...]]:
        if not left:
            return 0, ()
        found = []
        for index in sorted(left):
            minutes, rest = least(left - {index}, wanted[index])
            found.append((minutes + changing.minutes(before, wanted[index]), (index, *rest)))
        return min(found)

    minutes, indices = least(frozenset(range(len(wanted))), start)
    return [wanted[index] for index in indices], minutes
