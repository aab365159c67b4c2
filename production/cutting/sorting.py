"""Sorting after the cut: which good parts go to which station, for which order."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, Q

from bom.structure.models import Process
from production.cutting.models import CutBatch, CutPlacement
from production.orders.models import FrozenLine
from production.works.first_process import made_items

RACK = "rack"


@dataclass(frozen=True)
class SortLine:
    """So many of a part for one order; `cut` of them are cut and good."""

    order: str
    code: str
    name: str
    count: int
    cut: int


@dataclass(frozen=True)
class Destination:
    """A place to sort to: the station's name and what goes there, order by order."""

    name: str
    lines: tuple[SortLine, ...]


def destinations(batch: CutBatch) -> list[Destination]:
    """The parts of a batch by where they go next, in the order the metal goes; bad parts are left out.

    A part goes to its own next process, else to that of what it is built into; parts of no order go to the rack.
    """
    rows = list(
        CutPlacement.objects.filter(sheet__batch=batch)
        .exclude(state__in=[CutPlacement.State.SCRAP, CutPlacement.State.LOST])
        .order_by()
        .values_list(
            "order__bill_id", "order__number", "part__item_id", "part__item__code", "part__item__name"
        )
        .annotate(many=Count("pk"), good=Count("pk", filter=Q(state=CutPlacement.State.GOOD)))
    )
    nexts = _next_process({bill_id for bill_id, *_ in rows if bill_id}, {row[2] for row in rows})
    names = dict(Process.objects.values_list("code", "name"))
    sequence = {code: index for index, code in enumerate(names)}
    groups: defaultdict[str, list[SortLine]] = defaultdict(list)
    for bill_id, number, item_id, code, name, many, good in rows:
        goes = nexts.get((bill_id, item_id), RACK)
        groups[goes].append(SortLine(number or "", code, name, many, good))
    return [
        Destination(
            _called(code, names), tuple(sorted(groups[code], key=lambda line: (line.order, line.code)))
        )
        for code in sorted(groups, key=lambda one: sequence.get(one, 999))
    ]


def _called(code: str, names: dict[str, str]) -> str:
    if code == RACK:
        return "Rack of cut parts"
    return "Kit" if code == "assemble" else names.get(code, code)


def _next_process(bill_ids: set[int], parts: set[int]) -> dict[tuple[int, int], str]:
    """By (bill, item): the process after the laser, or the one of the assembly the part goes into."""
    made = made_items(bill_ids)
    found: dict[tuple[int, int], str] = {}
    for bill_id, items in made.items():
        for item_id, one in items.items():
            if one.first == "laser" and (following := one.after("laser")):
                found[bill_id, item_id] = following
    for bill_id, parent_id, item_id in FrozenLine.objects.filter(
        bill_id__in=bill_ids, item_id__in=parts
    ).values_list("bill_id", "parent_id", "item_id"):
        parent = made.get(bill_id, {}).get(parent_id)
        if parent is not None:
            found.setdefault((bill_id, item_id), parent.first)
    return found
