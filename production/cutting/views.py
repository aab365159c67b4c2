"""The laser's pages: the station screen, a sheet, the list of batches, the sorting list."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from inventory.stock.models import Balance, Location, Lot
from production.cutting import counting, joining, queries, stopping
from production.cutting.layout_files import layout_dxf
from production.cutting.machine_times import machine_minutes
from production.cutting.marking import REASONS, Marking
from production.cutting.models import CutBatch, CutPlacement, CutSheet, LaidPart, StopDecision
from production.cutting.offcuts import SHAPES, Keep, rests_on
from production.cutting.shelves import sheets_on_shelf, where_to_fetch
from production.cutting.sorting import destinations
from production.cutting.tables import BatchFilter, BatchTable
from production.orders.models import Order
from production.works.person import person

SMALL = 2


@require_GET
@kept_offline
def station(request: HttpRequest) -> HttpResponse:
    """What to cut next, large; the two batches after it, small."""
    batches = list(queries.open_batches()[: SMALL + 1])
    batch = batches[0] if batches else None
    sheet = queries.next_sheet(batch) if batch else None
    context: dict[str, Any] = {
        "batch": batch,
        "then": batches[1:],
        "open_count": queries.open_batches().count(),
    }
    if batch and sheet:
        sheet.batch = batch
        context |= _sheet_context(sheet, queries.placements_of(sheet), Marking({}))
        context["same"] = [
            one for one in batch.sheets.all() if one.state == CutSheet.State.WAITING and one.pk != sheet.pk
        ]
    return page(request, "laser/station.html", context)


@require_GET
def batches(request: HttpRequest) -> HttpResponse:
    """Every batch on the floor, with filters and export."""
    return table_page(
        request,
        table_class=BatchTable,
        queryset=queries.floor_batches(),
        filterset_class=BatchFilter,
        template="laser/batches.html",
        export_name="cut-batches",
        context={"joins": joining.running(), "pace": queries.pace()},
    )


@require_GET
def batch(request: HttpRequest, number: str) -> HttpResponse:
    """One batch, sheet by sheet."""
    return _batch_page(request, number)


def _batch_page(request: HttpRequest, number: str, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    found = get_object_or_404(CutBatch.objects.select_related("plan"), number=number)
    sheets = list(found.sheets.select_related("item", "by", "lot", "offcut", "reckoning").order_by("number"))
    ids = [sheet.pk for sheet in sheets]
    bad, took = queries.bad_parts(ids), queries.minutes_taken(ids)
    fetch = where_to_fetch(sheets)
    rows = [
        {"sheet": one, "bad": bad[one.pk], "fetch": fetch.get(one.pk), "took": took.get(one.pk)}
        for one in sheets
    ]
    context = {
        "batch": found,
        "rows": rows,
        "took": sum(took.get(one.pk, 0.0) for one in sheets if one.state == CutSheet.State.DONE),
        "reckoned": sum((one.minutes for one in sheets if one.state == CutSheet.State.DONE), Decimal(0)),
        "stops": stopping.stops_of([found]).get(found.pk, []) if found.state in CutBatch.OPEN else [],
        "decisions": StopDecision.Decision.choices,
        "joins": joining.latest_runs([found]),
        "fillers": queries.fillers_of(found),
        "problems": problems,
    }
    return page(request, "laser/batch.html", context, status=409 if problems else 200)


@require_GET
def sorting(request: HttpRequest, number: str) -> HttpResponse:
    """Where the parts of a batch go after the cut."""
    found = get_object_or_404(CutBatch, number=number)
    return page(request, "laser/sorting.html", {"batch": found, "destinations": destinations(found)})


@require_GET
@kept_offline
def sheet(request: HttpRequest, number: str, sheet_number: int) -> HttpResponse:
    """One sheet: its nest, its parts, and what to do."""
    return _sheet_page(request, _sheet(number, sheet_number))


def _take_begin(sent: Sent, number: str, sheet_number: int) -> Done:
    done = counting.begin_sheet(sheet=_sheet(number, sheet_number), by=sent.by, happened_at=sent.made_at)
    return Done(f"{counting.named(done)} is begun.", reverse("laser:sheet", args=[number, sheet_number]))


def _take_finish(sent: Sent, number: str, sheet_number: int) -> Done:
    """Count the sheet: the parts marked in the form are bad, all others good."""
    found = _sheet(number, sheet_number)
    marking = Marking.read(sent.fields.getlist("bad"), found.placements.values_list("pk", flat=True))
    done = counting.finish_sheet(
        sheet=found,
        by=sent.by,
        scrapped=marking.scrapped(),
        lost=marking.lost(),
        lot=_chosen_lot(sent.fields, found),
        cast=sent.fields.get("cast", ""),
        keep=_kept(sent.fields, found),
        happened_at=sent.made_at,
    )
    good = done.placements.filter(state=CutPlacement.State.GOOD).count()
    bad = done.placements.exclude(state=CutPlacement.State.GOOD).count()
    said = f"{counting.named(done)} is counted: {good} good{f'; {bad} to cut again' if bad else ''}."
    if done.offcut is None:
        return Done(said, reverse("laser:station"))
    return Done(
        f"{said} Stick the label on offcut {done.offcut.code}.",
        reverse("laser:sheet", args=[number, sheet_number]),
    )


def _take_stop(sent: Sent, number: str, sheet_number: int) -> Done:
    found = _sheet(number, sheet_number)
    counting.stop_sheet(sheet=found, by=sent.by, problem=sent.fields.get("problem", ""))
    return Done(
        f"{counting.named(found)} waits again; the reason is written on it.", reverse("laser:station")
    )


def _show_entry(
    request: HttpRequest, problems: tuple[Problem, ...], number: str, sheet_number: int
) -> HttpResponse:
    return _sheet_page(request, _sheet(number, sheet_number), problems)


begin = entry_page(permission="production.cut_sheets", show=_show_entry, take=_take_begin)
finish = entry_page(permission="production.cut_sheets", show=_show_entry, take=_take_finish)
stop = entry_page(permission="production.cut_sheets", show=_show_entry, take=_take_stop)


@require_POST
@needs("production.cut_sheets")
def undo(request: HttpRequest, number: str, sheet_number: int) -> HttpResponse:
    found = _sheet(number, sheet_number)
    try:
        counting.undo_sheet(sheet=found, by=person(request), reason=request.POST.get("reason", "").strip())
    except ProblemError as refusal:
        return _sheet_page(request, found, refusal.problems)
    messages.success(request, f"The count of {counting.named(found)} is undone; the sheet waits again.")
    return redirect("laser:sheet", number, sheet_number)


@require_POST
@needs("production.clear_stops")
def decide(request: HttpRequest, number: str) -> HttpResponse:
    """Clear the stop of a part that changed after it was laid out."""
    found = get_object_or_404(
        LaidPart.objects.select_related("part__item"), batch__number=number, pk=request.POST.get("laid") or 0
    )
    try:
        stopping.decide(
            laid=found,
            by=person(request),
            decision=request.POST.get("decision", ""),
            note=request.POST.get("note", ""),
        )
    except ProblemError as refusal:
        return _batch_page(request, number, refusal.problems)
    messages.success(request, f"Decided on {found.part.item.code}; its sheets may be cut.")
    return redirect("laser:batch", number)


@require_POST
@needs("production.run_plan")
def hurry(request: HttpRequest) -> HttpResponse:
    """An order's parts join the next sheets."""
    order = Order.objects.filter(number=request.POST.get("order", "").strip()).first()
    try:
        if order is None:
            raise ProblemError(Problem("There is no such order", "order", "Write its number as on the card."))
        runs = joining.hurry(order=order, by=person(request))
    except ProblemError as refusal:
        messages.error(request, str(refusal))
        return redirect("laser:batches")
    metals = ", ".join(f"{run.grade} {run.thickness_mm.normalize():f} mm" for run in runs)
    messages.success(request, f"Parts of order {order.number} join the next sheets: {metals}.")
    return redirect("laser:batches")


