"""The stocktake: what is due, sheets counted blind, approved and posted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, page
from inventory.stock.models import Location, Lot
from inventory.stores import count_classes, count_queries, count_sheets, pasting, stocktaking
from inventory.stores.act_forms import page_key
from inventory.stores.count_classes import ClassFigures
from inventory.stores.count_forms import ApproveForm, ClassForm, FoundForm, PasteForm, PlaceSheetForm
from inventory.stores.models import CountLine, CountSheet
from inventory.stores.saying import done_message, person
from inventory.stores.variances import variances_of

DUE_SHOWN = 40
SHEETS_SHOWN = 20


@require_http_methods(["GET", "POST"])
def stocktake(request: HttpRequest) -> HttpResponse:
    """What is due by class, the sheets, and how right the counts were; a POST begins a sheet."""
    return _begin(request) if request.method == "POST" else _overview(request)


@require_GET
def sheet(request: HttpRequest, number: str) -> HttpResponse:
    """The sheet as the counter sees it: never with what is expected."""
    return _sheet_page(request, _sheet(number))


@require_POST
@needs("inventory.count_stock")
def record(request: HttpRequest, number: str) -> HttpResponse:
    """Counts entered line by line."""
    found = _sheet(number)
    return _recorded(request, found, lambda: _entered(request, found), request.POST.get("key", ""))


@require_POST
@needs("inventory.count_stock")
def paste(request: HttpRequest, number: str) -> HttpResponse:
    """Counts pasted from a spreadsheet; what is not on the sheet yet is added to it."""
    found = _sheet(number)
    form = PasteForm(request.POST, places=_places(found))
    if not form.is_valid():
        return _sheet_page(request, found, paste_form=form)
    return _recorded(request, found, lambda: _pasted(request, found, form), form.cleaned_data["key"], form)


@require_POST
@needs("inventory.count_stock")
def add(request: HttpRequest, number: str) -> HttpResponse:
    """Something was found that is not on the sheet."""
    found = _sheet(number)
    form = FoundForm(request.POST, places=_places(found))
    if not form.is_valid():
        return _sheet_page(request, found, found_form=form)
    return _recorded(request, found, lambda: _found(request, found, form), form.cleaned_data["key"])


@require_POST
@needs("inventory.count_stock")
def hand_in(request: HttpRequest, number: str) -> HttpResponse:
    found = _sheet(number)
    try:
        stocktaking.hand_in(sheet=found, by=person(request), leave_rest="leave_rest" in request.POST)
    except ProblemError as refusal:
        return _sheet_page(request, found, refusal=refusal)
    messages.success(request, f"{found.number} is handed in and waits for approval.")
    return redirect("stores:stocktake")


@require_POST
@needs("inventory.count_stock")
def cancel(request: HttpRequest, number: str) -> HttpResponse:
    found = _sheet(number)
    try:
        count_sheets.cancel_sheet(sheet=found, by=person(request))
    except ProblemError as refusal:
        return _sheet_page(request, found, refusal=refusal)
    messages.success(request, f"{found.number} is cancelled; nothing was posted.")
    return redirect("stores:stocktake")


@require_http_methods(["GET", "POST"])
@needs("inventory.approve_count")
def review(request: HttpRequest, number: str) -> HttpResponse:
    """The differences with their value; a POST approves them and posts them in one go."""
    found = _sheet(number)
    form = ApproveForm(request.POST or None)
    if request.method == "GET" or not form.is_valid():
        return _review_page(request, found, form)
    try:
        done = stocktaking.approve(sheet=found, by=person(request), reason=form.cleaned_data["reason"])
    except ProblemError as refusal:
        return _review_page(request, found, form, refusal)
    if done.posting is None:
        messages.success(request, f"{done.number}: all counts agree; nothing was posted.")
    else:
        messages.success(request, done_message(f"{done.number} is posted", done.posting))
    return redirect("stores:stocktake")


@require_POST
@needs("inventory.approve_count")
def again(request: HttpRequest, number: str, line: int) -> HttpResponse:
    """The approver wants a line counted once more."""
    found = get_object_or_404(
        CountLine.objects.select_related("sheet", "item"), pk=line, sheet__number=number
    )
    try:
        stocktaking.ask_again(line=found, by=person(request))
    except ProblemError as refusal:
        return _review_page(request, _sheet(number), ApproveForm(), refusal)
    messages.success(
        request, f"{found.item.code} is to be counted again; the sheet is back with the counter."
    )
    return redirect("stores:sheet", number=number)


@require_http_methods(["GET", "POST"])
@needs("inventory.change_countclass")
def classes(request: HttpRequest) -> HttpResponse:
    """How often each class is counted, and the limits beyond which a count is asked for again."""
    rows = count_classes.classes()
    forms = [ClassForm(request.POST or None, instance=row, prefix=row.code) for row in rows]
    problems: tuple[Problem, ...] = ()
    if request.method == "POST" and all(form.is_valid() for form in forms):
        figures = {form.instance.code: ClassFigures(**form.cleaned_data) for form in forms}
        try:
            count_classes.set_classes(figures=figures, by=person(request))
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            messages.success(request, "The count classes are changed.")
            return redirect("stores:count_classes")
    values = count_classes.yearly_values()
    counts = Counter(count_classes.class_codes(list(values), values=values).values())
    context = {
        "rows": [
            {"row": row, "form": form, "items": counts[row.code]}
            for row, form in zip(rows, forms, strict=True)
        ],
        "counts_a_year": count_classes.counts_a_year(counts, rows),
        "problems": problems,
    }
    return page(request, "stores/count_classes.html", context, status=409 if problems else 200)


def _begin(request: HttpRequest) -> HttpResponse:
    if not request.user.has_perm("inventory.count_stock"):
        return _overview(request, status=403)
    by, key = person(request), request.POST.get("key", "")
    form = PlaceSheetForm(request.POST)
    try:
        if "item" in request.POST:
            chosen = list(Item.objects.filter(pk__in=_numbers(request.POST.getlist("item"))))
            made = count_sheets.begin_items(items=chosen, by=by, key=key, note=request.POST.get("note", ""))
        elif form.is_valid():
            data = form.cleaned_data
            made = count_sheets.begin_place(location=data["location"], by=by, key=key, note=data["note"])
        else:
            return _overview(request, form=form)
    except ProblemError as refusal:
        return _overview(request, refusal=refusal, status=409)
    return redirect("stores:sheet", number=made.number)


def _overview(
    request: HttpRequest,
    *,
    form: PlaceSheetForm | None = None,
    refusal: ProblemError | None = None,
    status: int = 200,
) -> HttpResponse:
    due = count_classes.due_list()
    waiting = [one for one in due if not one.is_on_sheet]
    shown = list(count_queries.sheets()[:SHEETS_SHOWN])
    context = {
        "due": waiting[:DUE_SHOWN],
        "due_count": len(waiting),
        "by_class": sorted(Counter(one.count_class.code for one in waiting).items()),
        "open_sheets": [one for one in shown if one.is_open],
        "closed_sheets": [one for one in shown if not one.is_open],
        "accuracy": count_queries.accuracy(),
        "days": count_queries.DAYS_SHOWN,
        "form": form or PlaceSheetForm(),
        "key": page_key(),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/stocktake.html", context, status=status)


def _sheet(number: str) -> CountSheet:
    return get_object_or_404(CountSheet.objects.select_related("location", "made_by"), number=number)


def _places(sheet: CountSheet) -> list[Location]:
    """Places that may stand on the sheet: its own, or all where its items lie."""
    if sheet.location is not None:
        return [sheet.location]
    return list(Location.objects.filter(kind=Location.Kind.SHELF))


def _recorded(
    request: HttpRequest,
    sheet: CountSheet,
    findings: Callable[[], list[stocktaking.Finding]],
    key: str,
    paste_form: PasteForm | None = None,
) -> HttpResponse:
    """Write the findings down and say what is to be counted again, without saying how far out it is."""
    try:
        found = findings()
        again = stocktaking.record(sheet=sheet, findings=found, by=person(request), key=key)
    except ProblemError as refusal:
        return _sheet_page(request, sheet, refusal=refusal, paste_form=paste_form)
    messages.success(request, f"{len(found)} counted." if len(found) != 1 else "1 line counted.")
    if again:
        codes = ", ".join(line.item.code for line in again[:5])
        messages.info(request, f"Please count again, best by another person: {codes}.")
    return redirect("stores:sheet", number=sheet.number)


def _entered(request: HttpRequest, sheet: CountSheet) -> list[stocktaking.Finding]:
    """The lines that were filled in; empty ones are not counted."""
    lines = {f"line-{line.pk}": line for line in sheet.lines.select_related("item")}
    found, problems = [], []
    for name, line in lines.items():
        text = request.POST.get(name, "").strip().replace(",", ".")
        if not text:
            continue
        try:
            found.append(stocktaking.Finding(line, Decimal(text)))
        except InvalidOperation:
            problems.append(Problem(f'"{text}" is not a number', line.item.code, "Write how many lie there."))
    if problems:
        raise ProblemError(*problems)
    if not found:
        raise ProblemError(Problem("No line was filled in", sheet.number, "Write what you counted."))
    return found


def _pasted(request: HttpRequest, sheet: CountSheet, form: PasteForm) -> list[stocktaking.Finding]:
    data = form.cleaned_data
    counted = pasting.read_counts(data["counts"])
    places = [count_sheets.Place(one.item, data["location"], one.lot) for one in counted]
    lines = count_sheets.add_lines(sheet=sheet, places=places, by=person(request))
    return [
        stocktaking.Finding(line, one.quantity, data["counted_at"])
        for line, one in zip(lines, counted, strict=True)
    ]


def _found(request: HttpRequest, sheet: CountSheet, form: FoundForm) -> list[stocktaking.Finding]:
    data = form.cleaned_data
    item = Item.objects.filter(code__iexact=data["code"].strip()).first()
    if item is None:
        raise ProblemError(
            Problem(f"There is no item {data['code']}", "item", "Write its code as on the label.")
        )
    lot = Lot.objects.filter(item=item, code=data["lot"].strip()).first() if data["lot"].strip() else None
    if data["lot"].strip() and lot is None:
        raise ProblemError(
            Problem(f"{item.code} has no lot {data['lot']}", "lot", "Read the label again, or ask stores.")
        )
    line = count_sheets.add_line(
        sheet=sheet, item=item, location=data["location"], lot=lot, by=person(request)
    )
    return [stocktaking.Finding(line, data["quantity"])]


def _numbers(texts: list[str]) -> list[int]:
    return [int(text) for text in texts if text.isdecimal()]


def _sheet_page(
    request: HttpRequest,
    sheet: CountSheet,
    *,
    refusal: ProblemError | None = None,
    paste_form: PasteForm | None = None,
    found_form: FoundForm | None = None,
) -> HttpResponse:
    rows = count_queries.lines_to_count(sheet)
    places = _places(sheet)
    context: dict[str, Any] = {
        "sheet": sheet,
        "rows": rows,
        "to_count": sum(1 for line, entry in rows if entry is None or line.is_recount_asked),
        "is_counting": sheet.state == CountSheet.State.COUNTING,
        "key": page_key(),
        "paste_form": paste_form or PasteForm(places=places),
        "found_form": found_form or FoundForm(places=places),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/sheet.html", context, status=409 if refusal else 200)


def _review_page(
    request: HttpRequest, sheet: CountSheet, form: ApproveForm, refusal: ProblemError | None = None
) -> HttpResponse:
    variances = variances_of(sheet)
    differing = sorted((one for one in variances if one.difference), key=lambda one: -abs(one.value))
    context = {
        "sheet": sheet,
        "differing": differing,
        "agreeing": len(variances) - len(differing),
        "bare": sheet.lines.filter(entries=None).count(),
        "plus": sum((one.value for one in differing if one.value > 0), Decimal(0)),
        "minus": sum((one.value for one in differing if one.value < 0), Decimal(0)),
        "waits": sheet.state == CountSheet.State.COUNTED,
        "counters": sorted({str(entry.by) for one in variances for entry in one.entries}),
        "form": form,
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/review.html", context, status=409 if refusal else 200)
