"""What stands on a printed job card: texts, and drawings as SVG."""

from __future__ import annotations

import io
from typing import Any

import segno
from django.template.loader import render_to_string

from bom.geometry.part_sheet import PartSheet, part_sheet
from bom.items.models import Item
from bom.kernel.scans import Kind, label_text
from bom.templatetags.workshop import day_text, minutes, quantity_text
from production.orders.models import FrozenLine
from production.works.card_models import CardLine, JobCard
from production.works.card_queries import CardSheet, card_sheet
from production.works.jig_sheets import sheets_in_force
from production.works.weld_models import JigSheet

# The typesetter reads no style sheet of the pages.
INK = (
    "<style>.cut{fill:#e8e8e8;fill-rule:evenodd;stroke:#000;stroke-width:1.2px;vector-effect:non-scaling-stroke}"
    ".mark,.thin{fill:none;stroke:#000;stroke-width:.5px}.bend{fill:none;stroke:#000;stroke-width:.8px;"
    "stroke-dasharray:8 3 2 3}.sheet-edge{fill:none;stroke:#000}.sheet-core{fill:none;stroke:#fff}"
    "text{font-family:'DejaVu Sans'}</style>"
)
CAUTIONS = {
    "weld": "Never weld coated steel without extraction, and grind the zinc off first: zinc fume makes ill. "
    "Prop the chassis on both sides before it is turned (common practice, no source). Local rules come first.",
    "galvanise": "A sealed cavity can burst in the bath: every hollow part is vented and drained, and signed for.",
    "powder": "De-gas before the powder goes on: zinc gives off gas in the oven (common practice, no source).",
    "assemble": "Prop and chock the chassis before anybody reaches under it (common practice, no source).",
}


def qr_svg(text: str) -> str:
    """A QR code (ISO/IEC 18004, level M) as SVG."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", border=4, xmldecl=False)
    return out.getvalue().decode()


def card_texts(card: JobCard) -> dict[str, Any]:
    """One card, ready to be drawn."""
    sheet = card_sheet(card)
    return {
        "number": card.number,
        "kind": "" if card.kind == JobCard.Kind.USUAL else card.get_kind_display(),
        "reason": card.reason,
        "follows": card.follows.number if card.follows else "",
        "process": card.process.name,
        "qr": qr_svg(label_text(Kind.CARD, card.number)),
        "orders": [
            f"{order.number} · {order.model.name} · {order.customer.name} · held to {day_text(order.due_on)}"
            for order in sheet.orders
        ],
        "planned": minutes(sheet.minutes_planned),
        "lines": _lines(sheet),
        "way": [
            {"name": one.process.name, "is_here": one.process_id == card.process_id}
            for one in sheet.way
            if one.works_order_id == sheet.way[0].works_order_id
        ],
        "caution": CAUTIONS.get(card.process.code, ""),
    }


def _lines(sheet: CardSheet) -> list[dict[str, Any]]:
    lengths = _saw_lengths(sheet) if sheet.card.process.code == "saw" else {}
    process = sheet.card.process.code
    jigs = sheets_in_force([line.item_id for line in sheet.lines], process)
    return [_line(line, process, lengths) | {"notes": _notes(jigs.get(line.item_id))} for line in sheet.lines]


def _notes(jig: JigSheet | None) -> list[str]:
    """What the item's sheet says, jig and quality first."""
    if jig is None:
        return []
    head = [f"jig: {jig.jig}"] if jig.jig else []
    head += [f"quality: {jig.quality}"] if jig.quality else []
    return head + [f"{note.position}. {note.words}" for note in jig.notes.all()]


def _line(line: CardLine, process: str, lengths: dict[int, str]) -> dict[str, Any]:
    order = line.operation.works_order.order
    drawn = part_sheet(line.item) if process in ("fold", "weld", "saw") else None
    return {
        "pieces": quantity_text(line.pieces),
        "code": line.item.code,
        "name": line.item.name,
        "hand": {"L": "left hand", "R": "right hand"}.get(line.item.hand, ""),
        "order": order.number if order else "",
        "figures": _figures(line.item, drawn, process, lengths),
        "drawing": _svg(drawn) if drawn else "",
        "bends": _bends(drawn) if drawn and process == "fold" else [],
    }


def _figures(item: Item, drawn: PartSheet | None, process: str, lengths: dict[int, str]) -> str:
    parts = [lengths.get(item.pk, "")]
    if item.thickness_mm:
        parts.append(f"{quantity_text(item.thickness_mm)} mm {item.grade}".strip())
    if drawn and drawn.folding and process == "fold":
        parts.append(f"flat length {drawn.folding.flat_mm:.1f} mm")
    return ", ".join(part for part in parts if part)


def _bends(drawn: PartSheet) -> list[str]:
    if drawn.folding is None:
        return []
    return [
        f"bend {row.row.sequence}: {row.row.angle_deg:g}° {row.row.direction}, "
        f"inside radius {row.row.inside_radius_mm:g} mm"
        for row in drawn.folding.rows
    ]


def _svg(drawn: PartSheet) -> str:
    """The folded view where there is one, else the flat part."""
    folded = drawn.folding.sketch if drawn.folding else None
    sketch = folded or drawn.sketch
    if sketch is None:
        return ""
    context = {"sketch": sketch, "name": drawn.item.code, "folded": folded is not None}
    svg: str = render_to_string("geometry/_sketch.html", context)
    start = svg.index("<svg")
    svg = svg[start:].replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    head, _, rest = svg.partition(">")
    return f"{head}>{INK}{rest}"


def _saw_lengths(sheet: CardSheet) -> dict[int, str]:
    """Section and length (mm) of each sawn part: the metres its bill gives one piece."""
    bills = {order.bill_id for order in sheet.orders}
    edges = FrozenLine.objects.filter(
        bill__in=bills, parent__in=[line.item_id for line in sheet.lines], item__kind=Item.Kind.SECTION
    ).select_related("item")
    return {edge.parent_id: f"{edge.item.code}, {edge.quantity_per * 1000:.0f} mm" for edge in edges}
