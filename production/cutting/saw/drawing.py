"""A bar with its pieces as a drawing: plain data in, plain data out; the template draws it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

WIDTH, HEIGHT = 1200.0, 90.0
# A slanting end is drawn at its angle, but never over more than this share of the piece.
MOST_SLANT = 0.4
# Narrower pieces carry no text: their row in the list has the same mark.
TEXT_WIDTH = 34.0


@dataclass(frozen=True)
class Piece:
    """A piece on the bar: the number that marks it, its length in mm, its two ends in degrees off square."""

    mark: int
    length_mm: float
    first_deg: float
    second_deg: float
    state: str


@dataclass(frozen=True)
class DrawnPiece:
    mark: int
    points: str
    text_x: float
    state: str
    has_text: bool


@dataclass(frozen=True)
class BarDrawing:
    """The bar, `WIDTH` units long; `rest_x` is where the rest begins."""

    pieces: tuple[DrawnPiece, ...]
    rest_x: float
    width: float = WIDTH
    height: float = HEIGHT


def draw_bar(length_mm: float, kerf_mm: float, trim_mm: float, pieces: Sequence[Piece]) -> BarDrawing:
    """Pieces in their order from the left, behind the trimmed end, a saw cut behind each."""
    scale = WIDTH / length_mm
    at = trim_mm * scale
    drawn = []
    for piece in pieces:
        width = piece.length_mm * scale
        drawn.append(_drawn(piece, at, width))
        at += width + kerf_mm * scale
    return BarDrawing(tuple(drawn), min(at, WIDTH))


def _drawn(piece: Piece, left: float, width: float) -> DrawnPiece:
    first, second = (
        min(HEIGHT * tan(radians(deg)), MOST_SLANT * width) for deg in (piece.first_deg, piece.second_deg)
    )
    right = left + width
    corners = ((left, HEIGHT), (left + first, 0.0), (right - second, 0.0), (right, HEIGHT))
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    return DrawnPiece(piece.mark, points, left + width / 2, piece.state, width >= TEXT_WIDTH)
