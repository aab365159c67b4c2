"""What orders still want of the galvaniser after their loads came back: lost, spoilt, to be galvanised once more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from decimal import Decimal

from django.db.models import F, Q

from bom.kernel.quantities import format_quantity
from production.coating.models import GalvanisingLoad, LoadLine

State = GalvanisingLoad.State
UNDER_WAY = (State.RELEASED, State.AWAY)


def wanted_again(order_ids: Collection[int] | None = None) -> dict[LoadLine, Decimal]:
    """Lines of loads that came back with what they lack and no other line carries yet. Two queries.

    Those of these orders, or of all.
    """
    lines = LoadLine.objects.filter(load__state=State.BACK).filter(_lacks())
    if order_ids is not None:
        lines = lines.filter(order__in=order_ids)
    lines = lines.select_related("load", "order__customer", "order__model", "item").order_by(
        "load__came_back_at", "pk"
    )
    rows = list(lines)
    carried = _carried(rows)
    return {line: rest for line in rows if (rest := line.lacking - carried[line.pk]) > 0}


def unfinished(order_ids: Collection[int]) -> dict[int, str]:
    """By order why its galvanising is not finished, "" where something of it is still with a load; absent where all
    of it is back and good. Three queries."""
    found: dict[int, str] = {}
    under_way = LoadLine.objects.filter(order__in=order_ids).filter(
        Q(load__state=State.AWAY) | Q(load__state=State.RELEASED, repeats__isnull=False)
    )
    for order_id in under_way.values_list("order_id", flat=True):
        found[order_id] = ""
    said: dict[int, list[str]] = defaultdict(list)
    for line, _ in wanted_again(order_ids).items():
        said[line.order_id] += _words(line)
    return found | {order_id: "; ".join(words) for order_id, words in said.items()}


def _words(line: LoadLine) -> list[str]:
    parts = []
    if line.missing:
        parts.append(f"missing from the galvaniser: {format_quantity(line.missing)} × {line.item.code}")
    if line.damaged and line.then == LoadLine.Then.AGAIN:
        parts.append(f"to be galvanised again: {format_quantity(line.damaged)} × {line.item.code}")
    if line.damaged and line.then == LoadLine.Then.SCRAP:
        parts.append(f"spoilt by the galvaniser: {format_quantity(line.damaged)} × {line.item.code}")
    return parts


def _carried(lines: Iterable[LoadLine]) -> defaultdict[int, Decimal]:
    """How many of each line's lacking parts another line carries or has brought back."""
    carried: defaultdict[int, Decimal] = defaultdict(Decimal)
    repeats = LoadLine.objects.filter(repeats__in=[line.pk for line in lines]).filter(
        load__state__in=(*UNDER_WAY, State.BACK)
    )
    for line_id, quantity in repeats.values_list("repeats_id", "quantity"):
        carried[line_id or 0] += quantity
    return carried


def _lacks() -> Q:
    return Q(came_back__lt=F("quantity")) | Q(damaged__gt=0) & ~Q(then=LoadLine.Then.USE)
