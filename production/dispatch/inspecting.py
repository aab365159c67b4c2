"""The inspection: which checks a trailer needs, what was found, what was cleared, and the signature.

Results are added, never changed. A check that failed holds the trailer until a permitted person clears it with a
reason; that it was measured again and is good does not clear it by itself, because somebody has to answer for it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from bom.catalogue.configuring import Range, configuration_of, known_names
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from bom.structure.conditions import Scope, compile_condition
from production.dispatch.models import CheckLine, CheckList, CheckResult, Clearance, Inspection
from production.orders.models import Order
from production.orders.queries import answers_of
from production.works.models import WorksOperation
from production.works.tracking import begin_operation, finish_operation


@dataclass(frozen=True)
class Finding:
    """What a person found at one line: a value where one is measured, else good or not."""

    value: Decimal | None = None
    is_good: bool | None = None
    remark: str = ""


@dataclass(frozen=True)
class Standing:
    """One line of a trailer's inspection, its latest result, and failed results that nobody has cleared."""

    line: CheckLine
    latest: CheckResult | None
    failed: tuple[CheckResult, ...]

    @property
    def word(self) -> str:
        if self.failed:
            return "failed"
        if self.latest is None:
            return "open"
        return "good" if self.latest.is_good else "cleared"


def wanted_lines(order: Order) -> list[CheckLine]:
    """The lines that this trailer needs, by its model and what was ordered. Four queries whatever their number.

    Raises:
        ProblemError: a condition that cannot be worked out for this order.
    """
    scope = configuration_of(answers_of([order])[order.pk], _only(order))
    lines = CheckLine.objects.filter(is_active=True, check_list__is_active=True).select_related("check_list")
    return [line for line in lines if _applies(line, order, scope)]


def standings(order: Order) -> list[Standing]:
    """Every wanted line with what was found. Lines that were looked at and are wanted no more stay in the list."""
    lines = {line.pk: line for line in wanted_lines(order)}
    latest: dict[int, CheckResult] = {}
    failed: dict[int, list[CheckResult]] = {}
    rows = CheckResult.objects.filter(inspection__order=order).select_related(
        "line__check_list", "by", "clearance__by"
    )
    for result in rows.order_by("pk"):
        lines.setdefault(result.line_id, result.line)
        latest[result.line_id] = result
        if not result.is_good and not hasattr(result, "clearance"):
            failed.setdefault(result.line_id, []).append(result)
    return [Standing(line, latest.get(pk), tuple(failed.get(pk, ()))) for pk, line in lines.items()]


def open_problems(order: Order) -> list[Problem]:
    """What still keeps this trailer from being signed."""
    where = f"order {order.number}"
    found = standings(order)
    if not found:
        return [Problem("No check list speaks of this trailer", where, "Write one, or take the usual ones.")]
    problems = []
    for one in found:
        if one.latest is None:
            problems.append(
                Problem(f"Not looked at: {one.line.words}", where, "Look at it and write it down.")
            )
        problems += [
            Problem(
                f"Failed: {result.words}{_measured(result)}",
                where,
                "Put it right; then a permitted person clears it and says why.",
            )
            for result in one.failed
        ]
    return problems


@transaction.atomic
def record(*, order: Order, findings: Mapping[int, Finding], by: User) -> Inspection:
    """Write down what was found, by line id. The same finding as the latest of a line changes nothing.

    Raises:
        ProblemError: the trailer is not at inspection, a line does not belong to it, a value is missing, or the
            inspection is signed already.
    """
    order = Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    begin_operation(operation=_operation(order), by=by)
    inspection, _ = Inspection.objects.get_or_create(order=order, defaults={"begun_by": by})
    if inspection.signed_at:
        raise ProblemError(
            Problem("The inspection is signed", f"order {order.number}", "Nothing is added to it.")
        )
    before = {one.line.pk: one for one in standings(order)}
    unknown = [pk for pk in findings if pk not in before]
    problems = [
        Problem("A check does not belong to this trailer", f"check {pk}", "Load the page again.")
        for pk in unknown
    ]
    rows = []
    for pk, finding in findings.items():
        if pk in before:
            made = _result(inspection, before[pk].line, finding, by)
            if isinstance(made, Problem):
                problems.append(made)
            elif not _is_same(before[pk].latest, made):
                rows.append(made)
    if problems:
        raise ProblemError(*problems)
    CheckResult.objects.bulk_create(rows)
    return inspection


