"""Overtime, extra shifts and extra lorry runs: put into force, taken back, and what they cost."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.shop.extra_models import ExtraHours, ExtraRun, OvertimeTerms
from production.shop.hours import DifferentDay
from production.shop.models import WorkCentre

# Where nothing was ever said: common practice, no source.
USUAL_TERMS = (Decimal("1.50"), Decimal("1.30"), Decimal("120.00"))


@dataclass(frozen=True)
class Terms:
    """What an hour of overtime and of an extra shift costs against a usual one, and an extra run of the lorry."""

    overtime_factor: Decimal
    shift_factor: Decimal
    extra_run_price: Decimal

    def factor(self, kind: str) -> Decimal:
        return self.shift_factor if kind == ExtraHours.Kind.SHIFT else self.overtime_factor


def terms_on(day: date) -> Terms:
    """The terms in force on a day. One query."""
    row = OvertimeTerms.objects.filter(from_day__lte=day).first()
    if row is None:
        return Terms(*USUAL_TERMS)
    return Terms(row.overtime_factor, row.shift_factor, row.extra_run_price)


@transaction.atomic
def set_terms(*, from_day: date, overtime: Decimal, shift: Decimal, run: Decimal) -> OvertimeTerms:
    """Terms from a day on; said again for the same day, the later word holds.

    Raises:
        ProblemError: a factor not above 0, or a price below 0.
    """
    row = OvertimeTerms.objects.filter(from_day=from_day).first() or OvertimeTerms(from_day=from_day)
    row.overtime_factor, row.shift_factor, row.extra_run_price = overtime, shift, run
    _check(row, "overtime terms")
    row.save()
    return row


@transaction.atomic
def set_extra_hours(
    *, work_centre: WorkCentre, date: date, kind: str, hours: tuple[time, time] | None, by: User | None
) -> ExtraHours | None:
    """Open a work centre on one day besides its usual hours; none takes extra hours of that kind back.

    Raises:
        ProblemError: the hours end before they start.
    """
    rows = ExtraHours.objects.filter(work_centre=work_centre, date=date, kind=kind)
    if hours is None:
        rows.delete()
        return None
    row = rows.first() or ExtraHours(work_centre=work_centre, date=date, kind=kind)
    row.starts, row.ends = hours
    row.by = by
    _check(row, f"{work_centre.name}, {date:%d %b}")
    row.save()
    return row


@transaction.atomic
def set_extra_run(*, date: date, is_wanted: bool, by: User | None) -> ExtraRun | None:
    """Have the lorry call on a day besides its usual ones, or call that off."""
    if is_wanted:
        return ExtraRun.objects.get_or_create(date=date, defaults={"by": by})[0]
    ExtraRun.objects.filter(date=date).delete()
    return None


def extra_hours() -> dict[int, tuple[DifferentDay, ...]]:
    """Extra hours in force, by work centre. One query."""
    found: dict[int, list[DifferentDay]] = defaultdict(list)
    for row in ExtraHours.objects.all():
        found[row.work_centre_id].append(
            DifferentDay(row.date, True, row.starts, row.ends, row.get_kind_display())
        )
    return {pk: tuple(days) for pk, days in found.items()}


def extra_runs() -> list[date]:
    """The days of extra lorry runs in force. One query."""
    return list(ExtraRun.objects.values_list("date", flat=True))


def _check(row: ExtraHours | OvertimeTerms, place: str) -> None:
    try:
        row.full_clean()
    except ValidationError as error:
        raise ProblemError(
            *(Problem(message, place, "Write other figures.") for message in error.messages)
        ) from error
