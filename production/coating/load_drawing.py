"""A load drawn to scale: its parts lying in the bath, and its mass against the lorry. Plain data only.

Short parts lie one behind the other where the bath's length allows; the longest are laid first, each in the first row
that has room (first fit, longest first). It is a picture of lengths, not a plan of how the galvaniser hangs them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

WIDTH = 1000
ROW = 40
BAR = 30
TOP = 60
# More rows than this are drawn thinner, so that a full lorry stays one picture.
FEW_ROWS = 12


class Readiness(StrEnum):
    """How far a part is, for its line in the drawing."""

    READY = "ready"
    IN_TIME = "in time"
    LATE = "late"


@dataclass(frozen=True)
class Piece:
    """One part: its label, length in mm, mass in kg, and whether it will be there when the lorry leaves."""

    label: str
    length_mm: int
    mass_kg: float
    readiness: Readiness


@dataclass(frozen=True)
class Bar:
    """A part in the drawing, in the drawing's own units."""

    label: str
    x: float
    y: float
    width: float
    height: float
    readiness: Readiness
    is_too_long: bool
    has_room: bool


@dataclass(frozen=True)
class Share:
    """A stretch of the mass bar: per cent of what the lorry takes."""

    start: float
    width: float
    readiness: Readiness


@dataclass(frozen=True)
class LoadDrawing:
    """The bath with its parts, and the mass bar."""

    bars: tuple[Bar, ...]
    bath_width: float
    height: float
    bath_length_mm: int
    shares: tuple[Share, ...]
    minimum_percent: float
    mass_percent: float

    @property
    def bath_height(self) -> float:
        return self.height - TOP


def draw(pieces: Sequence[Piece], *, bath_length_mm: int, max_kg: float, minimum_kg: float) -> LoadDrawing:
    """The drawing of a load. Parts longer than the bath stick out of it; the scale makes room for them. Parts without
    a length are in the mass only.
    """
    long = [piece for piece in pieces if piece.length_mm > 0]
    longest = max([bath_length_mm, *(piece.length_mm for piece in long)])
    scale = WIDTH / longest if longest else 1
    rows: list[int] = []
    laid: list[tuple[Piece, int, int]] = []
    for piece in sorted(long, key=lambda one: (-one.length_mm, one.label)):
        row = next(
            (at for at, used in enumerate(rows) if used + piece.length_mm <= bath_length_mm), len(rows)
        )
        if row == len(rows):
            rows.append(0)
        laid.append((piece, row, rows[row]))
        rows[row] += piece.length_mm
    step = ROW if len(rows) <= FEW_ROWS else ROW * FEW_ROWS / len(rows)
    height = TOP + max(step * len(rows), ROW) + 10
    return LoadDrawing(
        bars=tuple(_bar(piece, row, start, scale, step, bath_length_mm) for piece, row, start in laid),
        bath_width=bath_length_mm * scale,
        height=height,
        bath_length_mm=bath_length_mm,
        shares=_shares(pieces, max_kg),
        minimum_percent=_percent(minimum_kg, max_kg),
        mass_percent=_percent(sum(piece.mass_kg for piece in pieces), max_kg),
    )


def _bar(piece: Piece, row: int, start: int, scale: float, step: float, bath_length_mm: int) -> Bar:
    width = piece.length_mm * scale
    height = BAR * step / ROW
    return Bar(
        label=piece.label,
        x=round(start * scale, 1),
        y=round(TOP + row * step + (step - height) / 2, 1),
        width=round(max(width, 2), 1),
        height=round(height, 1),
        readiness=piece.readiness,
        is_too_long=piece.length_mm > bath_length_mm,
        has_room=width > 14 * len(piece.label) + 10 and height > 20,
    )


def _shares(pieces: Iterable[Piece], max_kg: float) -> tuple[Share, ...]:
    found, start = [], 0.0
    by_readiness = dict.fromkeys(Readiness, 0.0)
    for piece in pieces:
        by_readiness[piece.readiness] += piece.mass_kg
    for readiness, mass in by_readiness.items():
        width = _percent(mass, max_kg)
        if width:
            found.append(Share(start, width, readiness))
            start += width
    return tuple(found)


def _percent(mass: float, of: float) -> float:
    return round(100 * mass / of, 1) if of else 0.0
