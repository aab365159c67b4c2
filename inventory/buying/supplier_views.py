"""Suppliers: how they deliver, their terms and prices; our own address; and who may bind how much money."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from bom.items.models import Item
from bom.kernel.pages import needs, page
from inventory.buying import record
from inventory.buying.forms import BreakForm, LetterheadForm, LimitForm, RulesForm, TermsForm
from inventory.buying.measured import LineRecord, PlanningLead, Record, planning_lead, summarise
from inventory.buying.models import BuyingLimit, BuyingRules, Supplier, SupplierItem, SupplierPrice
from inventory.buying.outside_models import OutsideLine, OutsideService
from inventory.buying.paper_models import Letterhead


@dataclass(frozen=True)
class Row:
    """One thing that a supplier sells, with the lead time we plan by and its working."""

    sold: SupplierItem
    lead: PlanningLead


@require_http_methods(["GET", "POST"])
def suppliers(request: HttpRequest) -> HttpResponse:
    """Every supplier with his record over the last two years, and what holds for all of them."""
    return _keep_rules(request) if request.method == "POST" else _suppliers_page(request)


@needs("inventory.change_terms")
def _keep_rules(request: HttpRequest) -> HttpResponse:
    form = RulesForm(request.POST, instance=BuyingRules.current())
    if not form.is_valid():
        return _suppliers_page(request, form)
    form.save()
    messages.success(request, "What holds for all suppliers is kept.")
    return redirect("buying:suppliers")


def _suppliers_page(request: HttpRequest, form: RulesForm | None = None) -> HttpResponse:
    rules = BuyingRules.current()
    known, nothing = record.supplier_records(), summarise(())
    rows = [
        {"supplier": supplier, "record": known.get(supplier.pk, nothing)}
        for supplier in Supplier.objects.order_by("name")
    ]
    context = {"rows": rows, "rules": rules, "form": form or RulesForm(instance=rules)}
    return page(request, "buying/suppliers.html", context)


@require_http_methods(["GET", "POST"])
def supplier(request: HttpRequest, code: str) -> HttpResponse:
    """One supplier: record, terms, what he sells at what price."""
    found = get_object_or_404(Supplier, code=code)
    return _keep_terms(request, found) if request.method == "POST" else _supplier_page(request, found)


@needs("inventory.change_terms")
def _keep_terms(request: HttpRequest, found: Supplier) -> HttpResponse:
    form = TermsForm(request.POST, instance=found)
    if not form.is_valid():
        return _supplier_page(request, Supplier.objects.get(pk=found.pk), terms=form)
    form.save()
    messages.success(request, f"The terms of {found.name} are kept.")
    return redirect("buying:supplier", code=found.code)


@require_POST
@needs("inventory.change_terms")
def add_break(request: HttpRequest, code: str) -> HttpResponse:
    """A new price break."""
    found = get_object_or_404(Supplier, code=code)
    form = BreakForm(request.POST, supplier=found)
    if not form.is_valid():
        return _supplier_page(request, found, break_form=form)
    row = form.save()
    messages.success(
        request, f"The price of {row.sold.item.code} from {row.from_quantity.normalize():f} is kept."
    )
    return redirect("buying:supplier", code=found.code)


@require_POST
@needs("inventory.change_terms")
def remove_break(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    SupplierPrice.objects.filter(pk=pk, sold__supplier__code=code).delete()
    messages.success(request, "The price break is taken off.")
    return redirect("buying:supplier", code=code)


@require_GET
def lead_time(request: HttpRequest, code: str, item: str) -> HttpResponse:
    """The deliveries behind the figures of one item of a supplier."""
    found = get_object_or_404(Supplier, code=code)
    thing = get_object_or_404(Item, code=item)
    sold = get_object_or_404(SupplierItem, supplier=found, item=thing)
    known = record.records([thing.pk]).get((thing.pk, found.pk), summarise(()))
    context = {"supplier": found, "item": thing, "lead": _lead(found, sold, known), "lines": known.lines}
    return page(request, "buying/lead_time.html", context)


@require_http_methods(["GET", "POST"])
@needs("inventory.change_terms")
def our_address(request: HttpRequest) -> HttpResponse:
    """What stands at the head of our papers."""
    form = LetterheadForm(request.POST or None, instance=Letterhead.objects.first())
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Our address is kept.")
        return redirect("buying:our_address")
    return page(request, "buying/our_address.html", {"form": form})


@require_http_methods(["GET", "POST"])
@needs("inventory.set_limits")
def limits(request: HttpRequest) -> HttpResponse:
    """How much money each role or person may bind by an order."""
    form = LimitForm(request.POST or None)
    if request.method == "POST" and request.POST.get("remove", "").isdecimal():
        BuyingLimit.objects.filter(pk=request.POST["remove"]).delete()
        messages.success(request, "The limit is taken off.")
        return redirect("buying:limits")
    if request.method == "POST" and form.is_valid():
        kept = form.save()
        messages.success(request, f"The limit of {kept.person or kept.role} is kept.")
        return redirect("buying:limits")
    rows = BuyingLimit.objects.select_related("person", "role").order_by("role__name", "person__username")
    return page(request, "buying/limits.html", {"rows": list(rows), "form": form})


def _supplier_page(
    request: HttpRequest,
    found: Supplier,
    *,
    terms: TermsForm | None = None,
    break_form: BreakForm | None = None,
) -> HttpResponse:
    whole = record.line_records(supplier_ids=[found.pk])
    loads = record.load_records(supplier_ids=[found.pk])
    by_item: dict[int | None, list[LineRecord]] = {}
    for line in whole:
        by_item.setdefault(line.item_id, []).append(line)
    sold = SupplierItem.objects.filter(supplier=found).select_related("item").prefetch_related("breaks")
    rows = [
        Row(one, _lead(found, one, summarise(by_item.get(one.item_id, ()))))
        for one in sold.order_by("item__code")
    ]
    context = {
        "supplier": found,
        "record": summarise([*whole, *loads]),
        "services": _services(found, loads),
        "rows": rows,
        "terms": terms or TermsForm(instance=found),
        "break_form": break_form or BreakForm(supplier=found),
        "open_orders": found.orders.filter(state__in=["draft", "released"]).order_by("-number")[:20],
    }
    return page(request, "buying/supplier.html", context)


def _services(found: Supplier, loads: list[LineRecord]) -> list[tuple[OutsideService, PlanningLead]]:
    """The outside work he does, each with the time away we plan by."""
    work = dict(OutsideLine.objects.filter(order__supplier=found).values_list("pk", "service_id"))
    return [
        (
            service,
            planning_lead(
                summarise(row for row in loads if work.get(row.line_id) == service.pk),
                stated_days=service.days_away,
                percent=found.lead_percentile,
                fewest=found.fewest_deliveries,
            ),
        )
        for service in found.services.select_related("place").order_by("name")
    ]


def _lead(supplier: Supplier, sold: SupplierItem, known: Record) -> PlanningLead:
    return planning_lead(
        known,
        stated_days=sold.lead_days,
        percent=supplier.lead_percentile,
        fewest=supplier.fewest_deliveries,
    )
