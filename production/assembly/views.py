"""Pages of kits and assembly bays."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from bom.items.models import Item
from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from production.assembly import bays, board, fitting, queries, sharing, swapping
from production.assembly import kits as kit_verbs
from production.assembly.models import Kit, KitLine
from production.assembly.sheets import sheet_of
from production.assembly.tables import KitFilter, KitTable
from production.orders.showing import shown_of
from production.works.models import Swap, WorksOperation
from production.works.person import person

# A kit that is short is seen so many days before a bay is to take it.
AHEAD_DAYS = 10


@require_GET
def kits(request: HttpRequest) -> HttpResponse:
    """Every kit on the floor, with filters and export; the bays above."""
    context: dict[str, Any] = {}
    if not getattr(request, "htmx", False):
        context = {"bays": _bays(), "lacking": queries.lacking_soon(AHEAD_DAYS), "ahead": AHEAD_DAYS}
    return table_page(
        request,
        table_class=KitTable,
        queryset=queries.kits(),
        filterset_class=KitFilter,
        template="assembly/kits.html",
        export_name="kits",
        context=context,
    )


@require_GET
@kept_offline
def kit(request: HttpRequest, number: str) -> HttpResponse:
    return _kit_page(request, number)


@require_GET
@kept_offline
def build_sheet(request: HttpRequest, number: str) -> HttpResponse:
    """What the bay builds from: the order, its options, colours by side, the hull, the parts of the kit."""
    found = _kit(number)
    context = {
        "kit": found,
        "order": found.order,
        "choices": found.order.choices.select_related("choice__group").order_by("choice__group__sequence"),
        "colours": found.order.colours.select_related("colour").order_by("place"),
        "shown": shown_of(found.order),
        "lines": found.lines.select_related("item__colour").order_by("item__group", "item__code"),
        "sheet": sheet_of(found.order),
        "missing": sum(one.missing for one in fitting.wanted_numbers(found.order)),
        "key": new_key("papers"),
    }
    return page(request, "assembly/build_sheet.html", context)


@require_POST
@needs("inventory.issue_stock")
def pick(request: HttpRequest, number: str, line_id: int) -> HttpResponse:
    line = get_object_or_404(KitLine, pk=line_id, kit__order__number=number)
    try:
        kit_verbs.pick_line(
            line=line,
            by=person(request),
            quantity=_number(request, "quantity"),
            seen=_number(request, "seen"),
        )
    except ProblemError as refusal:
        return _kit_page(request, number, refusal)
    return _after(request, number)


@require_POST
@needs("inventory.issue_stock")
def put_back(request: HttpRequest, number: str, line_id: int) -> HttpResponse:
    line = get_object_or_404(KitLine, pk=line_id, kit__order__number=number)
    try:
        kit_verbs.unpick(line=line, by=person(request))
    except ProblemError as refusal:
        return _kit_page(request, number, refusal)
    return _after(request, number)


@require_POST
@needs("inventory.issue_stock")
def pick_all(request: HttpRequest, number: str) -> HttpResponse:
    found = _kit(number)
    try:
        short = kit_verbs.pick_all_available(kit=found, by=person(request))
    except ProblemError as refusal:
        return _kit_page(request, number, refusal)
    if short:
        names = ", ".join(line.item.code for line in short[:4])
        more = f" and {len(short) - 4} more" if len(short) > 4 else ""
        messages.info(request, f"Picked what there is. Still short of {names}{more}.")
    else:
        messages.success(request, f"The kit of order {number} is complete.")
    return redirect("assembly:kit", number)


@require_POST
@needs("production.accept_substitute")
def take_instead(request: HttpRequest, number: str, line_id: int) -> HttpResponse:
    """Yes: another item is picked for what is short."""
    line = get_object_or_404(KitLine, pk=line_id, kit__order__number=number)
    instead = get_object_or_404(Item, code=request.POST.get("instead", ""))
    try:
        swapping.take_instead(
            line=line,
            instead=instead,
            by=person(request),
            quantity=_number(request, "quantity"),
            seen=_number(request, "seen"),
        )
    except ProblemError as refusal:
        return _kit_page(request, number, refusal)
    messages.success(request, f"{instead.code} is picked instead.")
    return redirect("assembly:kit", number)


@require_POST
@needs("production.accept_substitute")
def undo_swap(request: HttpRequest, number: str, swap_id: int) -> HttpResponse:
    """The kit wants the first item again."""
    swap = Swap.objects.filter(pk=swap_id, order__number=number).select_related("order__kit").first()
    try:
        if swap is not None:
            swapping.undo_swap(swap=swap, by=person(request))
    except ProblemError as refusal:
        return _kit_page(request, number, refusal)
    return redirect("assembly:kit", number)


@require_POST
@needs("inventory.reserve_stock")
def share_out(request: HttpRequest) -> HttpResponse:
    """Keep what lies on the shelves for those who need it first: of one item, or of all."""
    code = request.POST.get("item", "")
    item = get_object_or_404(Item, code=code) if code else None
    changed = sharing.share_out(by=person(request), item=item)
    said = f"{changed} items changed hands." if changed != 1 else "1 item changed hands."
    messages.success(request, f"Shared out, first needed first served. {said}")
    return redirect("stores:kept_item", code) if item else redirect("stores:kept")


def _refused(request: HttpRequest, problems: tuple[Problem, ...], number: str) -> HttpResponse:
    return _kit_page(request, number, ProblemError(*problems) if problems else None)


def _take_begin(sent: Sent, number: str) -> Done:
    """Take a complete kit into a bay."""
    kit = bays.begin_assembly(kit=_kit(number), bay=_bay_number(sent.fields.get("bay", "")), by=sent.by)
    return Done(
        f"The kit of order {number} is in bay {kit.bay}.", reverse("assembly:build_sheet", args=[number])
    )


def _take_finish(sent: Sent, number: str) -> Done:
    bays.finish_assembly(kit=_kit(number), by=sent.by)
    said = f"The trailer of order {number} is assembled and waits for inspection."
    return Done(said, reverse("assembly:kits"))


begin = entry_page(permission="production.report_work", show=_refused, take=_take_begin)
finish = entry_page(permission="production.report_work", show=_refused, take=_take_finish)


def _kit(number: str) -> Kit:
    return get_object_or_404(
        Kit.objects.select_related("order__purpose", "order__model", "order__customer", "order__hull"),
        order__number=number,
    )


def _after(request: HttpRequest, number: str) -> HttpResponse:
    """htmx gets the picking list alone; a plain form goes back to the page."""
    return _kit_page(request, number) if getattr(request, "htmx", False) else redirect("assembly:kit", number)


def _kit_page(request: HttpRequest, number: str, refusal: ProblemError | None = None) -> HttpResponse:
    found = _kit(number)
    rows = queries.pick_rows(found)
    operation = queries.assembly_operation(found.order)
    is_waiting = operation is not None and operation.state == WorksOperation.State.WAITING
    context: dict[str, Any] = {
        "kit": found,
        "order": found.order,
        "rows": rows,
        "to_pick": sum(1 for row in rows if row.wanting > 0),
        "can_pick": sum(1 for row in rows if row.can_pick > 0),
        "operation": operation,
        "is_waiting": is_waiting,
        "is_begun": operation is not None and operation.state == WorksOperation.State.BEGUN,
        "bays": _bays(),
        "lacks": queries.lacks(found, rows) if is_waiting else [],
        "swaps": found.order.swaps.select_related("item", "instead", "by"),
        "problems": refusal.problems if refusal else (),
        "key": new_key("bay"),
    }
    # htmx would drop the answer of a refusal that is not a success, and with it the reason.
    status = 409 if refusal and not getattr(request, "htmx", False) else 200
    return page(request, "assembly/kit.html", context, part="assembly/_picking.html", status=status)


def _number(request: HttpRequest, field: str) -> Decimal | None:
    """A figure that the page's own form sent along; none where it did not."""
    text = request.POST.get(field, "")
    try:
        return Decimal(text) if text else None
    except InvalidOperation:
        raise ProblemError(
            Problem(f'"{text}" is not a number', where=field, mend="Load the page again and pick once more.")
        ) from None


def _bays() -> list[dict[str, Any]]:
    """The assembly bays and which order stands in each."""
    taken = queries.bays_taken()
    return [{"number": bay, "order": taken.get(bay, "")} for bay in range(1, board.bay_count() + 1)]


def _bay_number(text: str) -> int:
    if not text.isdecimal() or int(text) not in {bay["number"] for bay in _bays()}:
        raise ProblemError(Problem(f'There is no bay "{text}"', mend="Choose one of the bays on this page."))
    return int(text)
