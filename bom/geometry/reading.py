"""Rows of a part as the arithmetic takes them."""

from collections.abc import Iterable

from bom.geometry.bending import BendFigures, bend
from bom.geometry.models import BendValue, FlatContour, FlatPart, FoldLine
from bom.geometry.outlines import FlatOutline, from_text
from bom.geometry.strips import Line

USUAL_K = 0.42


def outline_of(contours: Iterable[FlatContour]) -> FlatOutline:
    """The outline from its rows, the outside first."""
    outer, *inners = (from_text(row.vertices) for row in contours)
    return FlatOutline(outer, tuple(inners))


def line_of(row: FoldLine) -> Line:
    return Line((float(row.x1_mm), float(row.y1_mm)), (float(row.x2_mm), float(row.y2_mm)))


def value_for(part: FlatPart, values: Iterable[BendValue]) -> BendValue | None:
    """The press brake's figures for a part: of its grade, else of any grade; none where its thickness has no row."""
    fitting = [
        row for row in values if row.thickness_mm == part.thickness_mm and row.grade in ("", part.grade)
    ]
    return max(fitting, key=lambda row: row.grade, default=None)


def figures_of(row: FoldLine, part: FlatPart, value: BendValue | None, rule: str) -> BendFigures:
    """A bend of the part under the rule. ProblemError where the rule gives no figure for it."""
    k_factor = float(value.k_factor) if value else USUAL_K
    return bend(
        float(row.angle_deg),
        float(row.inside_radius_mm),
        float(part.thickness_mm),
        k_factor=k_factor,
        rule=rule,
    )
