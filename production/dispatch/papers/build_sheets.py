"""What stands on a build sheet as PDF: the same figures as on the bay's screen, with the set-up drawn to scale."""

from __future__ import annotations

import re

from django.template.loader import render_to_string

from bom.templatetags.workshop import quantity_text
from production.assembly import fitting
from production.assembly.sheets import sheet_of
from production.dispatch.papers.contents import Text
from production.orders.models import Order
from production.orders.showing import shown_of

# The drawing's own styles, for paper: the screen's are in css/ratings.css.
_STYLE = """
.ground{stroke:#444;stroke-width:8;stroke-dasharray:60 30;fill:none}
.hull{fill:#e4e7e0;stroke:#000;stroke-width:14}
.frame{fill:none;stroke:#000;stroke-width:55}.thin{stroke-width:26}
.slot{stroke:#a63a07;stroke-width:22;fill:none}.pin{fill:#fff;stroke:#000;stroke-width:18}
.wheel{fill:#fff;stroke:#000;stroke-width:26}.centre circle{fill:#fff;stroke:#000;stroke-width:12}
.dim path{stroke:#444;stroke-width:5;fill:none}.dim .line{stroke:#000;stroke-width:8}
.tip,.dim .tip{fill:#000;stroke:none}
.load-arrow .line{stroke:#a63a07;stroke-width:16;fill:none}.load-arrow .tip{fill:#a63a07}
"""
_SVG = re.compile(r"<svg.*?</svg>", re.DOTALL)
_NOTHING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 1"></svg>'


def build_sheet_of(order: Order) -> dict[str, Text]:
    """The texts of one trailer's build sheet. About a dozen queries."""
    shown = shown_of(order)
    sheet = sheet_of(order)
    wiring = sheet.wiring
    return {
        "drawing": _drawing(shown.view) if shown and shown.view else _NOTHING,
        "places": [
            [f"{one.words}", f"{one.to_mm:.0f} mm"]
            for one in (shown.view.dimensions if shown and shown.view else ())
        ],
        "choices": [
            [one.choice.group.name, one.choice.name]
            for one in order.choices.select_related("choice__group").order_by("choice__group__sequence")
        ]
        + [
            [str(one.get_place_display()), one.colour.name]
            for one in order.colours.select_related("colour").order_by("place")
        ],
        "coloured": [
            [
                one.place,
                one.item.name,
                one.item.colour.name if one.item.colour else "",
                quantity_text(one.pieces),
            ]
            for one in sheet.coloured
        ],
        "torques": [
            [
                one.place,
                f"{one.thread} {one.name}",
                quantity_text(one.pieces),
                f"{one.low_nm} to {one.high_nm}",
            ]
            for one in sheet.joints
        ],
        "torque_sources": "; ".join(sheet.sources),
        "plug": f"{wiring.plug.name}, {wiring.standard}" if wiring else "not written down",
        "wiring": [
            [str(one.number), one.carries, one.colour, f"{one.area_mm2 or ''}"]
            for one in (wiring.contacts if wiring else ())
            if one.is_needed
        ],
        "numbers": [
            [one.item.name, str(one.pieces), ", ".join(row.code for row in one.read)]
            for one in fitting.wanted_numbers(order)
        ],
        "note": order.note,
    }


def _drawing(view: object) -> str:
    """The side view as a picture that stands alone."""
    found = _SVG.search(render_to_string("orders/_side_view.html", {"view": view}))
    svg = found.group(0) if found else _NOTHING
    svg = svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    return svg.replace(">", f"><style>{_STYLE}</style>", 1)
