"""Pages of jig sheets and of weld inspections."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import F
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from bom.items.models import Item
from bom.kernel.entries import Done, Sent, entry_page
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import page
from bom.kernel.tables import table_page
from bom.structure.models import Operation, Process
from production.works import jig_sheets, weld_inspecting
from production.works.card_models import JobCard
from production.works.card_views import card_page
from production.works.person import person
from production.works.weld_models import JigSheet, WeldInspection
from production.works.weld_tables import InspectionFilter, InspectionTable, JigSheetTable

WRITE = "production.write_notes"


class JigSheetForm(forms.Form):
    jig = forms.CharField(label="Jig, and how it is set", max_length=80, required=False)
    quality = forms.CharField(label="Quality asked of it", max_length=80, required=False)
    is_inspected = forms.BooleanField(label="The next step waits for an inspection", required=False)
    notes = forms.CharField(
        label="Notes in the order of the work, one a line",
        required=False,
        widget=forms.Textarea(attrs={"rows": 8, "class": "wide"}),
    )


@require_GET
def sheets(request: HttpRequest) -> HttpResponse:
    """The jig sheets in force."""
    return table_page(
        request,
        table_class=JigSheetTable,
        queryset=jig_sheets.all_in_force(),
        template="works/jig_sheets.html",
        export_name="jig-sheets",
        context={
            "can_write": _without_a_sheet() if request.user.has_perm(WRITE) else [],
        },
    )


@require_http_methods(["GET", "POST"])
def sheet(request: HttpRequest, process: str, code: str) -> HttpResponse:
    """One item's sheet for a station: the one in force, its form for who may write, those before it."""
    found, station = _item_at(process, code)
    current = jig_sheets.sheets_in_force([found.pk], process).get(found.pk)
    form = JigSheetForm(request.POST or None, initial=_initial(current))
    problems: tuple[Problem, ...] = ()
    if request.method == "POST":
        if not request.user.has_perm(WRITE):
            raise PermissionDenied(WRITE)
        if form.is_valid():
            try:
                kept = _store(request, found, station, form)
            except ProblemError as refusal:
                problems = refusal.problems
            else:
                messages.success(request, f"Sheet {kept.number} of {found.code} is in force.")
                return redirect("cards:jig_sheet", process, found.code)
    context = {
        "item": found,
        "station": station,
        "current": current,
        "before": JigSheet.objects.filter(item=found, process=station)
        .exclude(number=current.number if current else 0)
        .select_related("by")
        .prefetch_related("notes")
        .order_by("-number")[:10],
        "form": form,
        "problems": problems,
    }
    return page(request, "works/jig_sheet.html", context, status=409 if problems else 200)


@require_GET
def inspections(request: HttpRequest) -> HttpResponse:
    """Every inspection of a weld, those that hold something up first."""
    rows = WeldInspection.objects.select_related("card", "by", "cleared_by").order_by(
        "is_good", F("cleared_at").asc(nulls_first=True), "-at"
    )
    return table_page(
        request,
        table_class=InspectionTable,
        queryset=rows,
        filterset_class=InspectionFilter,
        template="works/inspections.html",
        export_name="weld-inspections",
    )


def _card_page(request: HttpRequest, problems: tuple[Problem, ...], card: str) -> HttpResponse:
    return card_page(request, problems, card)


def _take_inspect(sent: Sent, card: str) -> Done:
    found = get_object_or_404(JobCard.objects.select_related("process"), number__iexact=card)
    made = weld_inspecting.inspect_weld(
        card=found,
        is_good=sent.fields.get("result") == "good",
        words=sent.fields.get("words", ""),
        by=sent.by,
        key=sent.key,
        at=sent.made_at,
    )
    said = "good" if made.is_good else f"not good: {made.words}. The next step waits until it is cleared"
    return Done(f"The weld on {found.number} is {said}.", _address(found))


def _cleared_page(request: HttpRequest, problems: tuple[Problem, ...], inspection: int) -> HttpResponse:
    return card_page(request, problems, _inspection(inspection).card.number)


def _take_clear(sent: Sent, inspection: int) -> Done:
    made = weld_inspecting.clear_weld(
        inspection=_inspection(inspection), reason=sent.fields.get("reason", ""), by=sent.by
    )
    return Done(f"The weld on {made.card.number} may go on: {made.clearance}", _address(made.card))


inspect = entry_page(permission="production.inspect_weld", show=_card_page, take=_take_inspect)
clear = entry_page(permission="production.clear_weld", show=_cleared_page, take=_take_clear)


def _store(request: HttpRequest, item: Item, station: Process, form: JigSheetForm) -> JigSheet:
    data = form.cleaned_data
    return jig_sheets.store_sheet(
        item=item,
        process=station,
        jig=data["jig"],
        quality=data["quality"],
        is_inspected=data["is_inspected"],
        notes=data["notes"].splitlines(),
        by=person(request),
    )


def _initial(sheet: JigSheet | None) -> dict[str, object]:
    if sheet is None:
        return {}
    notes = "\n".join(note.words for note in sheet.notes.all())
    return {"jig": sheet.jig, "quality": sheet.quality, "is_inspected": sheet.is_inspected, "notes": notes}


def _item_at(process: str, code: str) -> tuple[Item, Process]:
    station = get_object_or_404(Process, code=process)
    item = get_object_or_404(Item, code=code)
    if not Operation.objects.filter(revision__item=item, process=station).exists():
        raise Http404(f"{code} does not pass {station.name}.")
    return item, station


def _without_a_sheet() -> list[Item]:
    """Welded items that have no sheet yet."""
    welded = Operation.objects.filter(process__code="weld").values("revision__item")
    written = JigSheet.objects.filter(process__code="weld").values("item")
    return list(
        Item.objects.filter(pk__in=welded, is_active=True).exclude(pk__in=written).order_by("code")[:40]
    )


def _inspection(pk: int) -> WeldInspection:
    return get_object_or_404(WeldInspection.objects.select_related("card"), pk=pk)


def _address(card: JobCard) -> str:
    return reverse("cards:card", args=[card.number])
