"""What is to stay where it is in a new plan: what is frozen, what is held, and where the released plan has the rest."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from production.planning.models import Plan
from production.scheduling.asked.held_models import HeldOperation
from production.scheduling.asked.holding import broken_words, not_kept
from production.scheduling.asked.holds import Placed
from production.scheduling.asked.question import Question, operation_name
from production.scheduling.making.answering import batch_names
from production.scheduling.models import PlannedOperation
from production.shop.calendars import Shop


def frozen_starts(plan: Plan, shop: Shop) -> dict[str, int]:
    """Starts of the released plan within the hours in which nothing is to move. One query at most."""
    if not plan.frozen_hours:
        return {}
    now = shop.clock.starts_at
    rows = PlannedOperation.objects.filter(
        plan__is_current=True,
        operation__isnull=False,
        starts_at__gte=now,
        starts_at__lt=now + timedelta(hours=plan.frozen_hours),
    )
    return {
        operation_name(number, process): shop.clock.minute(starts_at)
        for number, process, starts_at in rows.values_list(
            "order__number", "operation__process__code", "starts_at"
        )
    }


def starts_before(shop: Shop) -> dict[str, int]:
    """Where the released plan has each operation, so that a new plan moves little. One query."""
    rows = PlannedOperation.objects.filter(plan__is_current=True, operation__isnull=False)
    return {
        operation_name(number, process): max(0, shop.clock.minute(starts_at))
        for number, process, starts_at in rows.values_list(
            "order__number", "operation__process__code", "starts_at"
        )
    }


def not_kept_notes(
    plan: Plan, holds: Sequence[HeldOperation], placed: Placed, question: Question, shop: Shop
) -> list[str]:
    """Of every held operation that this plan does not begin at its time, by name, why not."""
    names = batch_names(question, plan.number)
    places = {centre.code: centre.name for centre in shop.centres}
    return [
        not_kept(row, broken_words(one, names, places, shop.clock))
        for one in placed.broken
        for row in holds
        if row.name == one.operation
    ]
