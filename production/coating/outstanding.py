"""What orders still want of the galvaniser after their loads came back: lost, spoilt, to be galvanised once more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import F, Q

from bom.items.models import Item
from bom.kernel.quantities import format_quantity
from production.coating.models import GalvanisingLoad, LoadLine
from production.works.replacement_models import Replacement

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
    of it is back and good. Four queries."""
    found: dict[int, str] = {}
    under_way = LoadLine.objects.filter(order__in=order_ids).filter(
        Q(load__state=State.AWAY) | Q(load__state=State.RELEASED, repeats__isnull=False)
    )
    for order_id in under_way.values_list("order_id", flat=True):
        found[order_id] = ""
    said: dict[int, list[str]] = defaultdict(list)
    again = set(
        Replacement.objects.filter(
            works_order__order__in=order_ids, made_at__isnull=True, called_off_at__isnull=True
        ).values_list("works_order__order_id", flat=True)
    )
    for line, _ in wanted_again(order_ids).items():
        said[line.order_id] += _words(line)
        if line.order_id in again:
            said[line.order_id].append("being made again")
    return found | {order_id: "; ".join(words) for order_id, words in said.items()}


@dataclass(frozen=True)
class Lacking:
    """A line that came back incomplete, how many its order still wants of it, and how far its replacement is."""

    line: LoadLine
    rest: Decimal
    replacement: Replacement | None

    @property
    def must_be_made(self) -> bool:
        """Nobody has it made again yet, and galvanising alone does not mend it."""
        return self.replacement is None and bool(lost_for_good({self.line: self.rest}))


def lacking(order_ids: Collection[int] | None = None) -> list[Lacking]:
    """What pages show of all that is wanted again, of these orders or of all. Three queries."""
    found = wanted_again(order_ids)
    replaced: dict[tuple[int | None, int], Replacement] = {}
    rows = Replacement.objects.filter(
        works_order__order__in={line.order_id for line in found}, called_off_at__isnull=True
    )
    for one in rows.select_related("works_order").order_by("at"):
        replaced[one.works_order.order_id, one.item_id] = one
    made = []
    for line, rest in found.items():
        latest = replaced.get((line.order_id, line.item_id))
        back_at = line.load.came_back_at
        is_of_it = latest is not None and (back_at is None or latest.at >= back_at)
        made.append(Lacking(line, rest, latest if is_of_it else None))
    return made


def lost_for_good(lines: Mapping[LoadLine, Decimal]) -> dict[Item, Decimal]:
    """Of what is wanted again, the pieces that must be made again: missing or scrapped, not to be galvanised once
    more."""
    found: dict[Item, Decimal] = defaultdict(Decimal)
    for line, rest in lines.items():
        there = line.damaged if line.then == LoadLine.Then.AGAIN else Decimal(0)
        if rest > there:
            found[line.item] += rest - there
    return dict(found)


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
