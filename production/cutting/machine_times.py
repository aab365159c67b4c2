"""The machine's own record of cut times: brought in from a file, and laid beside what was reckoned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from django.db.models import Max
from django.utils import timezone

from bom.items.sheets import Desk, Key, Sheet, small
from bom.items.uploads import text
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.workbooks import Row, Table
from production.cutting.models import CutBatch, CutSheet
from production.cutting.queries import ON_THE_FLOOR, PACE_SHEETS, Pace
from production.cutting.speed_models import MachineTime

# One program of one sheet takes no longer; what does is a wrong day.
LONGEST = timedelta(hours=24)


class CutTimesSheet(Sheet[MachineTime]):
    """Batch, sheet, and when its program began and ended, in the workshop's time unless the cell says another."""

    table = Table("times", ("batch", "sheet", "started", "ended"))

    @cached_property
    def sheets(self) -> dict[tuple[str, int], int]:
        rows = CutSheet.objects.filter(batch__state__in=ON_THE_FLOOR)
        return {
            (batch, number): pk for batch, number, pk in rows.values_list("batch__number", "number", "pk")
        }

    @cached_property
    def batches(self) -> set[str]:
        return set(CutBatch.objects.values_list("number", flat=True))

    def standing(self) -> dict[Key, MachineTime]:
        rows = MachineTime.objects.select_related("sheet__batch")
        return {
            (one.sheet.batch.number, one.sheet.number, one.began_at): one
            for one in rows.order_by("began_at", "sheet_id")
        }

    def read(self, row: Row) -> tuple[Key, dict[str, Any]]:
        batch, number = text(row, "batch"), small(row, "sheet")
        if (batch, number) not in self.sheets:
            column, what = (
                ("sheet", f"{batch} has no sheet {number}")
                if batch in self.batches
                else ("batch", f"There is no batch “{batch[:40]}” on the floor")
            )
            raise ProblemError(
                Problem(what, row.where(column), "Write batch and sheet as on the nest’s sheet.")
            )
        began, ended = _moment(row, "started"), _moment(row, "ended")
        if not began < ended <= began + LONGEST:
            raise ProblemError(
                Problem(
                    "The cut ends before it starts, or over a day later",
                    row.where("ended"),
                    "Correct one of the two times.",
                )
            )
        if ended > timezone.now() + timedelta(minutes=5):
            raise ProblemError(
                Problem("The cut ends in the future", row.where("ended"), "Set the machine’s clock.")
            )
        return (batch, number, began), {"ended_at": ended}

    def new(self, key: Key) -> MachineTime:
        return MachineTime(sheet_id=self.sheets[key[0], key[1]], began_at=key[2])

    def words(self, key: Key) -> str:
        return f"{key[0]}, sheet {key[1]}, from {_written(key[2])}"

    def cells(self, one: MachineTime) -> tuple[Any, ...]:
        return (
            one.sheet.batch.number,
            one.sheet.number,
            _written(one.began_at),
            _written(one.ended_at),
        )


MACHINE_TIMES = Desk("cut-times", lambda: (CutTimesSheet(),))


def machine_minutes(sheet_ids: Iterable[int]) -> dict[int, float]:
    """By sheet the minutes the machine cut it by its own record; absent without one. One query."""
    sums = defaultdict[int, float](float)
    rows = MachineTime.objects.filter(sheet_id__in=list(sheet_ids))
    for sheet_id, began_at, ended_at in rows.values_list("sheet_id", "began_at", "ended_at"):
        sums[sheet_id] += (ended_at - began_at).total_seconds() / 60
    return dict(sums)


def machine_pace() -> Pace | None:
    """The last recorded sheets' cutting beside what was reckoned for it, loading left out of both. Two queries."""
    last = list(
        CutSheet.objects.filter(machine_times__isnull=False, reckoning__isnull=False)
        .annotate(last=Max("machine_times__ended_at"))
        .order_by("-last", "-pk")
        .values_list("pk", "minutes", "reckoning__sheet_minutes")[:PACE_SHEETS]
    )
    if not last:
        return None
    took = machine_minutes(pk for pk, *_ in last)
    reckoned = float(sum(minutes - loading for _, minutes, loading in last))
    return Pace(len(last), sum(took.values()), reckoned)


def _moment(row: Row, column: str) -> datetime:
    value = row.values.get(column)
    try:
        found = value if isinstance(value, datetime) else datetime.fromisoformat(text(row, column))
        aware = found if timezone.is_aware(found) else timezone.make_aware(found)
        return aware.astimezone(timezone.get_current_timezone()).replace(microsecond=0)
    except (ValueError, OverflowError):
        raise ProblemError(
            Problem(
                f"“{text(row, column)[:40]}” is no time",
                row.where(column),
                "Write day and time, 2026-05-28 07:14:05 say.",
            )
        ) from None


def _written(moment: datetime) -> str:
    """Seconds are kept, and the zone, so that the hour that comes twice in autumn stays itself."""
    return timezone.localtime(moment).isoformat(sep=" ", timespec="seconds")
