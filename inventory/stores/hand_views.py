"""Pages for the phone between the racks: scan, move, put away, hold; entries wait when the wireless drops."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_GET

from bom.kernel.entries import Done, Sent, entry_page, form_problems, kept_offline
from bom.kernel.errors import Problem
from bom.kernel.pages import new_key, page
from bom.kernel.quantities import format_quantity
from inventory.stock.models import Location, Posting
from inventory.stores import holding, putting_away
from inventory.stores.hand_book import book
from inventory.stores.hand_finding import find_item, find_lot, find_place, scanned
from inventory.stores.hand_forms import HandFreeForm, HandHoldForm, HandMoveForm, HandPutAwayForm
from inventory.stores.handling import KEY, move_stock

Problems = tuple[Problem, ...]
HEAPS_SHOWN = 40


@require_GET
@kept_offline
def start(request: HttpRequest) -> HttpResponse:
    """Scan anything; or choose what to do."""
    return page(request, "stores/hand/start.html")


@require_GET
@kept_offline
def take_along(request: HttpRequest) -> HttpResponse:
    """The codes and stocks that the device keeps, as JSON."""
    return JsonResponse(book())


@kept_offline
def _show_move(request: HttpRequest, problems: Problems) -> HttpResponse:
    return _form_page(request, "stores/hand/move.html", HandMoveForm, problems)


@kept_offline
def _show_put_away(request: HttpRequest, problems: Problems) -> HttpResponse:
    heaps = putting_away.waiting()[:HEAPS_SHOWN]
    return _form_page(request, "stores/hand/put_away.html", HandPutAwayForm, problems, heaps=heaps)


@kept_offline
def _show_hold(request: HttpRequest, problems: Problems) -> HttpResponse:
    return _form_page(request, "stores/hand/hold.html", HandHoldForm, problems)


@kept_offline
def _show_free(request: HttpRequest, problems: Problems) -> HttpResponse:
    heaps = holding.held()[:HEAPS_SHOWN]
    return _form_page(request, "stores/hand/free.html", HandFreeForm, problems, heaps=heaps)


def _take_move(sent: Sent) -> Done:
    carried = _Carried(sent, HandMoveForm)
    move_stock(**carried.words, target=carried.target())
    return carried.done("Moved")


def _take_put_away(sent: Sent) -> Done:
    carried = _Carried(sent, HandPutAwayForm)
    putting_away.put_away(**carried.words, target=carried.target())
    return carried.done("Put away")


def _take_hold(sent: Sent) -> Done:
    carried = _Carried(sent, HandHoldForm)
    data = carried.data
    posting = holding.put_on_hold(**carried.words, code=data["code"], remark=data["remark"])
    return carried.done("Set apart", posting)


def _take_free(sent: Sent) -> Done:
    carried = _Carried(sent, HandFreeForm, (Location.Kind.HOLD,))
    holding.release_from_hold(**carried.words, target=carried.target(), remark=carried.data["remark"])
    return carried.done("Released")


class _Carried:
    """What a form of carrying goods says, read and looked up.

    Raises:
        ProblemError: a field is wrong, or a code names nothing.
    """

    def __init__(
        self, sent: Sent, form_class: Callable[..., forms.Form], kinds: tuple[str, ...] | None = None
    ) -> None:
        form = form_class(sent.fields)
        if not form.is_valid():
            raise form_problems(form)
        self.sent, self.data = sent, form.cleaned_data
        self.source = find_place(self.data["source"], kinds) if kinds else find_place(self.data["source"])
        found = find_item(self.data["item"])
        self.item = found.item
        self.words: dict[str, Any] = {
            "item": found.item,
            "quantity": self.data["quantity"],
            "source": self.source,
            "lot": find_lot(found.item, self.data["lot"] or found.lot_code),
            "by": sent.by,
            "key": sent.key,
            "happened_at": sent.made_at,
        }

    def target(self) -> Location:
        return find_place(self.data["target"])

    def done(self, word: str, posting: Posting | None = None) -> Done:
        """The sentence of what was done, and the same page again."""
        quantity = format_quantity(self.data["quantity"])
        where = (
            f" to {self.target().code}" if "target" in self.data else f": {posting.reason}" if posting else ""
        )
        return Done(f"{word} {quantity} {self.item.code} from {self.source.code}{where}.", self.sent.path)


move = entry_page(permission="inventory.issue_stock", show=_show_move, take=_take_move)
put_away = entry_page(permission="inventory.issue_stock", show=_show_put_away, take=_take_put_away)
hold = entry_page(permission="inventory.hold_stock", show=_show_hold, take=_take_hold)
free = entry_page(permission="inventory.hold_stock", show=_show_free, take=_take_free)


def _form_page(
    request: HttpRequest,
    template: str,
    form_class: Callable[..., forms.Form],
    problems: Problems,
    **more: Any,
) -> HttpResponse:
    form = form_class(request.POST or None, initial=scanned(request))
    context = {"form": form, "problems": problems, "key": new_key(KEY), **more}
    return page(request, template, context, status=409 if problems else 200)
