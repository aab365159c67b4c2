"""What stands on the labels of places, items, lots and deliveries; a constant number of questions for any number."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bom.geometry.outlines import flatten, from_text
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.scans import Kind, label_text
from bom.templatetags.workshop import day_text, quantity_text
from inventory.stock.models import Location, Lot, Movement
from inventory.stock.queries import ON_HAND_KINDS

MOST_LABELS = 600
_APART = re.compile(r"[\s,;]+")


@dataclass(frozen=True)
class Label:
    """One label: its title in large, lines below, the code that its symbol carries, and a drawing as SVG, if any."""

    title: str
    lines: tuple[str, ...]
    code: str
    is_large: bool = False
    drawing: str = ""


def place_labels(codes: Sequence[str]) -> list[Label]:
    """Of the places named, in walking order; of every place of the house where none is named."""
    rows = Location.objects.filter(kind__in=ON_HAND_KINDS)
    places = list(rows.filter(code__in=codes) if codes else rows)
    _refuse_missing(codes, {place.code for place in places}, "place")
    return [
        Label(place.code, (place.name,), label_text(Kind.PLACE, place.code), is_large=True)
        for place in places
    ]


def item_labels(codes: Sequence[str]) -> list[Label]:
    items = list(Item.objects.filter(code__in=codes).select_related("colour").order_by("code"))
    _refuse_missing(codes, {item.code for item in items}, "item")
    return [Label(item.code, _about(item), label_text(Kind.ITEM, item.code)) for item in items]


def lot_labels(codes: Sequence[str]) -> list[Label]:
    """Of the lots or serial numbers named; of all that lie in the house of an item whose code is named."""
    lots = Lot.objects.select_related("item__colour").order_by("item__code", "code")
    here = lots.filter(
        item__code__in=codes, balances__quantity__gt=0, balances__location__kind__in=ON_HAND_KINDS
    ).distinct()
    found = list(dict.fromkeys([*lots.filter(code__in=codes), *here]))
    _refuse_missing(codes, {lot.code for lot in found} | {lot.item.code for lot in found}, "lot")
    return [_lot_label(lot) for lot in found]


def delivery_labels(codes: Sequence[str]) -> list[Label]:
    """One for each thing that came on the purchase orders named, with its lot, quantity and day.

    Receipts stand in the room of buying, above this one; they are reached from their posting.
    """
    rows = (
        Movement.objects.filter(
            posting__receipt__line__order__number__in=codes, quantity__gt=0, posting__reversed_by__isnull=True
        )
        .select_related("item__colour", "lot", "posting__receipt__line__order")
        .order_by("posting__happened_at", "pk")
    )
    came = list(rows)
    _refuse_missing(
        codes, {row.posting.receipt.line.order.number for row in came}, "delivery on purchase order"
    )
    return [_delivery_label(row) for row in came]


CONTENTS: dict[str, tuple[str, Callable[[Sequence[str]], list[Label]]]] = {
    "places": ("Places", place_labels),
    "items": ("Items", item_labels),
    "lots": ("Lots and serial numbers", lot_labels),
    "deliveries": ("What came on purchase orders", delivery_labels),
}


def labels(what: str, codes_text: str, copies: int = 1) -> list[Label]:
    """The labels asked for, each `copies` times.

    Raises:
        ProblemError: nothing was named, something named is unknown, or there would be too many.
    """
    codes = list(dict.fromkeys(code for code in _APART.split(codes_text) if code))
    if not codes and what != "places":
        raise ProblemError(
            Problem("No code was given", "which", "Write codes, with spaces or lines between them.")
        )
    found = [label for label in CONTENTS[what][1](codes) for _ in range(copies)]
    if not 0 < len(found) <= MOST_LABELS:
        raise ProblemError(
            Problem(
                f"That would be {len(found)} labels", "which", f"Print 1 to {MOST_LABELS} labels at a time."
            )
        )
    return found


def _about(item: Item) -> tuple[str, ...]:
    colour = f", {item.colour.name}" if item.colour and item.colour.name not in item.name else ""
    return (f"{item.name}{colour}", f"counted in {item.get_unit_display()}s")


def _lot_label(lot: Lot) -> Label:
    size = ""
    if lot.length_mm:
        sides = [quantity_text(side) for side in (lot.length_mm, lot.width_mm) if side]
        size = f"{' × '.join(sides)} mm{' in one piece' if lot.outline else ''}"
    came = f"came {day_text(lot.received_on)}" if lot.received_on else ""
    cast = f"cast {lot.cast}" if lot.cast and lot.cast != lot.code else ""
    lines = (f"{lot.get_kind_display()} {lot.code}", lot.item.name, cast, size, came)
    code = label_text(Kind.LOT, lot.item.code, lot.code)
    return Label(lot.item.code, tuple(filter(None, lines)), code, drawing=_outline(lot))


def _outline(lot: Lot) -> str:
    """The outline of an offcut as SVG, y down; nothing where it was entered without one."""
    if not lot.outline:
        return ""
    rings = [flatten(from_text(text)) for text in (lot.outline, *lot.holes.split())]
    points = rings[0]
    length, width = max(x for x, _ in points), max(y for _, y in points)
    line = 0.012 * max(length, width)
    drawn = "".join(
        f'<polygon points="{" ".join(f"{x:g},{width - y:g}" for x, y in ring)}" fill="none" stroke="black" '
        f'stroke-width="{line:g}"/>'
        for ring in rings
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-line:g} {-line:g} {length + 2 * line:g} '
        f'{width + 2 * line:g}">{drawn}</svg>'
    )


def _delivery_label(row: Movement) -> Label:
    code = (
        label_text(Kind.LOT, row.item.code, row.lot.code) if row.lot else label_text(Kind.ITEM, row.item.code)
    )
    lines = (
        f"{quantity_text(row.quantity)} {row.item.unit}",
        f"{row.lot.get_kind_display()} {row.lot.code}" if row.lot else "",
        row.item.name,
        f"{row.posting.receipt.line.order.number}, {day_text(row.posting.happened_at)}",
    )
    return Label(row.item.code, tuple(filter(None, lines)), code)


def _refuse_missing(codes: Sequence[str], found: set[str], word: str) -> None:
    missing = [code for code in codes if code not in found]
    if missing:
        raise ProblemError(
            *(
                Problem(f"There is no {word} {code}", "which", "Write it as on its page.")
                for code in missing[:10]
            )
        )