@require_GET
def layout_file(request: HttpRequest, number: str, sheet_number: int) -> HttpResponse:
    """The sheet's layout as DXF."""
    found = _sheet(number, sheet_number)
    try:
        text = layout_dxf(found)
    except ProblemError as refusal:
        return _sheet_page(request, found, refusal.problems)
    name = f"{number}-{sheet_number}.dxf"
    return HttpResponse(
        text,
        content_type="image/vnd.dxf",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def _sheet(number: str, sheet_number: int) -> CutSheet:
    return get_object_or_404(
        CutSheet.objects.select_related("batch__plan", "item", "lot", "by", "offcut", "posting", "reckoning"),
        batch__number=number,
        number=sheet_number,
    )


def _marking(request: HttpRequest, placements: Sequence[CutPlacement]) -> Marking:
    data = request.POST if request.method == "POST" else request.GET
    return Marking.read(data.getlist("bad"), [one.pk for one in placements])


def _chosen_lot(fields: QueryDict, sheet: CutSheet) -> Lot | None:
    """The cast that the operator says he took, if he said one."""
    wanted = fields.get("lot", "")
    if not wanted:
        return None
    lots = {str(one.lot_id): one.lot for one in sheets_on_shelf(sheet.item_id) if one.lot is not None}
    if wanted not in lots:
        raise ProblemError(
            Problem(
                "The chosen cast is not on a shelf any more",
                counting.named(sheet),
                "Choose again from the list.",
            )
        )
    return lots[wanted]


def _kept(fields: QueryDict, sheet: CutSheet) -> Keep | None:
    """Where the offcut goes, if one is kept."""
    shape = fields.get("keep", "")
    if not shape:
        return None
    shelf = Location.objects.filter(
        kind=Location.Kind.SHELF, code__iexact=fields.get("place", "").strip()
    ).first()
    if shelf is None:
        raise ProblemError(
            Problem("The offcut has no shelf to go to", counting.named(sheet), "Choose one from the list.")
        )
    return Keep(shelf, shape)


def _sheet_context(sheet: CutSheet, placements: Sequence[CutPlacement], marking: Marking) -> dict[str, Any]:
    rows = queries.part_rows(placements, marking)
    is_open = sheet.state in (CutSheet.State.WAITING, CutSheet.State.BEGUN)
    shelf = sheets_on_shelf(sheet.item_id) if is_open else []
    drawing = queries.drawing_of(sheet, rows, marking)
    return {
        "sheet": sheet,
        "sheets_in_batch": sheet.batch.sheets.count(),
        "rows": [{"row": row, "mark_one": _mark_one(row, marking)} for row in rows],
        "drawing": drawing,
        "turns": {one.pk: marking.turned(one.pk).query() for one in placements},
        "parts_count": len(placements),
        "fetch": where_to_fetch([sheet]).get(sheet.pk) if is_open else None,
        "lots": [one for one in shelf if one.lot is not None],
        "stops": stopping.stops_on(sheet) if is_open else [],
        "key": new_key("laser"),
    }


def _sheet_page(request: HttpRequest, sheet: CutSheet, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    if problems:
        sheet = _sheet(sheet.batch.number, sheet.number)
    placements = queries.placements_of(sheet)
    marking = _marking(request, placements)
    context = _sheet_context(sheet, placements, marking)
    is_open = sheet.state in (CutSheet.State.WAITING, CutSheet.State.BEGUN)
    stretches = list(sheet.stretches.select_related("by"))
    context |= {
        "marked": [
            _marked(placement, row["row"], marking)
            for row in context["rows"]
            for placement in row["row"].placements
            if placement.pk in marking.bad
        ],
        "marking": marking,
        "reasons": REASONS,
        "can_mark": is_open,
        "rests": _rests(sheet, placements) if is_open else [],
        "shelves": Location.objects.filter(kind=Location.Kind.SHELF).order_by("walk_order", "code")
        if is_open
        else [],
        "usual_place": _usual_place() if is_open else "",
        "stretches": stretches,
        "took": queries.minutes_of(stretches).get(sheet.pk),
        "by_machine": machine_minutes([sheet.pk]).get(sheet.pk),
        "problems": problems,
    }
    return page(request, "laser/sheet.html", context, status=409 if problems else 200)


def _rests(sheet: CutSheet, placements: Sequence[CutPlacement]) -> list[dict[str, Any]]:
    """The ways in which the rest of the sheet may be kept, where it is worth it."""
    found = []
    for shape, rest in rests_on(sheet, placements=placements).items():
        words = SHAPES[shape]
        if rest.is_worth_keeping:
            points = " ".join(f"{x:g},{y:g}" for x, y in rest.sheet_outline)
            found.append({"shape": shape, "words": words, "rest": rest, "points": points})
    return found


def _usual_place() -> str:
    """Where the last offcut went: the next one likely goes there too."""
    last = (
        Balance.objects.filter(lot__kind=Lot.Kind.OFFCUT, location__kind=Location.Kind.SHELF, quantity__gt=0)
        .order_by("-lot_id")
        .values_list("location__code", flat=True)
        .first()
    )
    return last or ""


def _mark_one(row: queries.PartRow, marking: Marking) -> str:
    placement = row.next_good(marking)
    return marking.turned(placement).query() if placement else ""


def _marked(placement: CutPlacement, row: queries.PartRow, marking: Marking) -> dict[str, Any]:
    """A part marked as bad, with a link for each reason and one to take the mark off."""
    chosen = marking.bad[placement.pk]
    return {
        "row": row,
        "placement": placement.pk,
        "chosen": chosen,
        "value": f"{placement.pk}:{chosen}",
        "good_again": marking.turned(placement.pk).query(),
        "reasons": [
            {
                "code": reason.code,
                "words": reason.words,
                "is_chosen": reason.code == chosen,
                "query": marking.because(placement.pk, reason.code).query(),
            }
            for reason in REASONS
        ],
    }
