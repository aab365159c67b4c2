"""How long a laser takes for a nested sheet: cutting, piercing, travelling."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from production.cutting.nesting.job import NestResult, PartShape, Placement, Point, Ring


@dataclass(frozen=True)
class FeedRow:
    """What the laser does at one thickness: cutting feed, seconds for one pierce."""

    thickness_mm: float
    feed_mm_per_min: float
    pierce_seconds: float


@dataclass(frozen=True)
class CutTime:
    """Minutes for one sheet, and what they are made of."""

    sheet: int
    cut_length_mm: float
    pierces: int
    travel_mm: float
    cut_minutes: float
    pierce_minutes: float
    travel_minutes: float

    @property
    def minutes(self) -> float:
        return self.cut_minutes + self.pierce_minutes + self.travel_minutes


@dataclass(frozen=True)
class Speed:
    """What the laser does with one metal, and what a sheet takes beside cutting (loading, unloading, knocking out).

    `source` says in words where the figures come from.
    """

    feed_mm_per_min: float
    pierce_seconds: float
    travel_mm_per_min: float
    sheet_minutes: float
    source: str


# Mild steel. Feeds at 3 and 6 mm: middle of the ranges of a published chart for a 3 kW laser,
# https://www.machinemfg.com/laser-cutting-thickness-speed-chart/ (3.3-5.0 and 2.3-3.2 m/min). All other
# figures, pierce times and travel feed: common practice, no source. A workshop replaces them with its own.
USUAL_FEEDS = (
    FeedRow(1.0, 9000.0, 0.1),
    FeedRow(2.0, 6000.0, 0.2),
    FeedRow(3.0, 4000.0, 0.3),
    FeedRow(4.0, 3500.0, 0.5),
    FeedRow(5.0, 3100.0, 0.7),
    FeedRow(6.0, 2700.0, 0.9),
    FeedRow(8.0, 2000.0, 1.3),
    FeedRow(10.0, 1400.0, 2.0),
    FeedRow(12.0, 1000.0, 3.0),
    FeedRow(15.0, 800.0, 5.0),
    FeedRow(20.0, 500.0, 8.0),
)
USUAL_TRAVEL_MM_PER_MIN = 60_000.0
USUAL_SHEET_MINUTES = 4.0  # loading, unloading and knocking out one sheet: common practice, no source
CHARTED_MM = (3.0, 6.0)
PRACTICE = "common practice, no source"
CHARTED = "middle of the range of a published chart for a 3 kW laser"


def feed_for(thickness_mm: float, feeds: Sequence[FeedRow] = USUAL_FEEDS) -> FeedRow:
    """The row for a thickness, between two rows by proportion; beyond the ends the end row holds.

    Raises ValueError when the table is empty or the thickness is not above zero.
    """
    if not feeds or not thickness_mm > 0:
        raise ValueError(f"no feed for a thickness of {thickness_mm} mm in a table of {len(feeds)} rows")
    rows = sorted(feeds, key=lambda row: row.thickness_mm)
    above = next((row for row in rows if row.thickness_mm >= thickness_mm), rows[-1])
    below = next((row for row in reversed(rows) if row.thickness_mm <= thickness_mm), rows[0])
    span = above.thickness_mm - below.thickness_mm
    share = (thickness_mm - below.thickness_mm) / span if span > 0 else 0.0
    return FeedRow(
        thickness_mm,
        below.feed_mm_per_min + share * (above.feed_mm_per_min - below.feed_mm_per_min),
        below.pierce_seconds + share * (above.pierce_seconds - below.pierce_seconds),
    )


def usual_source(thickness_mm: float) -> str:
    """Where the shipped figure of a thickness comes from, in words."""
    return f"feed: {CHARTED}; pierce: {PRACTICE}" if thickness_mm in CHARTED_MM else PRACTICE


def usual_speed(thickness_mm: float) -> Speed:
    """The shipped figures for a thickness. Raises ValueError when it is not above zero."""
    row = feed_for(thickness_mm)
    return Speed(
        row.feed_mm_per_min,
        row.pierce_seconds,
        USUAL_TRAVEL_MM_PER_MIN,
        USUAL_SHEET_MINUTES,
        usual_source(thickness_mm),
    )


def cut_times(
    parts: Sequence[PartShape],
    result: NestResult,
    thickness_mm: float,
    feeds: Sequence[FeedRow] = USUAL_FEEDS,
    travel_mm_per_min: float = USUAL_TRAVEL_MM_PER_MIN,
) -> tuple[CutTime, ...]:
    """Minutes for every sheet of a nest, in order.

    Cut length is the length of all outlines and holes, each with one pierce; the head travels from the
    sheet's corner to the nearest part not yet cut, again and again, and inside a part from hole to hole. The
    outlines' lead-ins and the kerf are not counted. Feed and pierce time come from the thickness.
    """
    row = feed_for(thickness_mm, feeds)
    known = {part.code: part for part in parts}
    times = []
    for sheet in result.sheets:
        placements = [placement for placement in result.placements if placement.sheet == sheet.number]
        times.append(_sheet_time(sheet.number, placements, known, row, travel_mm_per_min))
    return tuple(times)


def part_minutes(part: PartShape, thickness_mm: float, feeds: Sequence[FeedRow] = USUAL_FEEDS) -> float:
    """Minutes to cut one copy of a part, without travel between parts."""
    row = feed_for(thickness_mm, feeds)
    rings = (part.outer, *part.holes)
    length = sum(ring_length_mm(ring) for ring in rings)
    return length / row.feed_mm_per_min + len(rings) * row.pierce_seconds / 60.0


def ring_length_mm(ring: Ring) -> float:
    """Length of a closed outline; the last point need not repeat the first."""
    return sum(math.dist(ring[index - 1], point) for index, point in enumerate(ring))


def _sheet_time(
    number: int,
    placements: Sequence[Placement],
    known: Mapping[str, PartShape],
    row: FeedRow,
    travel_mm_per_min: float,
) -> CutTime:
    rings = [ring for placement in placements for ring in _rings(known[placement.part])]
    length = sum(ring_length_mm(ring) for ring in rings)
    starts = [
        [_moved(ring[0], placement) for ring in _rings(known[placement.part])] for placement in placements
    ]
    travel = _tour_mm([points[0] for points in starts])
    travel += sum(math.dist(one, other) for points in starts for one, other in itertools.pairwise(points))
    return CutTime(
        sheet=number,
        cut_length_mm=length,
        pierces=len(rings),
        travel_mm=travel,
        cut_minutes=length / row.feed_mm_per_min,
        pierce_minutes=len(rings) * row.pierce_seconds / 60.0,
        travel_minutes=travel / travel_mm_per_min,
    )


def _rings(part: PartShape) -> tuple[Ring, ...]:
    """Holes first, as they are cut: the part may shift once its outline is through."""
    return (*part.holes, part.outer)


def _moved(point: Point, placement: Placement) -> Point:
    x, y = (-point[0] if placement.mirrored else point[0]), point[1]
    angle = math.radians(placement.rotation_deg)
    return (
        x * math.cos(angle) - y * math.sin(angle) + placement.x_mm,
        x * math.sin(angle) + y * math.cos(angle) + placement.y_mm,
    )


def _tour_mm(points: Sequence[Point]) -> float:
    """From the sheet's corner always to the nearest point not yet visited."""
    here = (0.0, 0.0)
    left = list(points)
    total = 0.0
    while left:
        nearest = min(left, key=lambda point: math.dist(here, point))
        total += math.dist(here, nearest)
        left.remove(nearest)
        here = nearest
    return total
