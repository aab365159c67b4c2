"""Counting on the phone: blind, on count sheets, handed in when the walk is done."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from bom.kernel.entries import Done, Sent, entry_page, form_problems, kept_offline
from bom.kernel.errors import Problem
from bom.kernel.pages import new_key, page
from bom.kernel.quantities import format_quantity
from inventory.stores import stocktaking
from inventory.stores.count_queries import sheets
from inventory.stores.hand_counts import COUNTING, count_by_hand, still_to_count
from inventory.stores.hand_finding import find_item, find_lot, find_place, scanned
from inventory.stores.hand_forms import HandCountForm
from inventory.stores.handling import KEY
from inventory.stores.models import CountSheet

LINES_SHOWN = 60
SHEETS_SHOWN = 6


@kept_offline
def _show(request: HttpRequest, problems: tuple[Problem, ...], number: str = "") -> HttpResponse:
    context = {
        "form": HandCountForm(request.POST if "counted" in request.POST else None, initial=scanned(request)),
        "lines": still_to_count(LINES_SHOWN),
        "sheets": list(sheets().filter(state=COUNTING)[:SHEETS_SHOWN]),
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "stores/hand/count.html", context, status=409 if problems else 200)


def _take_count(sent: Sent) -> Done:
    form = HandCountForm(sent.fields)
    if not form.is_valid():
        raise form_problems(form)
    data = form.cleaned_data
    place, found = find_place(data["place"]), find_item(data["item"])
    done = count_by_hand(
        item=found.item,
        location=place,
        lot=find_lot(found.item, data["lot"] or found.lot_code),
        counted=data["counted"],
        counted_at=sent.made_at,
        by=sent.by,
        key=sent.key,
    )
    said = f"{format_quantity(data['counted'])} {found.item.code} at {place.code} written on {done.line.sheet.number}."
    if done.is_to_be_counted_again:
        said += " Please count it once more."
    return Done(said, f"{sent.path}?place={place.code}")


def _take_in(sent: Sent, number: str) -> Done:
    sheet = get_object_or_404(CountSheet, number=number)
    rest = sent.fields.get("leave_rest") == "yes"
    stocktaking.hand_in(sheet=sheet, by=sent.by, leave_rest=rest)
    return Done(f"{number} is handed in and waits for approval.", reverse("stores:hand_count"))


count = entry_page(permission="inventory.count_stock", show=_show, take=_take_count)
hand_in = entry_page(permission="inventory.count_stock", show=_show, take=_take_in)
