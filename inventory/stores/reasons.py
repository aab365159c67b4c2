"""Coded reasons: those offered, and the first ones that a new workshop begins with (common practice, no source)."""

from __future__ import annotations

from django.db import transaction
from django.db.models import QuerySet

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from inventory.stock.models import ReasonCode

Use = ReasonCode.Use

FIRST_CODES: tuple[tuple[str, str, str], ...] = (
    (Use.SCRAP, "damaged", "damaged in stores"),
    (Use.SCRAP, "work", "spoilt at work"),
    (Use.SCRAP, "old", "too old or corroded"),
    (Use.SCRAP, "design", "no longer used in any trailer"),
    (Use.HOLD, "inspect", "to be inspected"),
    (Use.HOLD, "size", "wrong size or shape"),
    (Use.HOLD, "papers", "papers or certificate missing"),
    (Use.HOLD, "carriage", "damaged in carriage"),
    (Use.SEND_BACK, "faulty", "faulty"),
    (Use.SEND_BACK, "wrong", "not what was ordered"),
    (Use.SEND_BACK, "surplus", "more than was ordered"),
    (Use.SEND_BACK, "carriage", "damaged in carriage"),
    (Use.REASSIGN, "sooner", "the other order goes sooner"),
    (Use.REASSIGN, "waits", "this order waits for something else"),
    (Use.REASSIGN, "changed", "the order was changed"),
    (Use.REASSIGN, "customer", "agreed with the customer"),
)


def reason_codes(use: str) -> QuerySet[ReasonCode]:
    """The codes offered for this use. A workshop that has none at all gets the first ones."""
    if not ReasonCode.objects.exists():
        ReasonCode.objects.bulk_create(
            [ReasonCode(use=one, code=code, name=name) for one, code, name in FIRST_CODES],
            ignore_conflicts=True,
        )
    return ReasonCode.objects.filter(use=use, is_active=True)


@transaction.atomic
def add_reason(*, use: str, code: str, name: str, by: User | None) -> ReasonCode:
    """A further reason to choose from.

    Raises:
        ProblemError: the code is taken, or nothing is said.
    """
    if not code.strip() or not name.strip():
        raise ProblemError(Problem("A reason needs a code and words", "reasons", "Fill in both."))
    if ReasonCode.objects.filter(use=use, code=code).exists():
        raise ProblemError(Problem(f"The code {code} is taken", "reasons", "Choose another."))
    return ReasonCode.objects.create(use=use, code=code, name=name.strip())


@transaction.atomic
def retire_reason(*, reason: ReasonCode, is_active: bool, by: User | None) -> ReasonCode:
    """Offer a reason no longer, or again. Old postings keep it."""
    reason.is_active = is_active
    reason.save(update_fields=["is_active"])
    return reason


def said(code: ReasonCode | None, remark: str) -> str:
    """How a coded reason and a remark are written on a posting."""
    return ": ".join(part for part in (code.name if code else "", remark.strip()) if part)[:200]
