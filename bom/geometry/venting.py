"""Vent and drain holes of hollow members before hot-dip galvanising: two published guides. Lengths in mm. No Django.

The guides differ, so every verdict names the rule that gave it and where the rule comes from. A verdict is help for
the person who looks into the part, never leave to skip looking: a sealed cavity can burst in the zinc bath.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

MET, NOT_MET, PERSON = "met", "not_met", "person"
WORDS = {MET: "met", NOT_MET: "not met", PERSON: "needs a person"}
# The worst decides for an assembly.
ORDER = (NOT_MET, PERSON, MET)
LEAST_HOLE_MM = 10.0
TABLE_LONGEST_MM = 2800.0


@dataclass(frozen=True)
class Hole:
    """So many holes of one diameter at one end (1 or 2) of a member."""

    end: int
    diameter_mm: float
    count: int = 1


@dataclass(frozen=True)
class HollowMember:
    """A hollow member: outside height and breadth (0 for a round one), wall, length, and its holes."""

    height_mm: float
    breadth_mm: float
    wall_mm: float
    length_mm: float
    holes: tuple[Hole, ...] = ()
    ends_stay_open: bool = False

    @property
    def diagonal_mm(self) -> float:
        """Diagonal of the section; the diameter of a round one."""
        return math.hypot(self.height_mm, self.breadth_mm)

    def at_end(self, end: int) -> tuple[float, ...]:
        """Diameters of the holes at one end, the largest first."""
        found = [hole.diameter_mm for hole in self.holes if hole.end == end for _ in range(hole.count)]
        return tuple(sorted(found, reverse=True))


@dataclass(frozen=True)
class Verdict:
    """What a rule says of one member: the outcome, what it asks for, and why."""

    outcome: str
    rule: str
    asked: str
    why: str

    @property
    def words(self) -> str:
        return WORDS[self.outcome]


@dataclass(frozen=True)
class VentRule:
    """A published guide."""

    code: str
    name: str
    source: str
    source_url: str
    judge: Callable[[HollowMember], Verdict]


# Rows of the table: the sections it names (height, breadth), then the diameter for 1, 2 and 4 holes at each end.
TABLE: tuple[tuple[tuple[tuple[int, int], ...], tuple[float | None, float | None, float | None]], ...] = (
    (((40, 40), (50, 30)), (14, 12, None)),
    (((50, 50), (60, 40)), (16, 12, 10)),
    (((60, 60), (80, 40)), (20, 12, 10)),
    (((80, 80), (100, 60)), (25, 16, 12)),
    (((100, 100), (120, 80)), (30, 25, 14)),
)


def judge(member: HollowMember, rule: str) -> Verdict:
    """The verdict on one member under the rule of that code."""
    if member.ends_stay_open:
        return Verdict(MET, rule, "nothing where both ends stay open", "Both ends stay open")
    return RULES[rule].judge(member)


def worst(outcomes: Sequence[str]) -> str:
    """The outcome of an assembly: that of its worst member; without any, a person must look."""
    return min(outcomes, key=ORDER.index, default=PERSON)


def quarter_diagonal_mm(member: HollowMember) -> float:
    """Least diameter by the quarter rule: a quarter of the diagonal, not below 10 mm nor below the wall."""
    return max(member.diagonal_mm / 4, LEAST_HOLE_MM, member.wall_mm)


def _by_quarter(member: HollowMember) -> Verdict:
    needed = quarter_diagonal_mm(member)
    asked = (
        f"One hole of {needed:.1f} mm or more at each end "
        f"(a quarter of the diagonal of {member.diagonal_mm:.1f} mm, at least {LEAST_HOLE_MM:g} mm)"
    )
    ends = [member.at_end(end) for end in (1, 2)]
    if any(not holes for holes in ends):
        return Verdict(NOT_MET, QUARTER, asked, _missing(ends))
    # What a table prints as 21.2 mm is drilled with 21.2 mm: a twentieth less is the same hole.
    if all(holes[0] >= needed - 0.05 for holes in ends):
        return Verdict(MET, QUARTER, asked, f"Largest at either end: {ends[0][0]:g} and {ends[1][0]:g} mm")
    if all(sum(one**2 for one in holes) >= needed**2 for holes in ends):
        why = "Several smaller holes have the same area together; the guide does not speak of them"
        return Verdict(PERSON, QUARTER, asked, why)
    return Verdict(NOT_MET, QUARTER, asked, f"Largest at either end: {ends[0][0]:g} and {ends[1][0]:g} mm")


def _by_table(member: HollowMember) -> Verdict:
    row = _row(member)
    if row is None:
        why = f"The table has no row for {member.height_mm:g}×{member.breadth_mm:g}"
        return Verdict(PERSON, BY_TABLE, "Sections from 40×40 to 120×80 only", why)
    asked = " or ".join(
        f"{count} × {diameter:g} mm" for count, diameter in zip((1, 2, 4), row, strict=True) if diameter
    )
    asked = f"At each end {asked} (members up to {TABLE_LONGEST_MM:g} mm)"
    ends = [member.at_end(end) for end in (1, 2)]
    if any(not holes for holes in ends):
        return Verdict(NOT_MET, BY_TABLE, asked, _missing(ends))
    if not all(_row_met(row, holes) for holes in ends):
        why = "; ".join(f"end {at}: {_listed(holes)}" for at, holes in enumerate(ends, start=1))
        return Verdict(NOT_MET, BY_TABLE, asked, why)
    if member.length_mm > TABLE_LONGEST_MM:
        why = f"{member.length_mm:g} mm is longer than the table goes"
        return Verdict(PERSON, BY_TABLE, asked, why)
    return Verdict(MET, BY_TABLE, asked, f"End 1: {_listed(ends[0])}; end 2: {_listed(ends[1])}")


def _row(member: HollowMember) -> tuple[float | None, float | None, float | None] | None:
    size = tuple(sorted((member.height_mm, member.breadth_mm), reverse=True))
    return next((row for sizes, row in TABLE if size in sizes), None)


def _row_met(row: Sequence[float | None], holes: Sequence[float]) -> bool:
    return any(
        diameter is not None and len(holes) >= count and holes[count - 1] >= diameter
        for count, diameter in zip((1, 2, 4), row, strict=True)
    )


def _missing(ends: Sequence[Sequence[float]]) -> str:
    without = [str(at) for at, holes in enumerate(ends, start=1) if not holes]
    return (
        "No hole is recorded at either end"
        if len(without) == 2
        else f"No hole is recorded at end {without[0]}"
    )


def _listed(holes: Sequence[float]) -> str:
    return ", ".join(f"{one:g}" for one in holes) + " mm"


QUARTER, BY_TABLE = "quarter_diagonal", "table_of_holes"
RULES: dict[str, VentRule] = {
    QUARTER: VentRule(
        QUARTER,
        "a quarter of the diagonal",
        "Design guide of an association of galvanisers, structural sections",
        "https://designmanual.gaa.com.au/index.php/design/structural-sections/",
        _by_quarter,
    ),
    BY_TABLE: VentRule(
        BY_TABLE,
        "table of holes by section",
        "Guide of a galvanising works, size of holes for sections up to 2.8 m",
        "https://mostostal.siedlce.pl/en/anti-corrosion-protection/for-customer/technical-data/size-of-holes",
        _by_table,
    ),
}
