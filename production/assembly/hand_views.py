"""Picking on the phone: one line of a kit at a time, in walking order; what is picked waits when the wireless drops."""

from __future__ import annotations

from django import forms
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from bom.kernel.entries import Done, Sent, entry_page, form_problems, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import new_key, page
from bom.kernel.quantities import format_quantity
from inventory.stores.hand_forms import quantity_field, seen_field
from production.assembly import queries
from production.assembly.kits import pick_line
from production.assembly.models import Kit, KitLine

MOST_KITS = 30
KEPT_ALONG = 8
KEY = "pick"


class HandPickForm(forms.Form):
    quantity = quantity_field("How many")
    seen = seen_field()


@require_GET
@kept_offline
def kits(request: HttpRequest) -> HttpResponse:
    """Kits that still want something, the first needed first."""
    # How many lines are open is worked out by the list's own query, not a column.
    waiting = list(queries.kits().filter(Q(("open_lines__gt", 0)))[:MOST_KITS])
    context = {"kits": waiting, "kept_along": KEPT_ALONG}
    return page(request, "stores/hand/kits.html", context)


@require_GET
@kept_offline
def kit(request: HttpRequest, number: str) -> HttpResponse:
    return _kit_page(request, (), number)


def _kit_page(
    request: HttpRequest, problems: tuple[Problem, ...], number: str, line_id: int | None = None
) -> HttpResponse:
    found = get_object_or_404(
        Kit.objects.select_related("order__purpose", "order__model", "order__customer"), order__number=number
    )
    rows = queries.pick_rows(found)
    context = {
        "kit": found,
        "order": found.order,
        "rows": [row for row in rows if row.can_pick > 0],
        "short": [row for row in rows if row.short > 0],
        "picked": sum(1 for row in rows if row.wanting <= 0),
        "line_count": len(rows),
        "problems": problems,
        "key": new_key(KEY),
    }
    return page(request, "stores/hand/pick.html", context, status=409 if problems else 200)


def _take_pick(sent: Sent, number: str, line_id: int) -> Done:
    form = HandPickForm(sent.fields)
    if not form.is_valid():
        raise form_problems(form)
    line = get_object_or_404(KitLine, pk=line_id, kit__order__number=number)
    data = form.cleaned_data
    # Lines are changed under the lock of their kit, as `pick_line` does.
    Kit.objects.select_for_update().get(pk=line.kit_id)
    line = KitLine.objects.select_related("item").get(pk=line.pk)
    if data["seen"] is not None and line.picked != data["seen"]:
        raise _picked_meanwhile(line, number)
    line = pick_line(line=line, by=sent.by, quantity=data["quantity"], happened_at=sent.made_at)
    rest = line.wanted - line.picked
    said = f"Picked {format_quantity(data['quantity'])} {line.item.code} for {number}"
    said += f"; {format_quantity(rest)} still wanted." if rest > 0 else "."
    return Done(said, reverse("picking:kit", args=[number]))


pick = entry_page(permission="inventory.issue_stock", show=_kit_page, take=_take_pick)


def _picked_meanwhile(line: KitLine, number: str) -> ProblemError:
    return ProblemError(
        Problem(
            f"{format_quantity(line.picked)} of {format_quantity(line.wanted)} {line.item.code} stand as picked for "
            f"{number}: somebody else was at this kit since this was entered",
            "",
            "Look at what lies in the kit. Drop this if it is all there; put back what is too many.",
        )
    )
