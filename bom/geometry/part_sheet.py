"""Everything the page of a part shows: figures with their working, bends, sketches, section, vents."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import prefetch_related_objects

from bom.geometry import sections
from bom.geometry.bending import RULE_SOURCES, BendFigures, outside_legs_mm
from bom.geometry.models import BendValue, FlatPart, FoldLine, HouseRule, SectionProfile
from bom.geometry.outlines import (
    STEEL_KG_M3,
    FlatOutline,
    area_mm2,
    bounding_box,
    centroid,
    cut_length_mm,
    from_text,
    mass_kg,
    pierces,
    svg_path,
)
from bom.geometry.reading import figures_of, line_of, outline_of, value_for
from bom.geometry.sketching import Sketch, flat_sketch, folded_sketch, open_path
from bom.geometry.strips import distance_to_holes_mm, side_view, strips
from bom.geometry.vents import VentState, sections_of, solid_state, vent_state
from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.templatetags.workshop import quantity_text

# A hole nearer than 2 × thickness + radius is drawn oval when the bend is made: common practice, no source.
HOLE_CLEAR_OF_BEND = 2


@dataclass(frozen=True)
class Figure:
    """A computed figure with its working."""

    name: str
    value: float
    unit: str
    places: int
    working: tuple[str, ...]

    @property
    def text(self) -> str:
        return _grouped(self.value, self.places)


@dataclass(frozen=True)
class BendRow:
    """A bend with what the rule makes of it."""

    row: FoldLine
    figures: BendFigures | None
    problem: str = ""

    @property
    def working(self) -> str:
        if self.figures is None:
            return self.problem
        one = self.figures
        return (
            f"BA = π/180 × {one.angle_deg:g} × ({one.inside_radius_mm:g} + {one.k_factor:.4f} × "
            f"{one.thickness_mm:g}) = {one.allowance_mm:.3f} mm; setback {one.setback_mm:.3f} mm; deduction "
            f"2 × {one.setback_mm:.3f} − {one.allowance_mm:.3f} = {one.deduction_mm:.3f} mm"
        )


@dataclass(frozen=True)
class Leg:
    """One leg between edge or bend: in the flat, folded and measured outside, and what the brake can still hold."""

    number: int
    flat_mm: float
    outside_mm: float
    least_mm: float
    is_end: bool

    @property
    def is_too_short(self) -> bool:
        return self.outside_mm < self.least_mm - 0.05


@dataclass(frozen=True)
class Folding:
    """The bends of a part."""

    rows: tuple[BendRow, ...]
    rule: str
    source: str
    value: BendValue | None
    legs: tuple[Leg, ...]
    flat_mm: float
    outside_mm: float
    cautions: tuple[str, ...]
    sketch: Sketch | None

    @property
    def deductions_mm(self) -> float:
        return self.outside_mm - self.flat_mm


@dataclass(frozen=True)
class PartSheet:
    """A part with everything drawn and worked out."""

    item: Item
    part: FlatPart | None
    figures: tuple[Figure, ...]
    sketch: Sketch | None
    folding: Folding | None
    section: SectionProfile | None
    section_figures: sections.SectionFigures | None
    section_totals: tuple[Figure, ...]
    vents: VentState
    ends_stay_open: bool


def _grouped(value: float, places: int) -> str:
    return f"{value:,.{places}f}".replace(",", "\u202f").replace("-", "\u2212")


def part_sheet(item: Item) -> PartSheet:
    """The sheet of one item; what it has no drawing, section or cavity for is empty. At most a dozen queries."""
    part: FlatPart | None = getattr(item, "flat_part", None)
    if part:
        prefetch_related_objects([part], "contours", "fold_lines", "marks")
    vents = solid_state(item) if part and not item.is_hollow else vent_state([item.pk])[item.pk]
    section = _section(item, part, vents)
    worked_out = sections.figures(section.profile) if section else None
    outline = outline_of(part.contours.all()) if part else None
    lines = list(part.fold_lines.all()) if part else []
    return PartSheet(
        item=item,
        part=part,
        figures=flat_figures(part, outline) if part and outline else (),
        sketch=flat_drawing(outline, lines, part) if part and outline else None,
        folding=folding_of(part, outline, lines) if part and outline and lines else None,
        section=section,
        section_figures=worked_out,
        section_totals=_totals(item, section, worked_out) if section and worked_out else (),
        vents=vents,
        ends_stay_open=not vents.is_assembly and any(member.ends_stay_open for member in vents.members),
    )


def _section(item: Item, part: FlatPart | None, vents: VentState) -> SectionProfile | None:
    """The section that the item is, or is sawn from."""
    if item.kind == Item.Kind.SECTION:
        return SectionProfile.objects.filter(item=item).first()
    if part or vents.is_assembly:
        return None
    if vents.members:
        return vents.members[0].section
    return sections_of([item.pk]).get(item.pk) if item.is_made else None


def flat_figures(part: FlatPart, outline: FlatOutline) -> tuple[Figure, ...]:
    """Area, mass, cut length, pierces, size, centre and surface of a flat part."""
    area, thickness = area_mm2(outline), float(part.thickness_mm)
    left, low, right, high = bounding_box(outline)
    middle = centroid(outline)
    cut, holes = cut_length_mm(outline), len(outline.inners)
    away = sum(inner.area_mm2 for inner in outline.inners)
    surface = (2 * area + cut * thickness) / 1e6
    exact = "Straight edges by the triangle sum, arcs by their exact segment area; nothing is flattened"
    return (
        Figure(
            "Area",
            area,
            "mm²",
            1,
            (f"Outside {outline.outer.area_mm2:.1f} − {holes} holes {away:.1f} = {area:.1f} mm²", exact),
        ),
        Figure(
            "Mass",
            mass_kg(outline, thickness),
            "kg",
            3,
            (
                f"{area:.1f} mm² × {thickness:g} mm × {STEEL_KG_M3:g} kg/m³ ÷ 10⁹",
                "Density of structural steel as in the tables to Eurocode 3",
            ),
        ),
        Figure(
            "Cut length",
            cut,
            "mm",
            1,
            (
                f"Outside {outline.outer.length_mm:.1f} + {holes} holes "
                f"{cut - outline.outer.length_mm:.1f} mm, without lead-ins",
            ),
        ),
        Figure(
            "Pierces", pierces(outline), "", 0, (f"One for the outside and one for each of {holes} holes",)
        ),
        Figure("Length", right - left, "mm", 1, (f"x from {left:.2f} to {right:.2f} mm, arcs exact",)),
        Figure("Width", high - low, "mm", 1, (f"y from {low:.2f} to {high:.2f} mm, arcs exact",)),
        Figure(
            "Centre of gravity x", middle[0], "mm", 1, ("First moment of the area ÷ area, of the flat part",)
        ),
        Figure("Centre of gravity y", middle[1], "mm", 1, ("The cross with a ring in the sketch",)),
        Figure(
            "Surface",
            surface,
            "m²",
            4,
            (f"2 × {area:.1f} mm² + edges {cut:.1f} × {thickness:g} mm: what zinc and powder cover",),
        ),
    )


def folding_of(
    part: FlatPart,
    outline: FlatOutline,
    lines: Sequence[FoldLine],
    *,
    values: Sequence[BendValue] | None = None,
    rule: str = "",
) -> Folding:
    """The bends under the rule of the workshop: legs flat and folded, cautions, and the folded sketch.

    Two queries; none where `values` of the part's thickness and the `rule` in force are handed over.
    """
    rule = rule or HouseRule.in_force().bend_rule
    value = value_for(
        part, BendValue.objects.filter(thickness_mm=part.thickness_mm) if values is None else values
    )
    rows = tuple(_bend_row(row, part, value, rule) for row in lines)
    found = strips(outline, [line_of(row) for row in lines])
    worked_out = [row.figures for row in rows if row.figures]
    cautions = [*_hole_cautions(outline, part, lines), *_value_cautions(part, value, lines)]
    if found is None or len(worked_out) < len(rows):
        cautions.append(
            "The bends do not all run the same way, or one has no figure: legs and the folded sketch are left out."
        )
        return Folding(rows, rule, RULE_SOURCES[rule], value, (), 0.0, 0.0, tuple(cautions), None)
    ordered = [worked_out[at] for at in found.order]
    outside = outside_legs_mm(found.legs_mm, ordered)
    legs = legs_of(found.legs_mm, outside, value)
    view = side_view(
        found.legs_mm, ordered, [lines[at].direction == FoldLine.Direction.UP for at in found.order]
    )
    if view is None:
        cautions.append("A leg is shorter than its arcs take: these bends cannot both be made.")
    return Folding(
        rows=rows,
        rule=rule,
        source=RULE_SOURCES[rule],
        value=value,
        legs=legs,
        flat_mm=sum(found.legs_mm),
        outside_mm=sum(outside),
        cautions=(*cautions, *flange_cautions(legs, value)),
        sketch=folded_sketch(view, ordered, outside) if view else None,
    )


def flat_drawing(outline: FlatOutline, lines: Sequence[FoldLine], part: FlatPart) -> Sketch:
    """The part in the flat, with bend lines and what is marked on it."""
    marked = [
        svg_path(from_text(row.vertices)) if row.is_closed else open_path(from_text(row.vertices))
        for row in part.marks.all()
    ]
    return flat_sketch(outline, [line_of(row) for row in lines], [row.direction for row in lines], marked)


def _bend_row(row: FoldLine, part: FlatPart, value: BendValue | None, rule: str) -> BendRow:
    try:
        return BendRow(row, figures_of(row, part, value, rule))
    except ProblemError as error:
        return BendRow(row, None, str(error))


def legs_of(
    flat_mm: Sequence[float], outside_mm: Sequence[float], value: BendValue | None
) -> tuple[Leg, ...]:
    """The legs of a strip in the flat and folded, with what the press brake can still hold."""
    least = float(value.least_flange_mm) if value else 0.0
    last = len(outside_mm) - 1
    return tuple(
        Leg(at + 1, flat, folded, least, at in (0, last))
        for at, (flat, folded) in enumerate(zip(flat_mm, outside_mm, strict=True))
    )


def _hole_cautions(outline: FlatOutline, part: FlatPart, lines: Sequence[FoldLine]) -> list[str]:
    found = []
    for row in lines:
        clear = HOLE_CLEAR_OF_BEND * float(part.thickness_mm) + float(row.inside_radius_mm)
        away = distance_to_holes_mm(outline, line_of(row))
        if away < clear:
            found.append(
                f"Bend {row.sequence}: a hole lies {away:.1f} mm from the bend line, less than "
                f"2 × thickness + radius = {clear:.1f} mm; it may be drawn oval (common practice, no source)."
            )
    return found


def _value_cautions(part: FlatPart, value: BendValue | None, lines: Sequence[FoldLine]) -> list[str]:
    if value is None:
        return [
            f"The table of the press brake has no row for {quantity_text(part.thickness_mm)} mm: "
            "K is taken as 0.42 and the least flange is not checked."
        ]
    return [
        f"Bend {row.sequence}: the drawing asks for a radius of {quantity_text(row.inside_radius_mm)} mm; die "
        f"{quantity_text(value.die_opening_mm)} makes {quantity_text(value.inside_radius_mm)} mm."
        for row in lines
        if abs(row.inside_radius_mm - value.inside_radius_mm) > Decimal("0.5")
    ]


def flange_cautions(legs: Sequence[Leg], value: BendValue | None) -> list[str]:
    """Legs too short for the die, each in a sentence."""
    if value is None:
        return []
    return [
        f"Leg {leg.number} is {leg.outside_mm:.1f} mm outside, less than the {leg.least_mm:g} mm that die "
        f"{quantity_text(value.die_opening_mm)} can hold ({value.source})."
        for leg in legs
        if leg.is_too_short
    ]


def _totals(item: Item, section: SectionProfile, of: sections.SectionFigures) -> tuple[Figure, ...]:
    """Mass and surface of a part sawn from the section; nothing for the raw section itself."""
    if section.item_id == item.pk or not item.length_mm:
        return ()
    metres = float(item.length_mm) / 1000
    inside, table_kg_m = of.inside_surface_m2_m, sections.table_mass_kg_m(section.profile)
    return (
        Figure(
            "Mass",
            table_kg_m * metres,
            "kg",
            3,
            (f"{table_kg_m:g} kg/m, as tables print it, × {metres:g} m",),
        ),
        Figure(
            "Surface outside",
            of.surface_m2_m * metres,
            "m²",
            4,
            (f"{of.surface_m2_m:.4f} m²/m × {metres:g} m",),
        ),
        *(
            (Figure("Surface inside", inside * metres, "m²", 4, (f"{inside:.4f} m²/m × {metres:g} m",)),)
            if inside
            else ()
        ),
    )
