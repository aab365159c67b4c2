"""The stores pages: what there is, and what stores do by hand."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import table_page
from bom.people.models import User
from inventory.stock.models import Posting
from inventory.stock.queries import stacks
from inventory.stores import handling, holding, issuing, queries, undoing
from inventory.stores.act_forms import (
    BackForm,
    CodedScrapForm,
    FromOrderForm,
    HoldForm,
    IssueForm,
    ReleaseForm,
)
from inventory.stores.forms import CountForm, KeyedForm, MoveForm, ReasonForm
from inventory.stores.saying import done_message, person
from inventory.stores.tables import LedgerFilter, LedgerTable, StockFilter, StockTable, condition_text

ENTRIES_SHOWN = 50
# Which form asks, which verb answers; the page is the same.
Verb = Callable[[Item, dict[str, Any], User | None], Posting | None]


@require_GET
def stock(request: HttpRequest) -> HttpResponse:
    """Every item with what there is of it, what is kept, what comes, and the state in words."""
    return table_page(
        request,
        table_class=StockTable,
        queryset=queries.stock_list(),
        filterset_class=StockFilter,
        template="stores/stock.html",
        export_name="stock",
    )


@require_GET
def item(request: HttpRequest, code: str) -> HttpResponse:
    """One item: where it lies, for whom it is kept, and its movements."""
    found = get_object_or_404(queries.stock_list().select_related("level"), code=code)
    lying = stacks([found.pk]).get(found.pk, [])
    on_hand = sum((stack.quantity for stack in lying), Decimal(0))
    context = {
        "item": found,
        "condition": condition_text(found),
        "stacks": lying,
        "held": queries.held(found),
        "reservations": queries.reservations(found),
        "entries": queries.item_ledger(found, on_hand, ENTRIES_SHOWN),
        "entries_shown": ENTRIES_SHOWN,
        "last_counted": queries.last_counted(found),
    }
    return page(request, "stores/item.html", context)


@require_http_methods(["GET", "POST"])
@needs("inventory.issue_stock")
def move(request: HttpRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, MoveForm, _move, heading="Move", button="Move it")


@require_http_methods(["GET", "POST"])
@needs("inventory.scrap_stock")
def scrap(request: HttpRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, CodedScrapForm, _scrap, heading="Scrap", button="Scrap it")


@require_http_methods(["GET", "POST"])
@needs("inventory.count_stock")
def count(request: HttpRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, CountForm, _count, heading="Count", button="Post the count")


@require_http_methods(["GET", "POST"])
@needs("inventory.hold_stock")
def hold(request: HttpRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, HoldForm, _hold, heading="Put on hold", button="Set it apart")


@require_http_methods(["GET", "POST"])
@needs("inventory.hold_stock")
def release(request: HttpRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, ReleaseForm, _release, heading="Release", button="It is good")


@require_http_methods(["GET", "POST"])
@needs("inventory.issue_stock")
def issue(request: HttpRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, IssueForm, _issue, heading="Give out", button="Give it out")


@require_http_methods(["GET", "POST"])
@needs("inventory.issue_stock")
def back(request: HttpRequest, code: str) -> HttpResponse:
    """What lies at work comes back to a shelf."""
    found = get_object_or_404(Item, code=code)
    return _hand_page(request, found, BackForm, _back, heading="Bring back", button="Put it on the shelf")


@require_http_methods(["GET", "POST"])
@needs("inventory.issue_stock")
def from_order(request: HttpRequest, code: str) -> HttpResponse:
    """What was given out by hand for an order comes back to a shelf."""
    found = get_object_or_404(Item, code=code)
    return _hand_page(
        request,
        found,
        FromOrderForm,
        _from_order,
        heading="Bring back from an order",
        button="Put it on the shelf",
    )


@require_GET
def ledger_list(request: HttpRequest) -> HttpResponse:
    """Every posting, latest first."""
    return table_page(
        request,
        table_class=LedgerTable,
        queryset=queries.postings(),
        filterset_class=LedgerFilter,
        template="stores/ledger.html",
        export_name="ledger",
        is_long=True,
    )


@require_GET
def posting(request: HttpRequest, pk: int) -> HttpResponse:
    asked = {"reason": "entered by mistake"} if "undo" in request.GET else None
    return _posting_page(request, pk, ReasonForm(initial=asked))


@require_POST
@needs("inventory.reverse_posting")
def reverse(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a posting back, with what hangs on it."""
    found = get_object_or_404(Posting, pk=pk)
    form = ReasonForm(request.POST)
    if not form.is_valid():
        return _posting_page(request, pk, form)
    try:
        mirror = undoing.take_back(posting=found, reason=form.cleaned_data["reason"], by=person(request))
    except ProblemError as refusal:
        return _posting_page(request, pk, form, refusal)
    messages.success(request, "Reversed. Below is the posting that took it back.")
    return redirect("stores:posting", pk=mirror.pk)


