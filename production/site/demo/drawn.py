"""What is drawn of the demonstration's parts beside their outlines: bends, sections, vent and drain holes.

Where a part is bent is chosen: the line, or the two, that keep clearest of the holes and leave legs that the die can
hold. Holes are what the quarter rule asks for, rounded up to the next drill, but for two parts that a person must see
to: one whose holes are too small, and one with several small holes.
"""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from math import ceil

from bom.geometry.folding import put_in_usual_values, usual_values
from bom.geometry.layers import put_in_usual_layers
from bom.geometry.models import FlatPart, FoldLine, SectionProfile, VentHole
from bom.geometry.outlines import FlatOutline, bounding_box, from_text
from bom.geometry.section_items import columns
from bom.geometry.strips import Line, distance_to_holes_mm, strips
from bom.geometry.venting import HollowMember, quarter_diagonal_mm
from bom.items.models import Item
from production.site.demo.recipes import Outline, Thing
from production.site.demo.sections import SECTION_OF, SECTIONS
from production.site.demo.writing import Written

TOO_SMALL, SEVERAL = "SW-GUIDE", "SW-SPARE"
_STEPS = 40
_Choice = tuple[Line, ...]


def add_drawn(things: Sequence[Thing], written: Written) -> None:
    """Write the tables of press brake and layers, the bends, the sections and the holes."""
    put_in_usual_values()
    put_in_usual_layers()
    _add_bends(things)
    SectionProfile.objects.bulk_create(
        SectionProfile(item=written.items[section.code], **columns(section.profile)) for section in SECTIONS
    )
    VentHole.objects.bulk_create(
        hole for thing in things if thing.group == "sawn parts" for hole in _holes(thing, written.items)
    )


def _add_bends(things: Sequence[Thing]) -> None:
    folded = {thing.code: thing for thing in things if thing.outline and thing.outline.bends}
    parts = {part.item.code: part for part in FlatPart.objects.filter(bends__gt=0).select_related("item")}
    values = {float(row.thickness_mm): row for row in usual_values()}
    rows = []
    for code, thing in folded.items():
        value = values[float(thing.thickness_mm or 0)]
        for at, line in enumerate(_lines_of(thing, folded, float(value.least_flange_mm)), 1):
            rows.append(_row(parts[code], at, line, value.inside_radius_mm))
    FoldLine.objects.bulk_create(rows)


def _row(part: FlatPart, at: int, line: Line, radius_mm: Decimal) -> FoldLine:
    (x1, y1), (x2, y2) = line.start, line.end
    return FoldLine(
        part=part,
        sequence=at,
        x1_mm=_mm(x1),
        y1_mm=_mm(y1),
        x2_mm=_mm(x2),
        y2_mm=_mm(y2),
        angle_deg=90,
        inside_radius_mm=radius_mm,
    )


def _mm(value: float) -> Decimal:
    return round(Decimal(repr(value)), 3)


def _lines_of(thing: Thing, folded: dict[str, Thing], least_mm: float) -> _Choice:
    """The right hand is bent as the mirror image of the left."""
    drawn = folded[thing.code[:-1] + "L"] if thing.hand == "R" else thing
    if drawn.outline is None:
        return ()
    lines = _clearest(_outline(drawn.outline), drawn.outline.bends, least_mm)
    if thing.hand != "R":
        return lines
    length = drawn.outline.length_mm
    return tuple(
        Line((length - line.start[0], line.start[1]), (length - line.end[0], line.end[1])) for line in lines
    )


def _outline(outline: Outline) -> FlatOutline:
    outer, *inners = map(from_text, outline.contours)
    return FlatOutline(outer, tuple(inners))


def _clearest(outline: FlatOutline, count: int, least_mm: float) -> _Choice:
    """Of the choices whose legs the die can hold, the one clearest of the holes; without one, the clearest of all."""

    def goodness(lines: _Choice) -> tuple[bool, float]:
        found = strips(outline, lines)
        holds = found is not None and min(found.legs_mm) >= least_mm
        return holds, min(distance_to_holes_mm(outline, line) for line in lines)

    return max(_choices(outline, count), key=goodness)


def _choices(outline: FlatOutline, count: int) -> Iterator[_Choice]:
    """One line anywhere, or two as far from either end, upright or level."""
    left, low, right, high = bounding_box(outline)
    for at in range(2, _STEPS - 1 if count == 1 else _STEPS // 2 - 3):
        shares = (at / _STEPS,) if count == 1 else (at / _STEPS, 1 - at / _STEPS)
        yield tuple(_upright(left + share * (right - left), low, high) for share in shares)
        yield tuple(_level(low + share * (high - low), left, right) for share in shares)


def _upright(x: float, low: float, high: float) -> Line:
    return Line((x, low), (x, high))


def _level(y: float, left: float, right: float) -> Line:
    return Line((left, y), (right, y))


def _holes(thing: Thing, items: Mapping[str, Item]) -> Iterator[VentHole]:
    section = SECTION_OF[thing.uses[0].code]
    if not section.is_hollow:
        return
    member = HollowMember(section.height, section.breadth, section.wall, thing.length_mm or 0)
    asked = ceil(quarter_diagonal_mm(member))
    diameter, count = {TOO_SMALL: (10, 1), SEVERAL: (11, 2)}.get(thing.code, (asked, 1))
    for end, purpose in ((1, VentHole.Purpose.VENT), (2, VentHole.Purpose.DRAIN)):
        yield VentHole(item=items[thing.code], end=end, purpose=purpose, diameter_mm=diameter, count=count)
