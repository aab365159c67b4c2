"""What stands on the papers of a load: texts only."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from bom.kernel.scans import Kind, label_text
from bom.templatetags.workshop import day_text, moment, money, quantity_text
from inventory.buying.outside import line_of
from inventory.buying.outside_models import OutsideClaim, OutsideLine
from inventory.buying.paper_models import Letterhead
from production.coating.load_rules import lines_of
from production.coating.models import GalvanisingLoad, LoadLine
from production.orders.freezing import GALVANISE
from production.works.papers.contents import qr_svg


def note_texts(load: GalvanisingLoad) -> dict[str, Any]:
    """The dispatch note: what the lorry takes, signed for, with room to count it back."""
    lines = lines_of(load)
    ordered = _ordered(load)
    return _head(load, ordered) | {
        "title": "Dispatch note, galvanising",
        "leaves": moment(load.left_at or load.leaves_at),
        "back": day_text(load.back_at),
        "mass": _kg(sum((line.mass_kg for line in lines), Decimal(0))),
        "weighed": _kg(load.weighed_out_kg),
        "pieces": quantity_text(sum((line.quantity for line in lines), Decimal(0))),
        "longest": f"{max((line.length_mm for line in lines), default=0)} mm",
        "lines": [_line(at, line) for at, line in enumerate(lines, start=1)],
    }


def claim_texts(load: GalvanisingLoad) -> dict[str, Any]:
    """What is claimed of a load, and how far each claim is."""
    ordered = _ordered(load)
    claims = claims_of(ordered)
    return _head(load, ordered) | {
        "title": "Claim, galvanising",
        "left": moment(load.left_at),
        "back": moment(load.came_back_at),
        "claims": [
            {
                "code": one.piece.item.code,
                "name": one.piece.item.name,
                "order": one.piece.label,
                "kind": one.get_kind_display(),
                "quantity": quantity_text(one.quantity - one.found),
                "reason": one.reason,
                "at": day_text(one.at),
                "state": one.get_state_display(),
                "credit": money(one.credit) if one.credit else "",
            }
            for one in claims
        ],
    }


def claims_of(ordered: OutsideLine | None) -> Sequence[OutsideClaim]:
    """The claims on a load that buying knows, the first first. One query."""
    if ordered is None:
        return []
    return list(
        OutsideClaim.objects.filter(piece__line=ordered)
        .select_related("piece__item", "by", "settled_by")
        .order_by("at", "pk")
    )


def _ordered(load: GalvanisingLoad) -> OutsideLine | None:
    return line_of(load.number, GALVANISE)


def _head(load: GalvanisingLoad, ordered: OutsideLine | None) -> dict[str, Any]:
    head = Letterhead.current()
    supplier = ordered.order.supplier if ordered else None
    return {
        "number": load.number,
        "from": head.name,
        "from_address": [line for line in head.address.splitlines() if line.strip()],
        "to": supplier.name if supplier else "the galvaniser",
        "to_address": [line for line in supplier.address.splitlines() if line.strip()] if supplier else [],
        "order": ordered.order.number if ordered else "",
        "qr": qr_svg(label_text(Kind.LOAD, load.number)),
    }


def _line(at: int, line: LoadLine) -> dict[str, str]:
    signed = line.vents_checked_by
    return {
        "at": str(at),
        "order": line.order.number,
        "code": line.item.code,
        "name": line.item.name,
        "pieces": quantity_text(line.quantity),
        "mass": _kg(line.mass_kg),
        "length": f"{line.length_mm} mm" if line.length_mm else "",
        "vents": f"{signed}, {day_text(line.vents_checked_at)}" if signed else "not signed",
        "again": "once more" if line.repeats_id else "",
    }


def _kg(value: Decimal | None) -> str:
    return "" if value is None else f"{quantity_text(value.quantize(Decimal('0.1')))} kg"
