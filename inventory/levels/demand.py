"""What the past of an item's use says: one-offs, regularity, value classes. Pure; quantities in the stock unit.

A history is the use of each whole week, weeks without use counted as nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import fmean, median, pvariance

FEWEST_WEEKS_WITH_USE = 8
"""Fewer weeks with use than this do not show what is usual: nothing is set aside. House rule, no source."""

FENCE = 3
"""Quartile distances above the upper quartile beyond which a week lies "far out" (Tukey, Exploratory Data
Analysis, 1977, outer fence; from memory)."""

TIMES_THE_MEDIAN = 3
"""A one-off is also more than so many times the usual week, so that steady small counts are not cut. House rule."""

LONGEST_EMPTY_WEEKS = 13
EMPTY = "the shelf was empty all week"

INTERVAL_CUT = 1.32
SPREAD_CUT = 0.49
"""Cut-offs of mean interval between demands and squared coefficient of variation of their sizes: Syntetos, Boylan
and Croston, On the categorization of demand patterns, Journal of the Operational Research Society 56 (2005); the
figures from memory."""

SMOOTH, INTERMITTENT, ERRATIC, LUMPY, UNUSED = "smooth", "intermittent", "erratic", "lumpy", "unused"


@dataclass(frozen=True)
class OneOff:
    """A week whose use is not usual: what was used, what is put in its place, and why."""

    week: date
    quantity: Decimal
    instead: Decimal
    reason: str


@dataclass(frozen=True)
class Regularity:
    """How regular use is: weeks from one demand to the next, squared variation of the sizes, and the class."""

    interval: float
    spread: float
    name: str


def one_offs(history: Mapping[date, Decimal]) -> list[OneOff]:
    """The weeks to set aside: far above the usual, or with more returned than used.

    A week is far above the usual where at least eight weeks had use and its use lies above both the upper quartile
    of the weeks with use plus three quartile distances and three times their median. The median is put in its
    place. A week in which more came back than went out counts as nothing.
    """
    found = [
        OneOff(week, used, Decimal(0), "more came back than went out")
        for week, used in history.items()
        if used < 0
    ]
    sizes = sorted(used for used in history.values() if used > 0)
    if len(sizes) < FEWEST_WEEKS_WITH_USE:
        return found
    usual = median(sizes)
    low, high = _quartile(sizes, 1), _quartile(sizes, 3)
    limit = max(high + FENCE * (high - low), TIMES_THE_MEDIAN * usual)
    reason = f"above {limit.normalize():f}, usual is {usual.normalize():f} in a week with use"
    found += [OneOff(week, used, usual, reason) for week, used in history.items() if used > limit]
    return sorted(found, key=lambda one: one.week)


def shelf_was_empty(history: Mapping[date, Decimal], empty: Collection[date]) -> list[OneOff]:
    """The weeks in which nothing was used because nothing was there: use says nothing of what was wanted.

    `empty` are the weeks whose shelf held nothing from first to last. The mean of the other weeks is put in their
    place. More than thirteen such weeks in a row are left as they are: the item is then taken as no longer used.
    House rule, no source.
    """
    others = [used for week, used in history.items() if week not in empty]
    if not others:
        return []
    usual = (sum(others, Decimal(0)) / len(others)).quantize(Decimal("0.0001"))
    found: list[OneOff] = []
    stretch: list[OneOff] = []
    for week, used in history.items():
        if week in empty and not used:
            stretch.append(OneOff(week, used, usual, EMPTY))
            continue
        found += stretch if len(stretch) <= LONGEST_EMPTY_WEEKS else []
        stretch = []
    return found + (stretch if len(stretch) <= LONGEST_EMPTY_WEEKS else [])


def cleaned(
    history: Mapping[date, Decimal], aside: Sequence[OneOff], put_back: frozenset[date] = frozenset()
) -> dict[date, Decimal]:
    """The history with one-offs replaced, but for the weeks that a person put back (those never below nothing)."""
    instead = {one.week: one.instead for one in aside if one.week not in put_back}
    return {week: max(Decimal(0), instead.get(week, used)) for week, used in history.items()}


def regularity(history: Sequence[float]) -> Regularity:
    """Smooth, intermittent, erratic or lumpy; unused where nothing was used.

    The interval is weeks over weeks with use; the spread is the population variance of the sizes over their squared
    mean. A figure on a cut-off counts as above it.
    """
    sizes = [float(used) for used in history if used > 0]
    if not sizes:
        return Regularity(0.0, 0.0, UNUSED)
    interval = len(history) / len(sizes)
    spread = pvariance(sizes) / fmean(sizes) ** 2
    names = {
        (False, False): SMOOTH,
        (True, False): INTERMITTENT,
        (False, True): ERRATIC,
        (True, True): LUMPY,
    }
    return Regularity(interval, spread, names[interval >= INTERVAL_CUT, spread >= SPREAD_CUT])


@dataclass(frozen=True)
class ValueClass:
    """An item's place in the list by yearly value: rank from 1, cumulative share 0 to 1, class A, B or C."""

    rank: int
    share: Decimal
    name: str


def value_classes(
    values: Mapping[int, Decimal], *, a_share: Decimal = Decimal("0.80"), b_share: Decimal = Decimal("0.95")
) -> dict[int, ValueClass]:
    """ABC classes by yearly value, dearest first; equal values in order of their keys.

    An item is A while the cumulative share with it is at most `a_share`, B while at most `b_share`; the item that
    crosses a cut belongs to the class below it. The dearest is always A, what has no value is C. The cuts of 80 and
    95 % are common practice; worked example in tests/outside/test_demand.py.

    Raises:
        ValueError: the shares are not in order between 0 and 1.
    """
    if not 0 < a_share <= b_share <= 1:
        raise ValueError(f"The cuts {a_share} and {b_share} must rise between 0 and 1.")
    total = sum((value for value in values.values() if value > 0), Decimal(0))
    running = Decimal(0)
    found = {}
    for rank, (key, value) in enumerate(sorted(values.items(), key=lambda pair: (-pair[1], pair[0])), 1):
        running += max(Decimal(0), value)
        share = running / total if total else Decimal(1)
        name = "C"
        if value > 0:
            name = "A" if share <= a_share or rank == 1 else "B" if share <= b_share else "C"
        found[key] = ValueClass(rank, share, name)
    return found


def _quartile(sizes: Sequence[Decimal], which: int) -> Decimal:
    """The quartile by straight interpolation between the sorted sizes (definition 7 of Hyndman and Fan, 1996)."""
    place = Decimal(which * (len(sizes) - 1)) / 4
    low = int(place)
    high = min(low + 1, len(sizes) - 1)
    return sizes[low] + (sizes[high] - sizes[low]) * (place - low)
