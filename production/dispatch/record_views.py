"""Records of trailers that have gone: the record itself, trace both ways, recalls, warranty claims."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Count, Q, Value
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from production.assembly import fitting
from production.dispatch import calling_back, recording, tracing
from production.dispatch.forms import ClaimForm, OwnerForm
from production.dispatch.models import BuiltRow, Claim, Recall, RecallTrailer, Seal, Source
from production.dispatch.rates import SHOWN as SHOWN_RATES
from production.dispatch.rates import rates
from production.dispatch.tables import CarrierTable, ClaimFilter, ClaimTable, RecallTable, RecordTable
from production.orders.models import Order
from production.works.person import person

SHOWN = 100
CLAIMS_A_PAGE = 25


@require_GET
def records(request: HttpRequest) -> HttpResponse:
    """Trailers that have gone, the last first."""
    words = request.GET.get("q", "").strip()
    return table_page(
        request,
        table_class=RecordTable,
        queryset=tracing.find_gone(words),
        template="dispatch/records.html",
        export_name="trailers-gone",
        context={"words": words},
        is_dear=True,
    )


@require_GET
def record(request: HttpRequest, number: str) -> HttpResponse:
    return _record_page(request, number)


@require_POST
@needs("production.write_claim")
def owner(request: HttpRequest, number: str) -> HttpResponse:
    order, form = get_object_or_404(Order, number=number), OwnerForm(request.POST)
    if not form.is_valid():
        return _record_page(request, number, owner_form=form)
    try:
        calling_back.change_owner(order=order, **form.cleaned_data, by=person(request))
    except ProblemError as refusal:
        return _record_page(request, number, refusal, owner_form=form)
    messages.success(request, f"The trailer of order {number} belongs to {form.cleaned_data['name']}.")
    return redirect("dispatch:record", number)


@require_POST
@needs("production.write_claim")
def claim(request: HttpRequest, number: str) -> HttpResponse:
    order, form = get_object_or_404(Order, number=number), ClaimForm(request.POST)
    if not form.is_valid():
        return _record_page(request, number, claim_form=form)
    try:
        made = calling_back.write_claim(
            order=order, complaint=form.complaint(), key=request.POST.get("key", "")[:60], by=person(request)
        )
    except ProblemError as refusal:
        return _record_page(request, number, refusal, claim_form=form)
    messages.success(request, f"Claim {made.number} is written down.")
    return redirect("dispatch:claims")


@require_GET
def trace(request: HttpRequest) -> HttpResponse:
    """Find a lot, a serial number, a cast, a load or a powder batch."""
    words = request.GET.get("q", "").strip()
    found = tracing.find_sources(words)
    if len(found) == 1:
        return redirect("dispatch:source", found[0].pk)
    last = Source.objects.select_related("item", "supplier").order_by("-pk")[:20] if not words else []
    return page(request, "dispatch/trace.html", {"words": words, "found": found, "last": last})


@require_GET
def source(request: HttpRequest, source: int) -> HttpResponse:
    return _source_page(request, source)


@require_POST
@needs("production.open_recall")
def recall_source(request: HttpRequest, source: int) -> HttpResponse:
    found = get_object_or_404(Source, pk=source)
    try:
        made = calling_back.open_recall(
            source=found, by=person(request), reason=request.POST.get("reason", "")
        )
    except ProblemError as refusal:
        return _source_page(request, source, refusal)
    messages.success(request, f"Recall {made.number} is open.")
    return redirect("dispatch:recall", made.number)


@require_GET
def recalls(request: HttpRequest) -> HttpResponse:
    rows = Recall.objects.select_related("source__item", "by").annotate(
        count=Count("trailers"),
        told=Count("trailers", filter=Q(trailers__told_on__isnull=False)),
        done=Count("trailers", filter=Q(trailers__done_on__isnull=False)),
    )
    return page(request, "dispatch/recalls.html", {"recalls": rows})


@require_GET
def recall(request: HttpRequest, number: str) -> HttpResponse:
    """The list with its owners; it can be taken to a workbook."""
    found = get_object_or_404(Recall.objects.select_related("source__item", "by"), number=number)
    listed = RecallTrailer.objects.filter(recall=found)
    rows = tracing.with_owners(Order.objects.filter(recalls__recall=found)).annotate(
        **RecallTable.marks(found), recall_number=Value(found.number)
    )
    return table_page(
        request,
        table_class=RecallTable,
        queryset=rows.order_by("number"),
        template="dispatch/recall.html",
        export_name=f"recall-{number}",
        is_dear=True,
        context={
            "recall": found,
            "open": listed.filter(done_on__isnull=True).count(),
            "untold": listed.filter(told_on__isnull=True).count(),
        },
    )


@require_POST
@needs("production.open_recall")
def mark(request: HttpRequest, number: str, order: str) -> HttpResponse:
    """The owner of one trailer was told, or it was put right."""
    row = get_object_or_404(RecallTrailer, recall__number=number, order__number=order)
    is_done = request.POST.get("what") == "done"
    calling_back.mark(trailer=row, by=person(request), is_done=is_done)
    messages.success(request, f"Order {order}: {'put right' if is_done else 'the owner was told'}.")
    return redirect("dispatch:recall", number)


@require_http_methods(["GET"])
def claims(request: HttpRequest) -> HttpResponse:
    """Claims, and how often parts and suppliers fail."""
    return table_page(
        request,
        table_class=ClaimTable,
        filterset_class=ClaimFilter,
        queryset=Claim.objects.select_related("order", "item", "source__supplier"),
        template="dispatch/claims.html",
        export_name="claims",
        rows_a_page=CLAIMS_A_PAGE,
        context={"rates": rates(None if request.GET.get("rates") == "all" else SHOWN_RATES)},
    )


def _record_page(
    request: HttpRequest,
    number: str,
    refusal: ProblemError | None = None,
    *,
    owner_form: OwnerForm | None = None,
    claim_form: ClaimForm | None = None,
) -> HttpResponse:
    order = get_object_or_404(tracing.with_owners(Order.objects.all()), number=number)
    seal = Seal.objects.filter(order=order).select_related("by").first()
    rows = recording.rows_of(order)
    groups: dict[str, list[BuiltRow]] = {label: [] for label in BuiltRow.Kind.values}
    for row in rows:
        groups[row.kind].append(row)
    context: dict[str, Any] = {
        "order": order,
        "seal": seal,
        "is_broken": bool(seal and recording.is_broken(seal, rows)),
        "parts": groups["part"],
        "coated": groups["coated"],
        "people": groups["person"],
        "measured": groups["measured"],
        "documents": groups["document"],
        "further": tracing.further_back(row.source_id for row in rows if row.source_id),
        "numbers": [] if seal else fitting.wanted_numbers(order),
        "claims": order.claims.select_related("item"),
        "owner_form": owner_form or OwnerForm(initial={"since": timezone.localdate()}),
        "claim_form": claim_form or ClaimForm(initial={"reported_on": timezone.localdate()}),
        "key": new_key("claim"),
        "problems": refusal.problems if refusal else (),
    }
    status = 409 if refusal or owner_form or claim_form else 200
    return page(request, "dispatch/record.html", context, status=status)


def _source_page(request: HttpRequest, pk: int, refusal: ProblemError | None = None) -> HttpResponse:
    found = get_object_or_404(Source.objects.select_related("item", "supplier"), pk=pk)
    became = tracing.made_of([found.pk]) - {found.pk}
    origins = tracing.came_from([found.pk]) - {found.pk}
    context = {
        "source": found,
        "became": list(
            Source.objects.filter(pk__in=sorted(became)[:SHOWN]).select_related("item", "supplier")
        ),
        "became_count": len(became),
        "origins": list(Source.objects.filter(pk__in=origins).select_related("item", "supplier")),
        "recalls": found.recalls.all(),
        "problems": refusal.problems if refusal else (),
    }
    if refusal:
        rows = tracing.trailers_with(found)
        return page(request, "dispatch/source.html", {**context, "rows": rows.count()}, status=409)
    return table_page(
        request,
        table_class=CarrierTable,
        queryset=tracing.trailers_with(found),
        template="dispatch/source.html",
        export_name=f"trailers-with-{found.pk}",
        context=context,
        is_dear=True,
    )