@transaction.atomic
def clear(*, result: CheckResult, by: User, reason: str) -> Clearance:
    """Clear a failed result. One that is cleared already is left as it is.

    Raises:
        ProblemError: no reason is given, or the result is good.
    """
    Inspection.objects.select_for_update().get(pk=result.inspection_id)
    reason = reason.strip()
    where = f"“{result.words}”"
    found: Clearance | None = Clearance.objects.filter(result=result).first()
    if found is not None:
        return found
    if result.is_good:
        raise ProblemError(Problem("This check did not fail", where, "There is nothing to clear."))
    if not 3 <= len(reason) <= 200:
        raise ProblemError(
            Problem(
                "A failed check is cleared only with a reason",
                where,
                "Say in 3 to 200 characters what was done.",
            )
        )
    made: Clearance = Clearance.objects.create(result=result, by=by, reason=reason)
    return made


@transaction.atomic
def sign(*, order: Order, by: User) -> Inspection:
    """The trailer is passed: who and when is written down, its inspection is done. A second time changes nothing.

    Raises:
        ProblemError: something was not looked at, failed and is not cleared, or earlier work is unfinished.
    """
    order = Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    inspection = Inspection.objects.filter(order=order).first()
    if inspection and inspection.signed_at:
        return inspection
    if problems := open_problems(order):
        raise ProblemError(*problems)
    finish_operation(operation=_operation(order), by=by)
    inspection = Inspection.objects.get(order=order)
    inspection.signed_by, inspection.signed_at = by, timezone.now()
    inspection.save(update_fields=["signed_by", "signed_at"])
    return inspection


def passes(line: CheckLine, value: Decimal) -> bool:
    """Whether a measured value lies within the line's limits; the limits themselves pass."""
    return (line.low is None or value >= line.low) and (line.high is None or value <= line.high)


def check_condition(text: str) -> None:
    """Refuse a condition that is no CEL or names what nobody knows (ProblemError)."""
    compile_condition(text, known_names())


def lists_with_lines() -> list[CheckList]:
    """Every check list with its lines in use. Two queries."""
    lists = list(CheckList.objects.select_related("model"))
    by_list: dict[int, list[CheckLine]] = {}
    for line in CheckLine.objects.filter(is_active=True).order_by("sequence", "pk"):
        by_list.setdefault(line.check_list_id, []).append(line)
    for one in lists:
        one.used_lines = by_list.get(one.pk, [])  # type: ignore[attr-defined]
    return lists


def _only(order: Order) -> Range:
    """As much of the catalogue as conditions look at: the order's model."""
    return Range({order.model.code: order.model}, {}, {}, {}, {}, (), {})


def _applies(line: CheckLine, order: Order, scope: Scope) -> bool:
    check_list = line.check_list
    if check_list.model_id not in (None, order.model_id):
        return False
    try:
        return compile_condition(check_list.condition).holds(scope) and compile_condition(
            line.condition
        ).holds(scope)
    except ProblemError as error:
        raise error.within(f"check list {check_list.name}, “{line.words}”") from error


def _operation(order: Order) -> WorksOperation:
    found = WorksOperation.objects.filter(works_order__order=order, process__code="inspect").first()
    if found is None:
        raise ProblemError(
            Problem(
                "This order has no inspection among its work", f"order {order.number}", "Look at its bill."
            )
        )
    return found


def _result(inspection: Inspection, line: CheckLine, finding: Finding, by: User) -> CheckResult | Problem:
    where = f"“{line.words}”"
    if line.unit and finding.value is None:
        return Problem("A value is to be measured here", where, f"Write it in {line.unit}.")
    if not line.unit and finding.is_good is None:
        return Problem("Nothing was said here", where, "Say good or not good.")
    is_good = (
        passes(line, finding.value) if line.unit and finding.value is not None else bool(finding.is_good)
    )
    return CheckResult(
        inspection=inspection,
        line=line,
        words=line.words,
        unit=line.unit,
        low=line.low,
        high=line.high,
        value=finding.value if line.unit else None,
        is_good=is_good,
        remark=finding.remark.strip()[:200],
        by=by,
        at=timezone.now(),
    )


def _is_same(before: CheckResult | None, now: CheckResult) -> bool:
    return before is not None and (before.value, before.is_good, before.remark) == (
        now.value,
        now.is_good,
        now.remark,
    )


def _measured(result: CheckResult) -> str:
    return "" if result.value is None else f", {result.value} {result.unit} measured"
