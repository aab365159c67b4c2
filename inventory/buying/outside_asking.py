"""What the supplier says of a load that lies with him: the day he promises, and the answer when he is asked."""

from __future__ import annotations

from datetime import date

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.buying.models import PurchaseOrder
from inventory.buying.ordering import locked
from inventory.buying.outside_models import OutsideAnswer, OutsideLine


@transaction.atomic
def confirm_back(
    *, line: OutsideLine, promised_on: date, by: User | None, key: str, note: str = ""
) -> OutsideLine:
    """The supplier names the day it is back. The first promise is what being on time is judged by.

    A repeat of the key changes nothing.

    Raises:
        ProblemError: nothing lies outside any more, or the day has passed.
    """
    found = _open(line, doing="confirmed")
    if OutsideAnswer.objects.filter(key=key).exists():
        return found
    if promised_on < timezone.localdate():
        raise ProblemError(
            Problem("A day that has passed cannot be promised", str(found), "Enter today or a later day.")
        )
    OutsideAnswer.objects.create(
        line=found,
        key=key,
        by=by,
        at=timezone.now(),
        promised_on=promised_on,
        before_on=found.due_on,
        words=note.strip()[:300],
    )
    found.due_on = found.confirmed_on = promised_on
    found.save(update_fields=["due_on", "confirmed_on"])
    return found


@transaction.atomic
def chase_back(*, line: OutsideLine, answer: str, again_on: date, by: User | None, key: str) -> OutsideAnswer:
    """Keep that the supplier was asked about a load, what he said, and when to ask again.

    Raises:
        ProblemError: nothing lies outside, no answer was written, or the day to ask again has come already.
    """
    found = _open(line, doing="chased")
    before = OutsideAnswer.objects.filter(key=key).first()
    if before is not None:
        return before
    refuse_no_answer(answer, again_on, str(found))
    return OutsideAnswer.objects.create(
        line=found, key=key, by=by, at=timezone.now(), words=answer.strip()[:300], again_on=again_on
    )


def refuse_no_answer(answer: str, again_on: date, where: str) -> None:
    """Raises ProblemError where nothing was answered or the day to ask again has come."""
    if not answer.strip():
        raise ProblemError(Problem("What they answered is missing", where, "Write it down, or “no answer”."))
    if again_on <= timezone.localdate():
        raise ProblemError(
            Problem("The day to ask again has come already", where, "Choose tomorrow or a later day.")
        )


def _open(line: OutsideLine, *, doing: str) -> OutsideLine:
    order = locked(line.order, PurchaseOrder.State.RELEASED, doing=doing)
    found = OutsideLine.objects.select_related("service__supplier").get(pk=line.pk)
    found.order = order
    if found.is_closed:
        raise ProblemError(
            Problem("Nothing of this load lies outside any more", str(found), "It need not be asked about.")
        )
    return found
