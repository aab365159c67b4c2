"""Screens of the stations that take orders one by one: saw, fold, weld."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from production.shop.crew_models import Jig
from production.works import cards, station_queries, tracking
from production.works.card_queries import open_cards_of
from production.works.fold_sheets import fold_sheets
from production.works.jig_sheets import sheets_in_force
from production.works.models import WorksOperation
from production.works.person import person
from production.works.station_tables import QueueTable

SMALL = 2
DAYS_AHEAD = 4

# Stations that gather orders into batches have screens of their own.
ELSEWHERE = {
    "laser": "laser:station",
    "galvanise": "coating:galvanising",
    "powder": "coating:powder",
    "assemble": "assembly:kits",
    "inspect": "dispatch:inspections",
}


@require_GET
def station(request: HttpRequest, process: str, number: str | None = None) -> HttpResponse:
    """The next job large (or the one scanned), the next two small."""
    if process == "inspect" and number:
        return redirect("dispatch:inspection", number)
    if process in ELSEWHERE:
        return redirect(ELSEWHERE[process])
    _known(process)
    return _station_page(request, process, number)


@require_GET
def whole_queue(request: HttpRequest, process: str) -> HttpResponse:
    """Everything that waits at a station, with export."""
    _known(process)
    first = station_queries.queue(process)
    return table_page(
        request,
        table_class=QueueTable,
        queryset=first,
        template="works/queue.html",
        export_name=f"queue-{process}",
        context={"process": process},
    )


@require_POST
@needs("production.report_work")
def begin(request: HttpRequest, process: str, number: str) -> HttpResponse:
    operation = _operation(process, number)
    try:
        cards.start_operation(operation=operation, by=person(request))
    except ProblemError as refusal:
        return _station_page(request, process, number, refusal)
    return redirect("works:job", process, number)


@require_POST
@needs("production.report_work")
def finish(request: HttpRequest, process: str, number: str) -> HttpResponse:
    """Done, where no screen of its own says so: an inspection is signed at the gate."""
    if process in ELSEWHERE:
        return redirect(ELSEWHERE[process])
    operation = _operation(process, number)
    try:
        tracking.finish_operation(operation=operation, by=person(request))
    except ProblemError as refusal:
        return _station_page(request, process, number, refusal)
    messages.success(request, f"{operation.process.name} of order {number} is done.")
    return redirect("works:station", process)


@require_POST
@needs("production.report_work")
def undo(request: HttpRequest, process: str, number: str) -> HttpResponse:
    """Take "done" back, by the mirror posting, as long as nothing was built on it."""
    operation = _operation(process, number)
    try:
        tracking.undo_finish(operation=operation, by=person(request))
    except ProblemError as refusal:
        return _station_page(request, process, number, refusal)
    messages.success(request, f"{operation.process.name} of order {number} is unfinished again.")
    return redirect("works:job", process, number)


@require_POST
@needs("production.report_work")
def problem(request: HttpRequest, process: str, number: str) -> HttpResponse:
    operation = _operation(process, number)
    try:
        tracking.report_problem(
            operation=operation, by=person(request), problem=request.POST.get("problem", "").strip()
        )
    except ProblemError as refusal:
        return _station_page(request, process, number, refusal)
    messages.success(request, f"Written down for order {number}: the manager sees it in the week.")
    return redirect("works:station", process)


def _known(process: str) -> None:
    if process not in station_queries.WAITS_FOR:
        raise Http404(f"There is no station {process}.")


def _operation(process: str, number: str) -> WorksOperation:
    _known(process)
    return get_object_or_404(
        WorksOperation.objects.select_related("process", "works_order__order"),
        process__code=process,
        works_order__order__number=number,
    )


def _station_page(
    request: HttpRequest, process: str, number: str | None, refusal: ProblemError | None = None
) -> HttpResponse:
    jobs = list(station_queries.queue(process)[: SMALL + 8])
    job = next((one for one in jobs if _number(one) == number), None)
    if number and job is None:
        job = _one_job(process, number)
    elif job is None:
        job = jobs[0] if jobs else None
    rest = [one for one in jobs if job is None or one.pk != job.pk]
    context: dict[str, Any] = {
        "process": process,
        "job": job,
        "begun": [one for one in rest if one.state == WorksOperation.State.BEGUN],
        "then": [one for one in rest if one.state == WorksOperation.State.WAITING][:SMALL],
        "problems": refusal.problems if refusal else (),
        "cards": open_cards_of([job.pk]).get(job.pk, []) if job else [],
        "ahead": station_queries.days_ahead(process, DAYS_AHEAD),
        "key": new_key("card"),
        **(_papers(process, job) if job else {}),
    }
    return page(request, "works/station.html", context, status=409 if refusal else 200)


def _one_job(process: str, number: str) -> WorksOperation:
    """A job by its order number, even one that is far down the queue or done."""
    found = station_queries.queue(process).filter(works_order__order__number=number).first()
    return found or get_object_or_404(
        WorksOperation.objects.select_related(
            "process",
            "by",
            "works_order__order__model",
            "works_order__order__customer",
            "works_order__order__hull",
        ),
        process__code=process,
        works_order__order__number=number,
    )


def _number(operation: WorksOperation) -> str:
    order = operation.works_order.order
    return order.number if order else ""


def _papers(process: str, job: WorksOperation) -> dict[str, Any]:
    """What the station needs on paper for a job: cut list, bend list, weld lists or checks."""
    order = job.works_order.order
    if order is None:
        return {}
    if process == "saw":
        return {"cut_lists": station_queries.cut_lists(order)}
    if process == "fold":
        folded = fold_sheets(order)
        jigs = sheets_in_force([one.item.pk for one in folded], process)
        return {"fold_sheets": folded, "jigs": jigs}
    if process == "weld":
        welded = station_queries.weld_lists(order)
        jigs = sheets_in_force([one.item_id for one in welded], process)
        return {"weld_lists": welded, "jigs": jigs, "beds": list(Jig.objects.filter(models=order.model_id))}
    return {}
