"""Writes items, bills, operations and flat shapes: many rows at once, in the order the things are given."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bom.geometry.models import FlatContour, FlatPart
from bom.items.models import Colour, Family, Item
from bom.structure.models import BillLine, Operation, Process, Revision
from production.site.demo.colours import SHADES
from production.site.demo.places import Spot, spot_of
from production.site.demo.recipes import RollUp, Thing, Use, by_code, exact

FAMILY_NAMES = {
    "KEEL-160": "keel roller 160 mm, by colour",
    "KEEL-200": "keel roller 200 mm, by colour",
    "SIDE-120": "side roller 120 mm, by colour",
    "BOW-75": "bow roller 75 mm, by colour",
    "STERN-210": "stern roller 210 mm, by colour",
    "POWDER": "powder, by colour",
    "LAMP-FIX": "rear lamp, by hand",
    "LAMP-SUB": "submersible rear lamp, by hand",
}
_ROWS = 500


@dataclass(frozen=True)
class Written:
    """Rows by their codes."""

    items: Mapping[str, Item]
    colours: Mapping[str, Colour]


def write_things(things: Sequence[Thing], processes: Mapping[str, Process], since: date) -> Written:
    """Write every thing with its bill (revision A, in force since that day), operations and flat shape."""
    colours = _write_colours()
    families = _write_families(things)
    items = _write_items(things, families, colours)
    made = [thing for thing in things if thing.uses]
    revisions = _write_revisions(made, items, since)
    _write_lines(made, revisions, items, families)
    Operation.objects.bulk_create(
        [
            Operation(
                revision=revisions[thing.code],
                sequence=number * 10,
                process=processes[work.process],
                setup_minutes=exact(work.setup, 2),
                run_minutes=exact(work.run, 4),
                basis=work.basis,
            )
            for thing in made
            for number, work in enumerate(thing.works, start=1)
        ],
        batch_size=_ROWS,
    )
    _write_shapes(things, items)
    return Written(items, colours)


def _write_colours() -> dict[str, Colour]:
    rows = [Colour(code=s.code, name=s.name, swatch=s.swatch, lightness=s.lightness) for s in SHADES]
    return {row.code: row for row in Colour.objects.bulk_create(rows)}


def _write_families(things: Sequence[Thing]) -> dict[str, Family]:
    named: dict[str, str] = {}
    for thing in things:
        if thing.family:
            name = thing.name.rsplit(", ", 1)[0] + ", by hand"
            named.setdefault(thing.family, FAMILY_NAMES.get(thing.family, name))
    rows = Family.objects.bulk_create(Family(code=code, name=name) for code, name in named.items())
    return {row.code: row for row in rows}


def _write_items(
    things: Sequence[Thing], families: Mapping[str, Family], colours: Mapping[str, Colour]
) -> dict[str, Item]:
    first_of: dict[str, Thing] = {}
    for thing in things:
        first_of.setdefault(thing.family, thing)
    rolled = RollUp(by_code(things), first_of)
    rows = [_item(thing, rolled, families.get(thing.family), colours.get(thing.colour)) for thing in things]
    return {row.code: row for row in Item.objects.bulk_create(rows, batch_size=_ROWS)}


def _item(thing: Thing, rolled: RollUp, family: Family | None, colour: Colour | None) -> Item:
    figures = rolled.of(thing.code)
    return Item(
        code=thing.code,
        name=thing.name,
        kind=thing.kind,
        unit=thing.unit,
        family=family,
        colour=colour,
        hand=thing.hand,
        group=thing.group,
        mass_kg=round(figures.mass_kg, 4),
        surface_m2=round(figures.surface_m2, 5),
        grade=thing.grade,
        thickness_mm=_millimetres(thing.thickness_mm, 2),
        length_mm=_millimetres(thing.length_mm, 1),
        width_mm=_millimetres(thing.width_mm, 1),
        is_hollow=thing.is_hollow,
        is_phantom=thing.is_phantom,
        lead_days=thing.lead_days,
        lot_rule=thing.lot_rule,
        lot_size=exact(thing.lot_size, 4),
        tracking=thing.tracking,
        standard_cost=exact(thing.cost, 4),
    )


def _millimetres(value: float | None, places: int) -> Decimal | None:
    return None if value is None else exact(value, places)


def _write_revisions(made: Sequence[Thing], items: Mapping[str, Item], since: date) -> dict[str, Revision]:
    rows = [
        Revision(
            item=items[thing.code],
            letter="A",
            state=Revision.State.RELEASED,
            effective_from=since,
            note="first issue",
        )
        for thing in made
    ]
    written = Revision.objects.bulk_create(rows, batch_size=_ROWS)
    return {thing.code: row for thing, row in zip(made, written, strict=True)}


def _write_lines(
    made: Sequence[Thing],
    revisions: Mapping[str, Revision],
    items: Mapping[str, Item],
    families: Mapping[str, Family],
) -> None:
    rows = [
        _line(revisions[thing.code], number * 10, use, items, families, spot_of(thing, use))
        for thing in made
        for number, use in enumerate(thing.uses, start=1)
    ]
    BillLine.objects.bulk_create(rows, batch_size=_ROWS)


def _line(
    revision: Revision,
    position: int,
    use: Use,
    items: Mapping[str, Item],
    families: Mapping[str, Family],
    spot: Spot | None,
) -> BillLine:
    return BillLine(
        revision=revision,
        position=position,
        component=None if use.of_family else items[use.code],
        family=families[use.code] if use.of_family else None,
        colour_of=use.colour_of,
        hand_of=use.hand_of,
        quantity=use.quantity,
        condition=use.condition,
        centre_x_mm=_millimetres(spot.x_mm, 1) if spot else None,
        centre_y_mm=_millimetres(spot.y_mm, 1) if spot else None,
        centre_z_mm=_millimetres(spot.z_mm, 1) if spot else None,
        centre_basis=spot.basis if spot else "",
    )


def _write_shapes(things: Sequence[Thing], items: Mapping[str, Item]) -> None:
    drawn = [(thing, thing.outline) for thing in things if thing.outline is not None]
    parts = FlatPart.objects.bulk_create(
        [
            FlatPart(
                item=items[thing.code],
                grade=thing.grade,
                thickness_mm=exact(thing.thickness_mm or 0, 2),
                may_mirror=outline.may_mirror,
                area_mm2=exact(outline.area_mm2, 2),
                cut_length_mm=exact(outline.cut_length_mm, 1),
                pierces=outline.pierces,
                length_mm=exact(outline.length_mm, 1),
                width_mm=exact(outline.width_mm, 1),
                bends=outline.bends,
            )
            for thing, outline in drawn
        ],
        batch_size=_ROWS,
    )
    FlatContour.objects.bulk_create(
        [
            FlatContour(part=part, sequence=sequence, vertices=vertices)
            for part, (_, outline) in zip(parts, drawn, strict=True)
            for sequence, vertices in enumerate(outline.contours)
        ],
        batch_size=_ROWS,
    )
