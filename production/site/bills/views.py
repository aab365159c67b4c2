"""Bills: looking at them, writing a draft, where an item is used, what differs."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.catalogue.configuring import known_names
from bom.catalogue.models import TrailerModel
from bom.items.models import Item
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from bom.structure.differing import line_changes
from bom.structure.editing import begin_revision, check_lines, save_lines
from bom.structure.models import BillLine, Revision
from bom.structure.where_used import totals_above, usages_of, where_used
from production.orders.freezing import load_bills
from production.orders.models import Order
from production.site.bills.lines import Typed, drafts_of, typed_in, typed_of
from production.site.bills.showing import (
    change_rows,
    orders_needing,
    plain_lines,
    shown_lines,
    totals_of,
    use_rows,
    worth_of,
)
from production.site.bills.standing import draft_of, draft_or_404, in_force_of
from production.site.bills.tables import BillFilter, BillTable, made_items
from production.site.bills.today import against_today
from production.works.person import person


@require_GET
def bills(request: HttpRequest) -> HttpResponse:
    """Every made item with its revision in force and its draft."""
    return table_page(
        request,
        table_class=BillTable,
        queryset=made_items(),
        filterset_class=BillFilter,
        template="bills/bills.html",
        export_name="bills",
    )


@require_GET
def bill(request: HttpRequest, code: str) -> HttpResponse:
    """One item's bill: the revision in force, or the one asked for."""
    return _bill_page(request, get_object_or_404(Item, code=code))


@require_GET
def uses(request: HttpRequest, code: str) -> HttpResponse:
    """Where an item is used, through every level, and which open orders hold it."""
    item = get_object_or_404(Item, code=code)
    loaded = load_bills(timezone.localdate())
    usages = usages_of(loaded.catalogue)
    models = dict(TrailerModel.objects.values_list("item__code", "code"))
    totals = totals_above(usages, code)
    needing = orders_needing(item)
    context = {
        "item": item,
        "rows": use_rows(where_used(usages, code), loaded.names, models),
        "models": sorted((models[top], totals[top]) for top in totals if top in models),
        "needing": needing,
        "wanted": sum((quantity for *_, quantity in needing), 0),
    }
    return page(request, "bills/uses.html", context)


@require_GET
def difference(request: HttpRequest, code: str) -> HttpResponse:
    """What differs between two revisions of a bill (`?from=A&to=B`; without them the last two)."""
    item = get_object_or_404(Item, code=code)
    revisions = list(item.revisions.order_by("pk"))
    letters = {one.letter: one for one in revisions}
    before = letters.get(request.GET.get("from", "")) or (revisions[-2] if len(revisions) > 1 else None)
    after = letters.get(request.GET.get("to", "")) or (revisions[-1] if revisions else None)
    changes = line_changes(plain_lines(before), plain_lines(after)) if before and after else []
    context = {"item": item, "revisions": revisions, "before": before, "after": after, "changes": changes}
    return page(request, "bills/difference.html", context)


@require_GET
def orders_difference(request: HttpRequest) -> HttpResponse:
    """What differs between the bills of two confirmed orders (`?one=2601&other=2602`)."""
    numbers = [request.GET.get(name, "").strip() for name in ("one", "other")]
    found = Order.objects.filter(number__in=numbers, bill__isnull=False).select_related("customer", "model")
    by_number = {order.number: order for order in found}
    chosen = [by_number.get(number) for number in numbers]
    missing = [number for number in numbers if number and number not in by_number]
    context: dict[str, Any] = {"numbers": numbers, "missing": missing, "one": chosen[0], "other": chosen[1]}
    if chosen[0] is not None and chosen[1] is not None:
        rows = change_rows(totals_of(chosen[0]), totals_of(chosen[1]))
        context |= {"rows": rows, "worth": worth_of(rows), "is_compared": True}
    return page(request, "bills/orders_difference.html", context)


@require_GET
def today(request: HttpRequest, number: str) -> HttpResponse:
    """A confirmed order against what it would be today."""
    try:
        found = against_today(number)
    except Order.DoesNotExist as error:
        raise Http404(f"There is no order {number}.") from error
    if found.order.bill_id is None:
        return redirect("orders:order", number)
    context = {
        "order": found.order,
        "rows": found.rows,
        "worth": found.worth,
        "has_begun": found.has_begun,
    }
    return page(request, "bills/today.html", context)


@needs("bom.add_revision")
@require_POST
def begin(request: HttpRequest, code: str) -> HttpResponse:
    """Open a draft as a copy of the revision in force. Where there is a draft already, it is shown."""
    item = get_object_or_404(Item, code=code)
    if not draft_of(item):
        try:
            begin_revision(
                item=item,
                effective_from=timezone.localdate(),
                by=person(request),
                copy_from=in_force_of(item.revisions.all()),
            )
        except ProblemError as refusal:
            return _bill_page(request, item, refusal)
        messages.success(request, f"A draft of the bill of {code} is open.")
    return redirect("bills:draft", code)


@needs("bom.change_revision")
@require_http_methods(["GET", "POST"])
def draft(request: HttpRequest, code: str) -> HttpResponse:
    """Write the lines of a draft. What is refused stays in the form."""
    revision = draft_or_404(code)
    if request.method == "GET":
        return _draft_page(request, revision, typed_of(revision))
    rows = typed_in(request.POST)
    try:
        save_lines(revision=revision, lines=drafts_of(rows), names=known_names(), by=person(request))
    except ProblemError as refusal:
        return _draft_page(request, revision, rows, refusal)
    messages.success(request, f"Revision {revision.letter} is saved as a draft.")
    return redirect("bills:draft", code)


@needs("bom.change_revision")
@require_POST
def check(request: HttpRequest, code: str) -> HttpResponse:
    """What would be refused if the form were saved as it stands. Nothing is written."""
    revision = draft_or_404(code)
    problems: tuple[Problem, ...] = ()
    lines = []
    try:
        lines = drafts_of(typed_in(request.POST))
        check_lines(revision=revision, lines=lines, names=known_names())
    except ProblemError as refusal:
        problems = refusal.problems
    context = {"problems": problems, "count": len(lines), "revision": revision}
    return page(request, "bills/_check.html", context)


def _bill_page(request: HttpRequest, item: Item, refusal: ProblemError | None = None) -> HttpResponse:
    revisions = list(item.revisions.order_by("-effective_from", "-pk"))
    in_force = in_force_of(revisions)
    asked = next((one for one in revisions if one.letter == request.GET.get("revision")), None)
    shown = asked or in_force or next(iter(revisions), None)
    context = {
        "item": item,
        "revisions": revisions,
        "in_force": in_force,
        "shown": shown,
        "draft": next((one for one in revisions if one.state == Revision.State.DRAFT), None),
        "lines": shown_lines(shown) if shown else [],
        "operations": list(shown.operations.select_related("process")) if shown else [],
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "bills/bill.html", context, status=409 if refusal else 200)


def _draft_page(
    request: HttpRequest, revision: Revision, rows: list[Typed], refusal: ProblemError | None = None
) -> HttpResponse:
    names = known_names()
    context = {
        "revision": revision,
        "rows": rows,
        "names": names,
        "bases": BillLine.CentreBasis.choices,
        "key": new_key("bill"),
        "problems": refusal.problems if refusal else (),
        "count": sum(1 for row in rows if row.part),
    }
    return page(request, "bills/draft.html", context, status=409 if refusal else 200)
