"""The metal of an offcut: its true outline and its holes, however they were entered. No library is needed."""

from __future__ import annotations

from dataclasses import dataclass

from bom.geometry.checks import check_outline
from bom.geometry.outlines import Contour, FlatOutline, Vertex, from_text, to_text
from bom.kernel.errors import Problem, ProblemError
from inventory.stock.models import Lot
from production.cutting.models import CutSheet
from production.cutting.nesting.job import Ring
from production.cutting.nesting.outside import metal_rings


@dataclass(frozen=True)
class Piece:
    """What of a sheet is metal, its box's corner at 0, 0. Without an outline: all of its length and width."""

    outline: Ring = ()
    holes: tuple[Ring, ...] = ()


WHOLE = Piece()


def true_metal(outline: str, holes: str = "") -> Piece:
    """The metal of an offcut from the texts of its lot; the whole rectangle where there is none or cannot be read."""
    if not outline:
        return WHOLE
    try:
        inners = [from_text(line) for line in holes.splitlines() if line.strip()]
        ring, rings = metal_rings(from_text(outline), inners)
    except ProblemError:
        return WHOLE
    if len(set(ring)) < 3:
        return WHOLE
    return Piece(ring, tuple(hole for hole in rings if len(set(hole)) >= 3))


def metal_of(sheet: CutSheet) -> Piece:
    """The metal of the offcut that a layout was made for; a whole sheet is all metal. The sheet brings its lot."""
    if sheet.lot is None or sheet.lot.kind != Lot.Kind.OFFCUT:
        return WHOLE
    return true_metal(sheet.lot.outline, sheet.lot.holes)


def as_texts(drawn: FlatOutline) -> tuple[str, str]:
    """Outline and holes as a lot keeps them, moved so that the corner of their box is at 0, 0.

    Raises:
        ProblemError: the outline crosses itself, or a hole touches or leaves it or another hole.
    """
    if problems := check_outline(drawn):
        raise ProblemError(*problems)
    corners = [point for edge in drawn.outer.edges for point in edge.corners()]
    left, low = min(x for x, _ in corners), min(y for _, y in corners)
    moved = [
        Contour(tuple(Vertex(v.x_mm - left, v.y_mm - low, v.bulge) for v in contour.vertices))
        for contour in drawn.contours
    ]
    outline, *holes = map(to_text, moved)
    piece = true_metal(outline, "\n".join(holes))
    # As polygons they have come nearer; the nesting would refuse every layout on this piece.
    if check_outline(FlatOutline(_straight(piece.outline), tuple(map(_straight, piece.holes)))):
        raise ProblemError(
            Problem(
                "A hole comes too near to the edge or to another hole",
                "holes",
                "Leave at least 0.3 mm of metal between them, or make them part of the outline.",
            )
        )
    return outline, "\n".join(holes)


def _straight(ring: Ring) -> Contour:
    return Contour(tuple(Vertex(x, y) for x, y in ring))
