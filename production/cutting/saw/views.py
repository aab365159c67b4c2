"""The saw's pages: the station screen, one bar, the batches, and what the saw reckons with."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.geometry.models import SawnEnds
from bom.kernel.entries import Done, Sent, entry_page, kept_offline
from bom.kernel.errors import Problem, ProblemError
from bom.kernel.pages import needs, new_key, page
from bom.kernel.tables import table_page
from inventory.stock.models import Balance, Location, Lot
from production.cutting.saw import asking, counting, queries
from production.cutting.saw.forms import (
    REASONS,
    BarLengthForm,
    SawnEndsForm,
    SawRulesForm,
    read_keep,
    read_marks,
)
from production.cutting.saw.models import BarBatch, BarGather, BarLength, SawBar, SawCut, SawRules
from production.cutting.saw.tables import BarBatchFilter, BarBatchTable
from production.planning.models import Plan
from production.works.person import person

SMALL = 2


@require_GET
@kept_offline
def station(request: HttpRequest) -> HttpResponse:
    """The next bar, large; the two after it, small."""
    bars = list(queries.open_bars()[: SMALL + 1])
    context: dict[str, Any] = {"bar": None, "gathering": asking.last_gathering()}
    if bars:
        context |= _bar_context(bars[0], bars[1:])
    return page(request, "saw/bar.html", context)


@require_GET
@kept_offline
def bar(request: HttpRequest, number: str, bar_number: int) -> HttpResponse:
    """One bar: what to fetch, its cuts, what to do."""
    return _bar_page(request, _bar(number, bar_number))


@require_GET
def batches(request: HttpRequest) -> HttpResponse:
    """Every bar batch, with filters and export."""
    return table_page(
        request,
        table_class=BarBatchTable,
        queryset=queries.batches(),
        filterset_class=BarBatchFilter,
        template="saw/batches.html",
        export_name="bar-batches",
        context={"gathering": asking.last_gathering()},
    )


@require_GET
def batch(request: HttpRequest, number: str) -> HttpResponse:
    """One batch, bar by bar, and what is proven of its plan."""
    found = get_object_or_404(BarBatch.objects.select_related("plan", "item"), number=number)
    bars = list(
        found.bars.select_related("lot", "by", "offcut").prefetch_related("cuts__item", "cuts__order")
    )
    for one in bars:
        one.batch = found
    fetch = queries.where_to_fetch(bars)
    rows = [{"bar": one, "cuts": list(one.cuts.all()), "fetch": fetch.get(one.pk)} for one in bars]
    return page(request, "saw/batch.html", {"batch": found, "rows": rows})


def _take_begin(sent: Sent, number: str, bar_number: int) -> Done:
    done = counting.begin_bar(bar=_bar(number, bar_number), by=sent.by, happened_at=sent.made_at)
    return Done(f"{counting.named(done)} is begun.", reverse("saw:bar", args=[number, bar_number]))


def _take_finish(sent: Sent, number: str, bar_number: int) -> Done:
    """Count the bar: the pieces marked in the form are bad, all others good."""
    found = _bar(number, bar_number)
    scrapped, lost = read_marks(sent.fields.getlist("bad"))
    done = counting.finish_bar(
        bar=found,
        by=sent.by,
        scrapped=scrapped,
        lost=lost,
        cast=sent.fields.get("cast", ""),
        keep=read_keep(sent.fields, counting.named(found)),
        happened_at=sent.made_at,
    )
    bad = len(scrapped) + len(lost)
    good = done.cuts.filter(state=SawCut.State.GOOD).count()
    said = f"{counting.named(done)} is counted: {good} good{f'; {bad} to saw again' if bad else ''}."
    if done.offcut is None:
        return Done(said, reverse("saw:station"))
    return Done(
        f"{said} Stick the label on offcut {done.offcut.code}.", reverse("saw:bar", args=[number, bar_number])
    )


def _take_stop(sent: Sent, number: str, bar_number: int) -> Done:
    found = _bar(number, bar_number)
    counting.stop_bar(bar=found, by=sent.by, problem=sent.fields.get("problem", ""))
    return Done(f"{counting.named(found)} waits again; the reason is written on it.", reverse("saw:station"))


def _show_entry(
    request: HttpRequest, problems: tuple[Problem, ...], number: str, bar_number: int
) -> HttpResponse:
    return _bar_page(request, _bar(number, bar_number), problems)


begin = entry_page(permission="production.report_work", show=_show_entry, take=_take_begin)
finish = entry_page(permission="production.report_work", show=_show_entry, take=_take_finish)
stop = entry_page(permission="production.report_work", show=_show_entry, take=_take_stop)


@require_POST
@needs("production.report_work")
def undo(request: HttpRequest, number: str, bar_number: int) -> HttpResponse:
    found = _bar(number, bar_number)
    try:
        counting.undo_bar(bar=found, by=person(request), reason=request.POST.get("reason", "").strip())
    except ProblemError as refusal:
        return _bar_page(request, found, refusal.problems)
    messages.success(request, f"The count of {counting.named(found)} is undone; the bar waits again.")
    return redirect("saw:bar", number, bar_number)


@require_POST
@needs("production.report_work")
def gather(request: HttpRequest) -> HttpResponse:
    """Make the batches that nobody has begun anew from what the saw owes now."""
    plan = Plan.current()
    if plan is None:
        messages.error(
            request, "No plan is released, so nothing is owed. The manager releases one in the week."
        )
        return redirect("saw:station")
    asking.ask_to_gather(plan=plan, by=person(request))
    messages.success(request, "The batches are being made anew; bars that are begun stay as they are.")
    return redirect("saw:batches")


@require_http_methods(["GET", "POST"])
def rules(request: HttpRequest) -> HttpResponse:
    """Saw cut, end trim, offcuts worth keeping, the lengths of bars, and parts with slanting ends."""
    if request.method == "POST":
        return _write_rules(request)
    return _rules_page(request, {})


@needs("production.run_plan")
def _write_rules(request: HttpRequest) -> HttpResponse:
    """Each part of the page sends its own form; a length or a part is taken out by its button."""
    what = request.POST.get("what", "")
    if what == "take out length":
        BarLength.objects.filter(pk=request.POST.get("row") or 0).delete()
    elif what == "take out ends":
        SawnEnds.objects.filter(pk=request.POST.get("row") or 0).delete()
    else:
        form = _form(what, request)
        if not form.is_valid():
            return _rules_page(request, {what: form}, status=422)
        form.save()
    messages.success(request, "Written down. Batches that nobody has begun follow when they are made anew.")
    return redirect("saw:rules")


def _form(what: str, request: HttpRequest) -> Any:
    if what == "length":
        return BarLengthForm(request.POST)
    if what == "ends":
        return SawnEndsForm(request.POST)
    return SawRulesForm(request.POST, instance=SawRules.in_force())


def _rules_page(request: HttpRequest, bound: dict[str, Any], status: int = 200) -> HttpResponse:
    context = {
        "rules_form": bound.get("rules") or SawRulesForm(instance=SawRules.in_force()),
        "length_form": bound.get("length") or BarLengthForm(),
        "ends_form": bound.get("ends") or SawnEndsForm(),
        "lengths": BarLength.objects.select_related("item").order_by("item__code", "length_mm"),
        "ends": SawnEnds.objects.select_related("item").order_by("item__code"),
    }
    return page(request, "saw/rules.html", context, status=status)


def _bar(number: str, bar_number: int) -> SawBar:
    return get_object_or_404(
        SawBar.objects.select_related("batch__item", "batch__plan", "lot", "by", "offcut", "posting"),
        batch__number=number,
        number=bar_number,
    )


def _bar_page(request: HttpRequest, found: SawBar, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    found = SawBar.objects.select_related("batch__item", "lot", "by", "offcut").get(pk=found.pk)
    then = [one for one in queries.open_bars()[: SMALL + 1] if one.pk != found.pk][:SMALL]
    context = _bar_context(found, then) | {"problems": problems}
    if request.method == "POST":
        context["sent"] = request.POST.getlist("bad")
    return page(request, "saw/bar.html", context, status=409 if problems else 200)


def _bar_context(found: SawBar, then: list[SawBar]) -> dict[str, Any]:
    cuts = queries.cuts_of(found)
    is_open = found.state != SawBar.State.DONE
    return {
        "bar": found,
        "batch": found.batch,
        "bars_in_batch": found.batch.bars.count(),
        "cuts": cuts,
        "drawing": queries.drawing_of(found, cuts),
        "fetch": queries.where_to_fetch([found]).get(found.pk) if is_open else None,
        "is_open": is_open,
        "reasons": REASONS,
        "keeps": found.rest_mm >= found.batch.shortest_offcut_mm,
        "shelves": Location.objects.filter(kind=Location.Kind.SHELF).order_by("walk_order", "code")
        if is_open
        else [],
        "usual_place": _usual_place(found) if is_open else "",
        "then": then,
        "open_count": queries.open_bars().count(),
        "key": new_key("saw"),
        "gathering": BarGather.objects.filter(state__in=["queued", "running"]).first(),
    }


def _usual_place(found: SawBar) -> str:
    """Where the section lies: offcuts of it likely go beside it."""
    lying = Balance.objects.filter(
        item=found.batch.item_id, location__kind=Location.Kind.SHELF, quantity__gt=0
    )
    rows = list(lying.select_related("location", "lot").order_by("-lot_id"))
    offcuts = [one for one in rows if one.lot is not None and one.lot.kind == Lot.Kind.OFFCUT]
    return next((one.location.code for one in [*offcuts, *rows]), "")
