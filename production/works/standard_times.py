"""Standard times corrected from what the floor took, with a person's consent, and taken back."""

from collections import defaultdict
from decimal import Decimal

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.structure.models import Process
from production.works.models import WorksOperation
from production.works.time_models import TimeCorrection

LEAST, MOST = Decimal("0.1"), Decimal(10)


def factors_in_force() -> dict[str, Decimal]:
    """By process code, the product of its corrections that are not undone. One query."""
    found: dict[str, Decimal] = defaultdict(lambda: Decimal(1))
    for code, factor in TimeCorrection.objects.filter(undone_at__isnull=True).values_list(
        "process__code", "factor"
    ):
        found[code] *= factor
    return dict(found)


@transaction.atomic
def correct_times(*, process: Process, factor: Decimal, operations: int, by: User) -> TimeCorrection:
    """Multiply the minutes of a process: of what nobody has begun, and of every order confirmed from now on.

    Raises:
        ProblemError: a factor that makes no sense.
    """
    if not LEAST <= factor <= MOST:
        raise ProblemError(
            Problem(f"Times cannot be corrected by {factor}", process.name, f"Give {LEAST} to {MOST}.")
        )
    made = TimeCorrection.objects.create(process=process, factor=factor, operations=operations, by=by)
    _waiting(process).update(minutes=F("minutes") * factor)
    return made


@transaction.atomic
def undo_correction(*, correction: TimeCorrection, by: User) -> TimeCorrection:
    """Take a correction back: what nobody has begun since gets its minutes back. One undone already stays so."""
    rows = TimeCorrection.objects.select_for_update(of=("self",)).select_related("process")
    correction = rows.get(pk=correction.pk)
    if correction.undone_at is None:
        correction.undone_at = timezone.now()
        correction.save(update_fields=["undone_at"])
        _waiting(correction.process).update(minutes=F("minutes") / correction.factor)
    return correction


def _waiting(process: Process) -> QuerySet[WorksOperation]:
    return WorksOperation.objects.filter(process=process, state=WorksOperation.State.WAITING)
