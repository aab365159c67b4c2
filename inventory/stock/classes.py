"""Classes of items by the value used: few things carry most of the money, and deserve the most care.

Pure arithmetic on plain figures. The method is the usual one of an ABC analysis (checked against a published example
in tests/outside): items are ranked by value used, and a class takes them as long as the running share of the whole
does not pass its cut. The first item is always of the first class, however large its share; what was not used at all
is of the last.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import TypeVar

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True)
class Cut:
    """A class and the share of the whole value, in percent, up to which it takes items."""

    code: str
    share_to: Decimal


def classify(values: Mapping[Key, Decimal], cuts: Sequence[Cut]) -> dict[Key, str]:
    """The class of each item by its yearly value used (money). Ties keep the order given.

    Raises:
        ValueError: there is no class, or the cuts do not rise.
    """
    if not cuts or any(one.share_to >= other.share_to for one, other in pairwise(cuts)):
        raise ValueError("classes need cuts that rise")
    whole = sum((value for value in values.values() if value > 0), Decimal(0))
    found: dict[Key, str] = {}
    running = Decimal(0)
    for key, value in sorted(values.items(), key=lambda pair: -pair[1]):
        if value <= 0:
            found[key] = cuts[-1].code
            continue
        running += value
        found[key] = cuts[0].code if running == value else _class_at(running * 100 / whole, cuts)
    return found


def _class_at(share: Decimal, cuts: Sequence[Cut]) -> str:
    return next((cut.code for cut in cuts if share <= cut.share_to), cuts[-1].code)
