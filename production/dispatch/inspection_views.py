"""The inspector's screen: every check of one trailer, what was found, and the signature."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.quantities import format_quantity
from production.dispatch import inspecting
from production.dispatch.inspecting import Finding, Standing
from production.dispatch.models import CheckLine, CheckResult, Inspection
from production.orders.models import Order
from production.works import station_queries, tracking
from production.works.models import WorksOperation
from production.works.person import person

SHOWN = 40
LARGEST = Decimal(99_999_999)


@require_GET
def inspections(request: HttpRequest) -> HttpResponse:
    """The trailers to inspect, in the order of the plan."""
    jobs = list(station_queries.queue("inspect")[:SHOWN])
    return page(request, "dispatch/inspections.html", {"jobs": jobs, "most": SHOWN})


@require_http_methods(["GET", "POST"])
def inspection(request: HttpRequest, number: str) -> HttpResponse:
    """The checks of one trailer; a POST writes down what was found."""
    if request.method == "POST":
        return _record(request, number)
    return _page(request, number)


@require_POST
@needs("production.report_work")
def sign(request: HttpRequest, number: str) -> HttpResponse:
    order = get_object_or_404(Order, number=number)
    try:
        inspecting.sign(order=order, by=person(request))
    except ProblemError as refusal:
        return _page(request, number, refusal)
    messages.success(request, f"The inspection of order {number} is signed; the trailer waits at the gate.")
    return redirect("dispatch:trailer", number)


@require_POST
@needs("production.clear_check")
def clear(request: HttpRequest, number: str, row: int) -> HttpResponse:
    result = get_object_or_404(CheckResult, pk=row, inspection__order__number=number)
    try:
        inspecting.clear(result=result, by=person(request), reason=request.POST.get("reason", ""))
    except ProblemError as refusal:
        return _page(request, number, refusal)
    messages.success(request, f"Cleared: {result.words}.")
    return redirect("dispatch:inspection", number)


@require_POST
@needs("production.report_work")
def problem(request: HttpRequest, number: str) -> HttpResponse:
    operation = get_object_or_404(WorksOperation, process__code="inspect", works_order__order__number=number)
    try:
        tracking.report_problem(
            operation=operation, by=person(request), problem=request.POST.get("problem", "").strip()
        )
    except ProblemError as refusal:
        return _page(request, number, refusal)
    messages.success(request, f"Written down for order {number}: the manager sees it in the week.")
    return redirect("dispatch:inspection", number)


@needs("production.report_work")
def _record(request: HttpRequest, number: str) -> HttpResponse:
    order = get_object_or_404(Order, number=number)
    try:
        inspecting.record(order=order, findings=_findings(request.POST), by=person(request))
    except ProblemError as refusal:
        return _page(request, number, refusal)
    messages.success(request, f"Written down for order {number}.")
    return redirect("dispatch:inspection", number)


def _findings(posted: Mapping[str, str]) -> dict[int, Finding]:
    """What was filled in, by line id; what was left empty is left out. ProblemError for what is no number."""
    lines = {line.pk: line for line in CheckLine.objects.filter(pk__in=_ids(posted))}
    found, problems = {}, []
    for pk, line in lines.items():
        said, remark = posted.get(f"line-{pk}", "").strip(), posted.get(f"remark-{pk}", "")
        if not said:
            continue
        if not line.unit:
            found[pk] = Finding(is_good=said == "good", remark=remark)
            continue
        value = _number(said)
        if value is None:
            problems.append(
                Problem(f"“{said}” is no number", f"“{line.words}”", f"Write a figure in {line.unit}.")
            )
        else:
            found[pk] = Finding(value=value, remark=remark)
    if problems:
        raise ProblemError(*problems)
    return found


def _ids(posted: Mapping[str, str]) -> list[int]:
    words = [name.removeprefix("line-") for name in posted if name.startswith("line-")]
    return [int(word) for word in words if word.isdecimal() and len(word) < 10]


def _number(said: str) -> Decimal | None:
    try:
        value = Decimal(said.replace(",", ".")).quantize(Decimal("0.01"))
    except InvalidOperation:
        return None
    return value if value.is_finite() and abs(value) <= LARGEST else None


def limits_text(line: CheckLine | CheckResult) -> str:
    """The limits in words: "90 to 110 N·m", "at most 5 mm"."""
    low, high = line.low, line.high
    if low is not None and high is not None:
        return f"{format_quantity(low)} to {format_quantity(high)} {line.unit}"
    if low is not None:
        return f"at least {format_quantity(low)} {line.unit}"
    return f"at most {format_quantity(high)} {line.unit}" if high is not None else ""


def _page(request: HttpRequest, number: str, refusal: ProblemError | None = None) -> HttpResponse:
    order = get_object_or_404(Order.objects.select_related("customer", "model", "hull"), number=number)
    problems = list(refusal.problems) if refusal else []
    try:
        found = inspecting.standings(order)
    except ProblemError as error:
        found, problems = [], [*problems, *error.problems]
    done = Inspection.objects.filter(order=order).select_related("signed_by").first()
    context = {
        "order": order,
        "groups": _grouped(found, request.POST),
        "failed": [result for one in found for result in one.failed],
        "open": sum(one.latest is None for one in found),
        "inspection": done,
        "operation": WorksOperation.objects.filter(works_order__order=order, process__code="inspect").first(),
        "problems": problems,
    }
    return page(request, "dispatch/inspection.html", context, status=409 if refusal else 200)


def _grouped(found: list[Standing], posted: Mapping[str, str]) -> list[tuple[str, list[dict[str, object]]]]:
    """The checks under the names of their lists; what was typed and refused is kept in its field."""
    groups: dict[str, list[dict[str, object]]] = {}
    for one in found:
        groups.setdefault(one.line.check_list.name, []).append(
            {
                "one": one,
                "limits": limits_text(one.line),
                "typed": posted.get(f"line-{one.line.pk}", ""),
                "remark": posted.get(f"remark-{one.line.pk}", ""),
            }
        )
    return list(groups.items())