def _posting_page(
    request: HttpRequest, pk: int, form: ReasonForm, refusal: ProblemError | None = None
) -> HttpResponse:
    found = get_object_or_404(queries.postings().select_related("reverses", "reason_code"), pk=pk)
    context = {
        "posting": found,
        "movements": found.movements.select_related("item", "location", "lot"),
        "can_take_back": undoing.can_take_back(found),
        "form": form,
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/posting.html", context, status=409 if refusal else 200)


def _hand_page(
    request: HttpRequest, found: Item, form_class: type[KeyedForm], verb: Verb, *, heading: str, button: str
) -> HttpResponse:
    """Ask for what was done by hand, do it, and go back to the item; what is refused is said above the form."""
    already = Posting.objects.filter(key=request.POST.get("key", "")).first()
    if already is not None:
        # The form came a second time: the answer is the first one's.
        return _counted(request, already, found.code, back_to=found)
    form = form_class(request.POST or None, item=found, initial=_chosen(request, found))
    problems: tuple[Any, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            done = verb(found, form.cleaned_data, person(request))
        except ProblemError as refusal:
            problems = refusal.problems
        else:
            return _counted(request, done, found.code, back_to=found)
    context = {
        "item": found,
        "form": form,
        "problems": problems,
        "heading": heading,
        "button": button,
        "is_empty": _has_no_choice(form),
    }
    return page(request, "stores/hand.html", context, status=409 if problems else 200)


def _has_no_choice(form: KeyedForm) -> bool:
    """Nothing lies where the form takes from, so there is nothing to ask."""
    asked = form.fields.get("source")
    return asked is not None and not asked.queryset.exists()  # type: ignore[attr-defined]


def _chosen(request: HttpRequest, item: Item) -> dict[str, Any]:
    """What a link has already chosen (the place, the stack or the lot); else the only place where it lies."""
    places = {stack.location_id for stack in stacks([item.pk]).get(item.pk, [])}
    only = {"location": places.pop()} if len(places) == 1 else {}
    return only | {name: request.GET[name] for name in ("source", "location", "lot") if name in request.GET}


def _counted(
    request: HttpRequest, done: Posting | None, what: str, back_to: Item | None = None
) -> HttpResponse:
    if done is None:
        messages.success(request, f"{what}: the count agrees with the ledger; nothing was posted.")
    else:
        messages.success(request, done_message(what, done))
    if back_to is not None:
        return redirect("stores:item", code=back_to.code)
    return redirect("stores:posting", pk=done.pk) if done else redirect("stores:stock")


def _from_stack(verb: Callable[..., Posting], *names: str) -> Verb:
    """A verb for goods taken from a stack: the form's source says place and lot, `names` are handed on as they are."""

    def work(item: Item, data: dict[str, Any], by: User | None) -> Posting | None:
        stack = data["source"]
        asked = {name: data[name] for name in ("quantity", "key", *names)}
        return verb(item=item, source=stack.location, lot=stack.lot, by=by, **asked)

    return work


_move = _from_stack(handling.move_stock, "target")
_scrap = _from_stack(handling.scrap_stock, "code", "reason")
_hold = _from_stack(holding.put_on_hold, "code", "remark")
_release = _from_stack(holding.release_from_hold, "target", "remark")
_issue = _from_stack(issuing.issue_to_order, "purpose", "reason")
_back = _from_stack(issuing.return_to_shelf, "target", "reason")


def _from_order(item: Item, data: dict[str, Any], by: User | None) -> Posting | None:
    return issuing.return_from_order(
        item=item,
        quantity=data["quantity"],
        purpose=data["purpose"],
        target=data["target"],
        by=by,
        key=data["key"],
        reason=data["reason"],
    )


def _count(item: Item, data: dict[str, Any], by: User | None) -> Posting | None:
    return handling.count_stock(
        item=item,
        location=data["location"],
        counted=data["counted"],
        reason=data["reason"],
        by=by,
        key=data["key"],
        lot=data.get("lot"),
    )
