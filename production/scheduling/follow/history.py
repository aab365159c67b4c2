"""What the floor and the suppliers did: actual against planned minutes by station, how late deliveries were."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Sum

from inventory.buying.record import line_records, load_records
from production.shop.models import WorkCentre
from production.works.card_models import CardLine, WorkTime
from production.works.models import WorksOperation

MOST_TIMES = 4000
DAYS_KEPT = 60


@dataclass(frozen=True)
class Took:
    """One finished operation: planned minutes and those that people wrote down for its cards."""

    order: str
    process: str
    planned: float
    actual: float
    finished_at: datetime | None

    @property
    def ratio(self) -> float:
        return self.actual / self.planned


def took(limit: int = MOST_TIMES) -> list[Took]:
    """Finished operations whose cards carry times, the latest first. Cards that several operations share are left
    out: nobody can say whose minutes they were. Three queries."""
    rows = (
        WorksOperation.objects.filter(
            state=WorksOperation.State.DONE, minutes__gt=0, card_lines__isnull=False
        )
        .order_by("-finished_at", "-pk")
        .distinct()
        .values_list("pk", "works_order__order__number", "process__code", "minutes", "finished_at")[:limit]
    )
    operations = {row[0]: row for row in rows}
    owners: dict[int, set[int]] = defaultdict(set)
    for card_id, operation_id in CardLine.objects.values_list("card_id", "operation_id").distinct():
        owners[card_id].add(operation_id)
    spent: dict[int, float] = defaultdict(float)
    shared: set[int] = set()
    times = WorkTime.objects.filter(stopped_at__isnull=False).order_by()
    for card_id, minutes in times.values_list("card_id").annotate(sum=Sum("minutes")):
        own = owners.get(card_id, set())
        if len(own) == 1:
            spent[next(iter(own))] += float(minutes or 0)
        else:
            shared |= own
    return [
        Took(number or "", process, float(minutes), spent[pk], finished_at)
        for pk, number, process, minutes, finished_at in operations.values()
        if pk not in shared and spent.get(pk, 0) > 0
    ]


def ratios_by_station() -> dict[str, list[float]]:
    """By work centre, actual over planned minutes of what was done there. Four queries."""
    codes: Mapping[str, str] = {
        process: code
        for code, process in WorkCentre.objects.order_by("-sequence").values_list("code", "process__code")
    }
    found: dict[str, list[float]] = defaultdict(list)
    for one in took():
        if one.process in codes:
            found[codes[one.process]].append(one.ratio)
    return dict(found)


def delivery_days() -> list[float]:
    """Days by which deliveries came after the day promised (before it, below 0). Two queries."""
    days = [
        float((line.complete_on - line.promised_on).days)
        for line in line_records()
        if line.complete_on is not None
    ]
    return [max(-DAYS_KEPT, min(DAYS_KEPT, one)) for one in days]


def load_days() -> list[float]:
    """The same of loads that were sent out for work. One query."""
    return [
        float((line.complete_on - line.promised_on).days)
        for line in load_records()
        if line.complete_on is not None
    ]
