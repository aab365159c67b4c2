"""Holding what was moved on the board and released, and letting it go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.coating.models import LoadLine
from production.orders.models import Order
from production.planning.models import Plan
from production.scheduling.asked.draft_models import PlanChange
from production.scheduling.asked.held_models import HeldOperation
from production.scheduling.asked.holds import FULL, PASSED
from production.scheduling.asked.question import operation_name
from production.scheduling.asked.trying import Hindrance
from production.scheduling.models import PlannedOperation
from production.shop.hours import Clock
from production.works.models import WorksOperation

LATELY = timedelta(days=2)
# Notes of a plan that begin so are of that plan alone; a plan made from it says its own.
NOT_KEPT = "Not where it is held: "


def live_holds() -> list[HeldOperation]:
    """What is held and not begun, the soonest first. One query."""
    return list(_waiting().filter(let_go_at__isnull=True))


def holds_and_let_go() -> tuple[list[HeldOperation], list[HeldOperation]]:
    """What is held, the soonest first, and what was let go in the last two days and is not held again, the latest
    first. One query."""
    rows = list(_waiting().filter(Q(let_go_at__isnull=True) | Q(let_go_at__gte=timezone.now() - LATELY)))
    live = [row for row in rows if row.let_go_at is None]
    held = {row.operation_id for row in live}
    gone = [(row.let_go_at, row) for row in rows if row.let_go_at and row.operation_id not in held]
    return live, [row for _, row in sorted(gone, key=lambda one: one[0], reverse=True)]


def _waiting() -> QuerySet[HeldOperation]:
    return HeldOperation.objects.filter(
        operation__state=WorksOperation.State.WAITING, operation__works_order__order__state__in=Order.OPEN
    ).select_related("operation__process", "operation__works_order__order", "by", "let_go_by")


def held_minutes(holds: Iterable[HeldOperation], clock: Clock) -> dict[str, int]:
    """By the scheduler's name, the minute at which each is held; below 0 where that has passed."""
    return {row.name: clock.minute(row.starts_at) for row in holds}


@transaction.atomic
def hold_what_was_moved(plan: Plan) -> int:
    """Hold each operation that was moved for this plan where the plan has it. Returns how many.

    Cut batches are not held: every plan gathers them anew.
    """
    moved = {
        change.operation: change
        for change in PlanChange.objects.filter(
            plan=plan, in_plan=True, was_released=False, kind=PlanChange.Kind.MOVE
        ).order_by("sequence")
    }
    if not moved:
        return 0
    starts = _starts(plan)
    operations = _operations(name for name in moved if name in starts)
    now = timezone.now()
    HeldOperation.objects.filter(operation__in=operations.values(), let_go_at__isnull=True).update(
        let_go_at=now, let_go_by=None
    )
    HeldOperation.objects.bulk_create(
        HeldOperation(operation_id=pk, starts_at=starts[name], plan=plan, by_id=moved[name].by_id)
        for name, pk in operations.items()
    )
    return len(operations)


def _starts(plan: Plan) -> dict[str, datetime]:
    """Where the plan has each operation of an order; what the laser cuts is in batches. Two queries."""
    rows = PlannedOperation.objects.filter(plan=plan, operation__isnull=False)
    starts = {
        operation_name(number, process): starts_at
        for number, process, starts_at in rows.exclude(operation__process__code="laser").values_list(
            "order__number", "operation__process__code", "starts_at"
        )
    }
    loads = LoadLine.objects.filter(load__plan=plan).values_list("order__number", "load__leaves_at")
    return starts | {operation_name(number, "galvanise"): leaves_at for number, leaves_at in loads}


def _operations(names: Iterable[str]) -> dict[str, int]:
    """By the scheduler's name, the operation that waits. One query."""
    wanted = set(names)
    rows = WorksOperation.objects.filter(
        works_order__order__number__in={name.partition(" ")[0] for name in wanted},
        state=WorksOperation.State.WAITING,
    ).values_list("works_order__order__number", "process__code", "pk")
    found = {operation_name(number or "", process): pk for number, process, pk in rows}
    return {name: found[name] for name in wanted if name in found}


@transaction.atomic
def let_go(*, hold: HeldOperation, by: User | None) -> HeldOperation:
    """Let the next plan put it where it does best. What is let go already is left as it is."""
    row = _locked(hold)
    if row.let_go_at is None:
        row.let_go_at, row.let_go_by = timezone.now(), by
        row.save(update_fields=["let_go_at", "let_go_by"])
    return row


@transaction.atomic
def hold_again(*, hold: HeldOperation) -> HeldOperation:
    """Take "let go" back. What is held already is left as it is.

    Raises:
        ProblemError: it was begun since, or has been moved and released anew.
    """
    row = _locked(hold)
    if row.let_go_at is None:
        return row
    others = HeldOperation.objects.filter(operation=row.operation_id, let_go_at__isnull=True)
    if row.operation.state != WorksOperation.State.WAITING or others.exists():
        raise ProblemError(
            Problem(
                f"{row.words[0].upper()}{row.words[1:]} cannot be held there again",
                "it is begun, or held at another time",
                "Look at it on the board.",
            )
        )
    row.let_go_at, row.let_go_by = None, None
    row.save(update_fields=["let_go_at", "let_go_by"])
    return row


def _locked(hold: HeldOperation) -> HeldOperation:
    return (
        HeldOperation.objects.select_for_update(of=("self",))
        .select_related("operation__process", "operation__works_order__order")
        .get(pk=hold.pk)
    )


def not_kept(row: HeldOperation, reason: str) -> str:
    """What a plan notes of a hold that it does not keep."""
    at = timezone.localtime(row.starts_at)
    return f"{NOT_KEPT}{row.words}, {_moment(at)}. {reason}"


def broken_words(one: Hindrance, batches: Mapping[str, str], places: Mapping[str, str], clock: Clock) -> str:
    """Why a held operation does not begin at its time. `batches` and `places` are names by the scheduler's."""
    if one.kind == PASSED:
        return "That time has passed and its work is not begun."
    if one.kind == FULL:
        return "What leads up to it no longer fits into the time the plan looks ahead."
    until = _moment(clock.moment(one.minute))
    if one.kind == "material":
        return f"It waits until {until}{' for ' + one.subject if one.subject else ''}."
    if one.kind == "closed":
        return (
            f"{places.get(one.subject, 'The station')} is closed then; it can begin {until} at the soonest."
        )
    number, _, process = one.subject.partition(" ")
    other = f"cut batch {batches[one.subject]}" if one.subject in batches else f"order {number}, {process}"
    if one.kind == "after":
        return f"{other[0].upper()}{other[1:]} comes before it and ends {until}."
    return f"Every place there is taken{' with ' + other if number else ''} until {until}."


def _moment(moment: datetime) -> str:
    return f"{moment:%a} {moment.day} {moment:%b} {moment:%H:%M}"
