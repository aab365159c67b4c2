"""Hourly rates and allowances: written with the day from which they hold, so that old costs can be told again."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, FilteredRelation, Q

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.shop.models import CostAllowance, WorkCentre, WorkCentreRate


@transaction.atomic
def set_rate(
    *,
    work_centre: WorkCentre,
    from_day: date,
    labour_per_hour: Decimal,
    overhead_per_hour: Decimal,
    by: User | None,
    note: str = "",
) -> WorkCentreRate:
    """What an hour costs from a day on; said again for the same day, the later word holds.

    Raises:
        ProblemError: a figure below nothing or too large.
    """
    found = WorkCentreRate.objects.filter(work_centre=work_centre, from_day=from_day).first()
    rate = found or WorkCentreRate(work_centre=work_centre, from_day=from_day)
    rate.labour_per_hour, rate.overhead_per_hour, rate.note = labour_per_hour, overhead_per_hour, note
    _check(rate, f"rate of {work_centre.name} from {from_day:%d %b %Y}")
    rate.save()
    return rate


@transaction.atomic
def set_allowances(
    *,
    from_day: date,
    sheet_yield: Decimal,
    bar_yield: Decimal,
    scrap_share: Decimal,
    usual_load_kg: int,
    by: User | None,
    note: str = "",
) -> CostAllowance:
    """Yields, scrap and the usual load from a day on; said again for the same day, the later word holds.

    Raises:
        ProblemError: a yield that is not above 0 and at most 1, or a scrap allowance not below 1.
    """
    found = CostAllowance.objects.filter(from_day=from_day).first()
    row = found or CostAllowance(from_day=from_day)
    row.sheet_yield, row.bar_yield, row.scrap_share = sheet_yield, bar_yield, scrap_share
    row.usual_load_kg, row.note = usual_load_kg, note
    _check(row, f"allowances from {from_day:%d %b %Y}")
    row.save()
    return row


def rates_on(day: date) -> dict[str, WorkCentreRate]:
    """By process code the rate in force on a day; a work centre without one gives its own hourly rate, unsaved.

    Where several work centres do one process, the first in the shop's order counts. Rates come in that order. One
    query.
    """
    rates: dict[str, WorkCentreRate] = {}
    for centre in (
        WorkCentre.objects.annotate(
            dated=FilteredRelation("rates", condition=Q(rates__from_day__lte=day)), rate=F("dated__pk")
        )
        .annotate(
            since=F("dated__from_day"),
            labour=F("dated__labour_per_hour"),
            overhead=F("dated__overhead_per_hour"),
            why=F("dated__note"),
        )
        .select_related("process")
        .order_by("sequence", "code", "-since")
    ):
        rates.setdefault(centre.process.code, _in_force(centre, day))
    return rates


def allowances_on(day: date) -> CostAllowance | None:
    """The allowances in force on a day, or None where nothing was ever said. One query."""
    return CostAllowance.objects.filter(from_day__lte=day).first()


def _in_force(centre: Any, day: date) -> WorkCentreRate:
    if centre.rate is None:
        return WorkCentreRate(work_centre=centre, from_day=day, labour_per_hour=centre.hourly_rate)
    return WorkCentreRate(
        pk=centre.rate,
        work_centre=centre,
        from_day=centre.since,
        labour_per_hour=centre.labour,
        overhead_per_hour=centre.overhead,
        note=centre.why,
    )


def _check(row: WorkCentreRate | CostAllowance, place: str) -> None:
    try:
        row.full_clean()
    except ValidationError as error:
        raise ProblemError(
            *(Problem(message, place, "Write another figure.") for message in error.messages)
        ) from error
