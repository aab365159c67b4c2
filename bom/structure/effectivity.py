"""Which revision of an item holds for a trailer: from a day on, or from a trailer's number on. Plain data only.

The revisions of an item follow one another by their letters. One with a number holds for trailers of that number and
above, one without for every trailer; both only from their day on. Of those that hold, the last in line counts.
A trailer's number is its order's number; orders are numbered one after the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from bom.kernel.errors import Problem

MOST_NUMBER = 999_999_999
"""Order numbers have at most nine digits."""


@dataclass(frozen=True)
class Start:
    """From when a revision holds. `number`: the first trailer that it holds for; none means by the day alone."""

    day: date
    number: int | None = None

    def holds(self, day: date, trailer: int | None) -> bool:
        """Whether it has begun for this trailer on this day. A trailer without a number meets no start by number."""
        if self.day > day:
            return False
        return self.number is None or (trailer is not None and self.number <= trailer)

    def __str__(self) -> str:
        return f"from {self.day:%d %b %Y} on" if self.number is None else f"from trailer {self.number} on"


@dataclass(frozen=True)
class Issue:
    """A released revision as far as its effectivity goes; `pk` is its row."""

    pk: int
    letter: str
    start: Start

    @property
    def place(self) -> tuple[date, int, str]:
        """Where it stands in line: by day, on one day by letter (Z before AA)."""
        return (self.start.day, len(self.letter), self.letter)


def in_force(issues: Iterable[Issue], day: date, trailer: int | None) -> Issue | None:
    """The issue that a trailer is made by on a day; none where nothing has begun for it."""
    begun = (one for one in issues if one.start.holds(day, trailer))
    return max(begun, key=lambda one: one.place, default=None)


def may_hold(issues: Iterable[Issue], day: date) -> list[Issue]:
    """Every issue that some trailer is made by on this day, in line: the last that begun by the day alone, and those
    after it that begin with a number."""
    line = sorted((one for one in issues if one.start.day <= day), key=lambda one: one.place)
    by_day = [at for at, one in enumerate(line) if one.start.number is None]
    return line[by_day[-1] :] if by_day else line


def start_problems(
    start: Start, earlier: Sequence[Issue], *, where: str, next_number: int | None = None
) -> list[Problem]:
    """What stands against releasing a revision with this start after those that are released already.

    `next_number` is the lowest trailer number not given to an order yet; None where nobody counts.

    Overlap: it would take trailers from a revision that has not begun for them yet, so that two claim the same.
    Gap: trailers below its number would have no bill at all.
    """
    line = sorted(earlier, key=lambda one: one.place)
    problems = _before_a_later_day(start, line, where)
    if start.number is None:
        return problems + _over_a_number(line, where, next_number)
    if not 1 <= start.number <= MOST_NUMBER:
        return [Problem(f"{start.number} is not a trailer number", where, f"Write 1 to {MOST_NUMBER}.")]
    return problems + _overlap(start.number, line, where) + _gap(start, line, where)


def _before_a_later_day(start: Start, line: Sequence[Issue], where: str) -> list[Problem]:
    later = next((one for one in line if one.start.day > start.day), None)
    if later is None:
        return []
    mend = (
        f"Let this revision begin on that day or after it, or take its changes into revision {later.letter}."
    )
    if start.number is not None:
        mend = f"Release this one when that day has come, or take its changes into revision {later.letter}."
    return [
        Problem(
            f"Revision {later.letter} is released from {later.start.day:%d %b %Y} on, later than this one",
            where,
            mend,
        )
    ]


def _over_a_number(line: Sequence[Issue], where: str, next_number: int | None) -> list[Problem]:
    """A day would overtake a revision whose first trailer is not ordered yet."""
    waiting = _still_to_come(line, next_number)
    if waiting is None:
        return []
    return [
        Problem(
            f"Overlap: revision {waiting.letter} begins with trailer {waiting.start.number}, which is not ordered "
            "yet; from its day on this one would take that trailer and all others from it",
            where,
            f"Let this revision begin by number too, after {waiting.start.number}, or wait until that trailer "
            "is ordered.",
        )
    ]


def _still_to_come(line: Sequence[Issue], next_number: int | None) -> Issue | None:
    """The last in line, where it is by number and the count has not reached it."""
    last = line[-1] if line else None
    if last is None or last.start.number is None or next_number is None:
        return None
    return last if last.start.number >= next_number else None


def _overlap(number: int, line: Sequence[Issue], where: str) -> list[Problem]:
    numbered = [one for one in line if one.start.number is not None and one.start.number >= number]
    if not numbered:
        return []
    last = max(numbered, key=lambda one: one.start.number or 0)
    return [
        Problem(
            f"Overlap: revision {last.letter} holds from trailer {last.start.number} on, and this one would "
            f"hold for the same trailers from {number} on",
            where,
            f"Let this revision begin with trailer {(last.start.number or 0) + 1} or a later one.",
        )
    ]


def _gap(start: Start, line: Sequence[Issue], where: str) -> list[Problem]:
    if any(one.start.number is None and one.start.day <= start.day for one in line):
        return []
    return [
        Problem(
            f"Gap: no released revision holds for trailers below {start.number}, so they would have no bill",
            where,
            "Release the first revision by its day; a later one may then begin with a trailer number.",
        )
    ]
