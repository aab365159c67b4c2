"""Inspecting the welds of a card, and clearing what was found not good."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.works.card_making import locked_card
from production.works.card_models import JobCard
from production.works.weld_holding import WELD
from production.works.weld_models import WeldInspection

LONGEST = 200


@transaction.atomic
def inspect_weld(
    *, card: JobCard, is_good: bool, words: str, by: User, key: str, at: datetime | None = None
) -> WeldInspection:
    """Write down what was found at the welds of a card. The same key again returns the first result.

    Raises:
        ProblemError: the card is of another station or was not begun, or a fault without words.
    """
    card = locked_card(card)
    if before := WeldInspection.objects.filter(key=key).first():
        return before
    problems = []
    if card.process.code != WELD:
        problems.append(
            Problem(f"Card {card.number} is no weld", card.number, f"It belongs to {card.process.name}.")
        )
    if card.state not in (JobCard.State.BEGUN, JobCard.State.DONE):
        problems.append(
            Problem(
                f"Card {card.number} is {card.get_state_display()}: nothing is welded yet",
                card.number,
                "Inspect it when it is begun.",
            )
        )
    if not is_good and not words.strip():
        problems.append(Problem("It is not said what is wrong", card.number, "Say what you see, and where."))
    if problems:
        raise ProblemError(*problems)
    return WeldInspection.objects.create(
        key=key, card=card, is_good=is_good, words=words.strip()[:LONGEST], by=by, at=at or timezone.now()
    )


@transaction.atomic
def clear_weld(*, inspection: WeldInspection, reason: str, by: User) -> WeldInspection:
    """A permitted person lets it go on, and says why. One that is cleared, or good, stays as it is.

    Raises:
        ProblemError: no reason.
    """
    locked_card(inspection.card)
    inspection = WeldInspection.objects.select_related("card", "by").get(pk=inspection.pk)
    if not inspection.holds:
        return inspection
    if not reason.strip():
        mend = "Say what was done about it, and why it may go on."
        raise ProblemError(Problem("No reason is given", inspection.card.number, mend))
    inspection.cleared_by, inspection.cleared_at = by, timezone.now()
    inspection.clearance = reason.strip()[:LONGEST]
    inspection.save(update_fields=["cleared_by", "cleared_at", "clearance"])
    return inspection
