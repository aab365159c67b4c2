"""What goes to the saw and what comes back: plain data, millimetres."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Piece:
    """A length to saw and how many. Lengths count in tenths of a millimetre, rounded up.

    `mitres_deg` are the angles of its two ends off square (0: square); `length_mm` is then over the longest edge. A
    mitred end takes a slanting cut of its own, kerf / cos(angle) long; that neighbours may share one is not counted on.
    """

    code: str
    length_mm: float
    quantity: int
    mitres_deg: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class BarStock:
    """A length of bar, or an offcut, to saw from.

    `count` None means as many as needed. `price` is for one bar, in any one currency, and counts in hundredths;
    0 (an offcut already paid for) is used first.
    """

    code: str
    length_mm: float
    count: int | None
    price: float


@dataclass(frozen=True)
class Cut:
    """So many pieces of one kind on one bar."""

    piece: str
    length_mm: float
    number: int


@dataclass(frozen=True)
class CutPattern:
    """`count` bars of one stock, all sawn alike.

    `rest_mm` is what remains of each bar after trim, pieces and saw cuts; `keep` tells that it is at least
    as long as the shortest offcut worth keeping.
    """

    bar: str
    bar_mm: float
    count: int
    cuts: tuple[Cut, ...]
    rest_mm: float
    keep: bool


@dataclass(frozen=True)
class NotCut:
    """Pieces left over, and why, in a sentence."""

    code: str
    quantity: int
    reason: str


@dataclass(frozen=True)
class BarProgress:
    """Where the search stands: the cost of the best plan so far and the bound no plan can beat."""

    seconds: float
    cost: float
    bound: float
    step: str


@dataclass(frozen=True)
class BarPlan:
    """What to saw from which bar.

    `cost` is the price of all bars used (their length in mm when no bar has a price), `bound` a cost that no
    plan can beat, `proven` that both are equal. `bars` counts the bars used; `first_fit_bars` and `first_fit_cost`
    are what sawing the longest piece first into the first bar it fits (first-fit decreasing) would use.
    """

    patterns: tuple[CutPattern, ...]
    not_cut: tuple[NotCut, ...]
    cost: float
    bound: float
    proven: bool
    bars: int
    first_fit_bars: int
    seconds: float
    first_fit_cost: float = 0.0
    stopped: bool = False

    @property
    def waste(self) -> float:
        """Share of the bar length used that ends neither in a piece nor in an offcut worth keeping."""
        used = sum(pattern.bar_mm * pattern.count for pattern in self.patterns)
        if not used:
            return 0.0
        good = sum(
            pattern.count
            * (
                sum(cut.length_mm * cut.number for cut in pattern.cuts)
                + (pattern.rest_mm if pattern.keep else 0.0)
            )
            for pattern in self.patterns
        )
        return 1.0 - good / used
