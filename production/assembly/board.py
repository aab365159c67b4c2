"""The bay board: which trailer stands in which bay, what it lacks, and what comes next."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, Subquery

from production.assembly import queries
from production.assembly.fitting import Wanted, wanted_of
from production.assembly.models import Kit
from production.shop.models import WorkCentre
from production.works.models import WorksOperation

NEXT = 6
_BEFORE = ("weld", "galvanise", "powder")


@dataclass(frozen=True)
class Bay:
    """One bay, and the trailer in it with its operation, if one stands there."""

    number: int
    kit: Kit | None = None
    operation: WorksOperation | None = None
    numbers: tuple[Wanted, ...] = ()

    @property
    def missing(self) -> int:
        """How many numbers are still to be read off."""
        return sum(one.missing for one in self.numbers)


@dataclass(frozen=True)
class Next:
    """A kit that waits, and in few words what it waits for ("" when a bay may take it)."""

    kit: Kit
    waits_for: str


def bay_count() -> int:
    """How many assembly bays the shop has."""
    return sum(WorkCentre.objects.filter(process__code="assemble").values_list("units", flat=True))


def bays() -> list[Bay]:
    """Every bay in order. Seven queries whatever stands in them."""
    operations = {
        one.works_order.order_id: one
        for one in WorksOperation.objects.filter(
            process__code="assemble",
            state=WorksOperation.State.BEGUN,
            works_order__order__kit__bay__isnull=False,
        ).select_related("by", "works_order")
    }
    kits = list(queries.kits().filter(order__in=operations, bay__isnull=False).select_related("order__hull"))
    numbers = wanted_of([kit.order for kit in kits])
    taken = {
        kit.bay: Bay(kit.bay or 0, kit, operations[kit.order_id], tuple(numbers[kit.order_id]))
        for kit in kits
    }
    return [taken.get(number) or Bay(number) for number in range(1, bay_count() + 1)]


def coming(most: int = NEXT) -> list[Next]:
    """The kits that come next, those that a bay may take before the others. Two queries."""
    waiting = queries.kits().filter(Q(("assembly", WorksOperation.State.WAITING)))
    before = WorksOperation.objects.filter(
        works_order__order=OuterRef("order"),
        process__code__in=_BEFORE,
        state__in=[WorksOperation.State.WAITING, WorksOperation.State.BEGUN],
    ).order_by("sequence")
    rows = waiting.annotate(
        frame_waits=Exists(before), frame_waits_for=Subquery(before.values("process__name")[:1])
    ).order_by("frame_waits", *waiting.query.order_by)
    return [Next(kit, _waits_for(kit)) for kit in rows[:most]]


def _waits_for(kit: Kit) -> str:
    told = vars(kit)
    words = []
    if told["frame_waits_for"]:
        words.append(f"frame not through {told['frame_waits_for'].lower()}")
    if told["open_lines"]:
        words.append(f"{told['open_lines']} of {told['line_count']} lines to pick")
    return ", ".join(words)
