"""Who is away and what stands: entered, ended sooner, taken back. The next plan reckons with it."""

from collections.abc import Iterable
from datetime import datetime
from typing import TypeVar

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils import timezone

from bom.catalogue.models import TrailerModel
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.shop.crew_models import Absence, Jig, JigRepair, Skill, Worker
from production.shop.models import Calendar, Downtime, WorkCentre

Row = TypeVar("Row", bound=models.Model)


@transaction.atomic
def note_absence(
    *, worker: Worker, starts_at: datetime, ends_at: datetime, reason: str, by: User | None
) -> Absence:
    """Somebody will be away.

    Raises:
        ProblemError: it ends before it starts, has no reason, or he is away then already.
    """
    where = f"absence of {worker}"
    twice = Absence.objects.filter(worker=worker, starts_at__lt=ends_at, ends_at__gt=starts_at).first()
    if twice is not None:
        raise ProblemError(
            Problem(
                f"{worker} is away then already ({twice.reason})",
                where,
                "Take that absence back, or give other days.",
            )
        )
    return _kept(
        Absence(worker=worker, starts_at=starts_at, ends_at=ends_at, reason=reason.strip(), entered_by=by),
        where,
    )


@transaction.atomic
def note_standing(
    *, work_centre: WorkCentre, starts_at: datetime, ends_at: datetime, units: int | None, reason: str
) -> Downtime:
    """Machines or bays of a work centre will stand: a breakdown, a service.

    Raises:
        ProblemError: it ends before it starts, has no reason, or more stand than there are.
    """
    where = work_centre.name
    _refuse_too_many(units, work_centre.units, where)
    row = Downtime(
        work_centre=work_centre, starts_at=starts_at, ends_at=ends_at, units=units, reason=reason.strip()
    )
    return _kept(row, where)


@transaction.atomic
def note_repair(
    *, jig: Jig, starts_at: datetime, ends_at: datetime, units: int | None, reason: str
) -> JigRepair:
    """A jig, or some of its kind, cannot be used.

    Raises:
        ProblemError: it ends before it starts, has no reason, or more are away than there are.
    """
    _refuse_too_many(units, jig.units, jig.name)
    row = JigRepair(jig=jig, starts_at=starts_at, ends_at=ends_at, units=units, reason=reason.strip())
    return _kept(row, jig.name)


@transaction.atomic
def end_now(row: Absence | Downtime | JigRepair) -> None:
    """Somebody is back, or something works again, sooner than was said. What has not begun is taken back whole."""
    now = timezone.now().replace(second=0, microsecond=0)
    if row.starts_at >= now:
        row.delete()
    elif row.ends_at > now:
        row.ends_at = now
        row.save(update_fields=["ends_at"])


@transaction.atomic
def keep_worker(
    *, worker: Worker | None, name: str, calendar: Calendar, skills: Iterable[Skill], is_active: bool
) -> Worker:
    """Somebody new, or what is changed about him.

    Raises:
        ProblemError: no name, or one that another has.
    """
    row = worker or Worker()
    row.name, row.calendar, row.is_active = name.strip(), calendar, is_active
    _kept(row, row.name or "worker")
    row.skills.set(skills)
    return row


@transaction.atomic
def keep_skill(*, name: str, code: str, process_id: int) -> Skill:
    """A skill that a process asks for from now on.

    Raises:
        ProblemError: the process asks for one already, or the code is taken.
    """
    return _kept(Skill(name=name.strip(), code=code.strip(), process_id=process_id), "skill")


@transaction.atomic
def keep_jig(
    *, jig: Jig | None, code: str, name: str, units: int, trailer_models: Iterable[TrailerModel]
) -> Jig:
    """A jig, or what is changed about it. A model stands in one jig only: the last said.

    Raises:
        ProblemError: no unit, or a code that another jig has.
    """
    row = jig or Jig()
    row.code, row.name, row.units = code.strip(), name.strip(), units
    _kept(row, row.name or "jig")
    chosen = list(trailer_models)
    for other in Jig.objects.filter(models__in=chosen).exclude(pk=row.pk).distinct():
        other.models.remove(*chosen)
    row.models.set(chosen)
    return row


def _refuse_too_many(units: int | None, there_are: int, where: str) -> None:
    if units is not None and not 1 <= units <= there_are:
        raise ProblemError(
            Problem(
                f"{units} cannot stand where there are {there_are}", where, "Leave it empty for all of them."
            )
        )


def _kept(row: Row, where: str) -> Row:
    try:
        row.full_clean()
    except ValidationError as error:
        raise ProblemError(
            *(Problem(message, where, "Write it differently.") for message in error.messages)
        ) from error
    row.save()
    return row
