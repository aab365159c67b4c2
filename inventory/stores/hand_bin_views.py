"""Two bins of fixings on the phone: tell of an empty one, bring a full one; each waits when the wireless drops."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from bom.items.models import Item
from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.quantities import format_quantity
from inventory.stores import bins
from inventory.stores.handling import KEY
from inventory.stores.models import BinSignal


@kept_offline
def _show(request: HttpRequest, problems: tuple[Problem, ...], code: str = "") -> HttpResponse:
    rows = [{"bin": row, "key": new_key(KEY)} for row in bins.bin_rows()]
    context = {"rows": rows, "problems": problems}
    return page(request, "stores/hand/bins.html", context, status=409 if problems else 200)


def _take_empty(sent: Sent, code: str) -> Done:
    bins.raise_signal(item=_item(code), by=sent.by, raised_at=sent.made_at)
    return Done(f"An empty bin of {code} is told of.", reverse("stores:hand_bins"))


def _take_full(sent: Sent, code: str) -> Done:
    item = _item(code)
    _refuse_answered(item, sent.fields.get("signal", ""))
    posting = bins.issue_bin(item=item, by=sent.by, key=sent.key, happened_at=sent.made_at)
    taken = sum(-row.quantity for row in posting.movements.all() if row.quantity < 0)
    return Done(f"A full bin of {format_quantity(taken)} {code} went to work.", reverse("stores:hand_bins"))


def _refuse_answered(item: Item, signal: str) -> None:
    """A bin that was brought for one signal is not brought for it again by a colleague."""
    if signal and BinSignal.objects.filter(item=item, pk=int(signal), answered_by__isnull=False).exists():
        raise ProblemError(
            Problem(
                f"A full bin of {item.code} was brought meanwhile",
                "",
                "Look at the bins. Drop this if there is one; else tell of the empty one anew.",
            )
        )


def _item(code: str) -> Item:
    return get_object_or_404(Item, code=code)


@needs("inventory.issue_stock")
@require_GET
def bin_list(request: HttpRequest) -> HttpResponse:
    """Items in two bins, those with an empty one first."""
    return _show(request, ())


empty = entry_page(permission="inventory.issue_stock", show=_show, take=_take_empty)
full = entry_page(permission="inventory.issue_stock", show=_show, take=_take_full)
