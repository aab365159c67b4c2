"""Which process each made item of a frozen bill goes through, and where it first appears."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from bom.structure.models import Operation
from production.orders.models import FrozenTotal


@dataclass(frozen=True)
class Made:
    """A made item of a bill: how many one trailer needs (stock unit) and its processes in order."""

    item_id: int
    quantity: Decimal
    processes: tuple[str, ...]

    @property
    def first(self) -> str:
        """The code of the process that brings it into being."""
        return self.processes[0]

    def after(self, process: str) -> str:
        """The code of the process that follows `process` on this item, or nothing."""
        behind = self.processes[self.processes.index(process) + 1 :] if process in self.processes else ()
        return behind[0] if behind else ""


def made_items(bill_ids: Iterable[int]) -> dict[int, dict[int, Made]]:
    """For each bill its made items with operations, by item. Two queries whatever the number of bills."""
    totals = list(
        FrozenTotal.objects.filter(bill_id__in=set(bill_ids), revision__isnull=False).values_list(
            "bill_id", "item_id", "quantity", "revision_id"
        )
    )
    processes: dict[int, list[str]] = defaultdict(list)
    for revision_id, code in (
        Operation.objects.filter(revision_id__in={row[3] for row in totals})
        .order_by("revision_id", "sequence")
        .values_list("revision_id", "process__code")
    ):
        processes[revision_id].append(code)
    found: dict[int, dict[int, Made]] = defaultdict(dict)
    for bill_id, item_id, quantity, revision_id in totals:
        if revision_id in processes:
            found[bill_id][item_id] = Made(item_id, quantity, tuple(processes[revision_id]))
    return found
