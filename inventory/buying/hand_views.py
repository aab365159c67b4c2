"""Goods-in on the phone at the door: scan what came, say how many, put it on a shelf."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from django import forms
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from bom.kernel.entries import Done, Sent, entry_page, form_problems, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import new_key, page
from bom.kernel.quantities import format_quantity
from bom.kernel.scans import Kind, read
from inventory.buying import queries, receiving
from inventory.buying.forms import KEY
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine
from inventory.stock.models import Balance, Location
from inventory.stock.sums import summed
from inventory.stores.hand_finding import find_place
from inventory.stores.hand_forms import code_field, quantity_field, seen_field

DAYS_AHEAD = 7
MOST_LINES = 80


class HandReceiveForm(forms.Form):
    line = code_field("Item or purchase order", takes="line")
    quantity = quantity_field("How many came")
    over_agreed = forms.CharField(label="More than ordered: agreed with", max_length=80, required=False)
    lot_code = code_field("Lot, cast or serial numbers", required=False, takes="lots")
    place = code_field("Put on", takes="place")
    seen = seen_field()


@kept_offline
def _show(request: HttpRequest, problems: tuple[Problem, ...]) -> HttpResponse:
    until = timezone.localdate() + timedelta(days=DAYS_AHEAD)
    lines = list(queries.expected_lines(until=until)[:MOST_LINES])
    places = _usual_places({line.item_id for line in lines})
    for line in lines:
        line.usual_place = places.get(line.item_id, "")  # type: ignore[attr-defined]
    context = {
        "form": HandReceiveForm(request.POST or None, initial={"line": request.GET.get("order", "")}),
        "lines": lines,
        "problems": problems,
        "key": new_key(KEY),
        "days_ahead": DAYS_AHEAD,
    }
    return page(request, "stores/hand/goods_in.html", context, status=409 if problems else 200)


@transaction.atomic
def _take(sent: Sent) -> Done:
    form = HandReceiveForm(sent.fields)
    if not form.is_valid():
        raise form_problems(form)
    data = form.cleaned_data
    line = _line(data["line"])
    # The same delivery may have been booked at the desk meanwhile: two of it would stand on the shelf.
    PurchaseOrder.objects.select_for_update().get(pk=line.order_id)
    line.refresh_from_db(fields=["received"])
    if data["seen"] is not None and line.received != data["seen"]:
        raise _booked_meanwhile(line, data["seen"])
    receiving.receive_line(
        line=line,
        quantity=data["quantity"],
        location=find_place(data["place"]),
        lot_code=data["lot_code"],
        over_agreed=data["over_agreed"],
        by=sent.by,
        key=sent.key,
        happened_at=sent.made_at,
    )
    line.refresh_from_db(fields=["received"])
    still = line.quantity - line.received
    rest = f"{format_quantity(still)} still to come." if still > 0 else "The line is complete."
    return Done(f"{format_quantity(data['quantity'])} of {line.item.code} booked in. {rest}", sent.path)


goods_in = entry_page(permission="inventory.receive_goods", show=_show, take=_take)


def _line(text: str) -> PurchaseOrderLine:
    """ "PO-00012/3", as the page writes it: the purchase order and the position of the line."""
    number, _, position = text.rpartition("/")
    found = PurchaseOrderLine.objects.select_related("order", "item").filter(
        order__number__iexact=number.strip(), position=int(position) if position.isdecimal() else 0
    )
    line = found.first()
    if line is None:
        scan = read(text)
        name = scan.code if scan.kind is not Kind.PLAIN else text
        raise ProblemError(
            Problem(
                f"No line of a purchase order is called {name}",
                "item or purchase order",
                "Choose the line on the page, or write order/position, such as PO-00012/3.",
            )
        )
    return line


def _booked_meanwhile(line: PurchaseOrderLine, seen: Decimal) -> ProblemError:
    return ProblemError(
        Problem(
            f"{format_quantity(line.received - seen)} of {line.item.code} were booked on {line.order.number} line "
            f"{line.position} since this was entered",
            "",
            "See whether that is the same delivery. If it is not, enter this one again.",
        )
    )


def _usual_places(item_ids: set[int]) -> dict[int, str]:
    """The shelf where most of each item lies. One query."""
    rows = (
        Balance.objects.filter(item__in=item_ids, location__kind=Location.Kind.SHELF, quantity__gt=0)
        .order_by()
        .values_list("item_id", "location__code")
        .annotate(total=summed())
        .order_by("total")
    )
    return {item_id: code for item_id, code, _ in rows}
