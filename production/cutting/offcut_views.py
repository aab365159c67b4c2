"""The page of offcuts of sheets: what lies where with its outline and holes, and entering one by hand or drawing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_POST

from bom.geometry.outlines import FlatOutline, bounding_box, from_text, svg_path
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from inventory.stock.models import Balance, Lot
from production.cutting.entering import OffcutForm, enter_offcut, measured, read_file, texts_of
from production.cutting.offcuts import offcuts_lying
from production.works.person import person


@require_GET
def offcuts(request: HttpRequest) -> HttpResponse:
    """Every offcut of a sheet that lies on a shelf, and a form for one more."""
    return _page(request, OffcutForm())


@require_POST
@needs("inventory.count_stock")
def enter(request: HttpRequest) -> HttpResponse:
    """Look at the piece as it is described; with "enter" it goes into stock. A drawing is always looked at first."""
    form = OffcutForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, status=422)
    fields = form.cleaned_data
    try:
        if fields["file"]:
            piece = read_file(fields["file"])
            looked = OffcutForm(initial={**fields, **texts_of(piece), "file": None})
            return _page(request, looked, piece=piece)
        piece = measured(fields)
        if "enter" not in request.POST:
            return _page(request, form, piece=piece)
        lot = enter_offcut(
            item=fields["item"],
            piece=piece,
            place=fields["place"],
            by=person(request),
            key=fields["key"],
            code=fields["code"],
            cast=fields["cast"],
        )
    except ProblemError as refusal:
        return _page(request, form, status=422, problems=refusal.problems)
    messages.success(request, f"Offcut {lot.code} lies at {fields['place'].code}. Stick its label on it.")
    return redirect("laser:offcuts")


def _page(
    request: HttpRequest,
    form: OffcutForm,
    *,
    piece: FlatOutline | None = None,
    status: int = 200,
    problems: tuple[Problem, ...] = (),
) -> HttpResponse:
    sheets = set(Item.objects.filter(kind=Item.Kind.SHEET).values_list("pk", flat=True))
    lying = [one for balances in offcuts_lying(sheets).values() for one in balances]
    context = {
        "rows": [_row(one) for one in lying],
        "form": form,
        "looked_at": _drawn(piece) if piece else None,
        "problems": problems,
    }
    return page(request, "laser/offcuts.html", context, status=status)


def _row(balance: Balance) -> dict[str, Any]:
    lot = balance.lot
    assert lot is not None
    return {"balance": balance, "lot": lot, "drawn": _drawn(_piece_of(lot)), "holes": len(lot.holes.split())}


def _piece_of(lot: Lot) -> FlatOutline | None:
    try:
        contours = [from_text(text) for text in (lot.outline, *lot.holes.split()) if text]
    except ProblemError:
        return None
    return FlatOutline(contours[0], tuple(contours[1:])) if lot.outline else None


def _drawn(piece: FlatOutline | None) -> dict[str, Any] | None:
    """The piece as a small drawing; none for one without an outline."""
    if piece is None:
        return None
    left, low, right, high = bounding_box(piece)
    length, width = right - left, high - low
    edge = 0.02 * max(length, width)
    box = f"{left - edge:.1f} {-high - edge:.1f} {length + 2 * edge:.1f} {width + 2 * edge:.1f}"
    path = " ".join(svg_path(contour) for contour in piece.contours)
    return {
        "box": box,
        "path": path,
        "length_mm": length,
        "width_mm": width,
        "holes": len(piece.inners),
    }
