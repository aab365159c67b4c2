"""What an inspected weld holds up: later work of its works order, until a permitted person clears it."""

from __future__ import annotations

from typing import Any

from django.db.models import OuterRef, Q, Subquery

from bom.kernel.errors import Problem
from production.works.card_models import CardLine, JobCard
from production.works.models import WorksOperation
from production.works.weld_models import JigSheet, WeldInspection

WELD = "weld"
LIVING = (JobCard.State.WAITING, JobCard.State.BEGUN, JobCard.State.DONE)


def held_by_weld(operation: WorksOperation) -> list[Problem]:
    """Inspections of welds before this operation that are not good and not cleared, and those that were never made
    although an item's sheet asks for one. Two queries."""
    found = list(
        WeldInspection.objects.filter(
            is_good=False,
            cleared_at__isnull=True,
            card__process__sequence__lt=operation.sequence,
            card__lines__operation__works_order=operation.works_order_id,
        )
        .select_related("card")
        .distinct()
        .order_by("at", "pk")
    )
    problems = [
        Problem(
            f"The weld on card {one.card.number} is not good: {one.words}",
            f"{operation.works_order.number}, {operation.process.name}",
            "Mend it, then ask who may to clear it on the card.",
        )
        for one in found
    ]
    return problems + _never_inspected(operation)


def _never_inspected(operation: WorksOperation) -> list[Problem]:
    latest: Any = JigSheet.objects.filter(item=OuterRef("item"), process=OuterRef("card__process"))
    lines = (
        CardLine.objects.filter(
            operation__works_order=operation.works_order_id,
            card__process__code=WELD,
            card__process__sequence__lt=operation.sequence,
            card__state__in=LIVING,
            card__inspections__isnull=True,
        )
        .annotate(is_asked_for=Subquery(latest.order_by("-number").values("is_inspected")[:1]))
        .filter(Q(("is_asked_for", True)))
        .select_related("card", "item")
        .order_by("card__number", "item__code")
    )
    return [
        Problem(
            f"Nobody has inspected the weld of {line.item.code}, card {line.card.number}",
            f"{operation.works_order.number}, {operation.process.name}",
            "Look at it and write down on the card what you found.",
        )
        for line in lines
    ]
