"""The metal of an offcut: its true outline, however it was entered. No library is needed."""

from bom.geometry.outlines import from_text
from bom.kernel.errors import ProblemError
from inventory.stock.models import Lot
from production.cutting.models import CutSheet
from production.cutting.nesting.job import Ring
from production.cutting.nesting.outside import inscribed_ring


def true_outline(text: str) -> Ring:
    """The outline of an offcut with its box's corner at 0, 0; empty where there is none, or it cannot be read."""
    try:
        ring = inscribed_ring(from_text(text)) if text else ()
    except ProblemError:
        return ()
    if len(set(ring)) < 3:
        return ()
    left, low = min(x for x, _ in ring), min(y for _, y in ring)
    return tuple((x - left, y - low) for x, y in ring)


def metal_of(sheet: CutSheet) -> Ring:
    """The outline of the offcut that a layout was made for; empty for a whole sheet. The sheet brings its lot."""
    is_offcut = sheet.lot is not None and sheet.lot.kind == Lot.Kind.OFFCUT
    return true_outline(sheet.lot.outline) if sheet.lot is not None and is_offcut else ()
