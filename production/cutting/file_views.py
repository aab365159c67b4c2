"""Nests as files: a sheet or a whole batch on paper, and the list of what lies where."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from bom.kernel.exporting import xlsx
from production.cutting.models import CutBatch, CutSheet
from production.cutting.nest_paper import HEADER, nest_pdf, nest_rows


@require_GET
def batch_pdf(request: HttpRequest, number: str) -> HttpResponse:
    """Every sheet of a batch as PDF."""
    return _pdf(number, _sheets(number))


@require_GET
def sheet_pdf(request: HttpRequest, number: str, sheet_number: int) -> HttpResponse:
    """One sheet as PDF."""
    return _pdf(f"{number}-{sheet_number}", _sheets(number, sheet_number))


@require_GET
def batch_list(request: HttpRequest, number: str) -> HttpResponse:
    """What lies where on the sheets of a batch, as a workbook."""
    return xlsx(f"nest-{number}", HEADER, nest_rows(_sheets(number)))


def _sheets(number: str, sheet_number: int | None = None) -> list[CutSheet]:
    batch = get_object_or_404(CutBatch, number=number)
    sheets = batch.sheets.select_related("batch", "item", "lot").order_by("number")
    if sheet_number is None:
        return list(sheets)
    return [get_object_or_404(sheets, number=sheet_number)]


def _pdf(name: str, sheets: list[CutSheet]) -> HttpResponse:
    if not sheets:
        return HttpResponse("This batch has no sheets.", status=404, content_type="text/plain")
    return HttpResponse(
        nest_pdf(sheets),
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="nest-{name}.pdf"'},
    )
