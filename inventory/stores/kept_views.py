"""What is kept for which order: keep, let go, give to another; and the history of it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.contrib import messages
from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_GET, require_POST

from bom.items.models import Item
from bom.kernel.errors import ProblemError
from bom.kernel.pages import needs, page
from bom.kernel.tables import Table, number_column, table_page
from bom.templatetags.workshop import day_text, moment, quantity_text
from inventory.stock import reassigning
from inventory.stock.models import Purpose, ReasonCode, Reservation, ReservationChange
from inventory.stock.queries import availability, on_hand_balances
from inventory.stock.sums import QUANTITY, summed
from inventory.stores import queries, rules
from inventory.stores.act_forms import OrderField, open_orders, reason_field
from inventory.stores.forms import SMALLEST
from inventory.stores.saying import person

CHANGES_SHOWN = 30


def _quantity_field() -> forms.DecimalField:
    return forms.DecimalField(
        label="How many",
        min_value=SMALLEST,
        max_digits=16,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )


class KeepForm(forms.Form):
    """So much more of an item for an order."""

    purpose = OrderField(queryset=Purpose.objects.none(), label="For order", empty_label="choose an order")
    quantity = _quantity_field()
    reason = forms.CharField(label="Remark", max_length=150, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["purpose"].queryset = open_orders()  # type: ignore[attr-defined]


class GiveForm(forms.Form):
    """From one order to another, or to nobody."""

    source = OrderField(queryset=Purpose.objects.none(), label="From order", empty_label=None)
    target = OrderField(
        queryset=Purpose.objects.none(), label="To order", required=False, empty_label="nobody: free for all"
    )
    quantity = _quantity_field()
    reason = forms.CharField(label="Remark", max_length=150, required=False)

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        keeping = Purpose.objects.filter(reservations__item=item).order_by("-needed_on", "code")
        self.fields["source"].queryset = keeping  # type: ignore[attr-defined]
        self.fields["target"].queryset = open_orders()  # type: ignore[attr-defined]
        self.fields["code"] = reason_field(ReasonCode.Use.REASSIGN, "Why")
        self.order_fields(["source", "target", "quantity", "code", "reason"])


class KeptTable(Table):
    item = tables.Column(accessor="item__code", verbose_name="Item")
    name = tables.Column(accessor="item__name", verbose_name="Name")
    purpose = tables.Column(accessor="purpose__code", verbose_name="Order")
    needed_on = tables.Column(accessor="purpose__needed_on", verbose_name="Needed", default="")
    quantity = number_column(verbose_name="Kept")
    on_hand = number_column(verbose_name="On hand in all")
    kept_in_all = number_column(verbose_name="Kept in all")
    unit = tables.Column(accessor="item__unit", verbose_name="Unit", orderable=False)
    made_by = tables.Column(verbose_name="By", default="", orderable=False)

    class Meta(Table.Meta):
        order_by = "needed_on"
        empty_text = (
            "Nothing is kept for any order. Share the shelves out, or keep by hand on an item's page."
        )

    def render_item(self, value: str) -> SafeString:
        address = reverse("stores:kept_item", args=[value])
        return format_html('<a class="code" href="{}">{}</a>', address, value)

    def render_needed_on(self, value: Any) -> str:
        return day_text(value)

    def render_quantity(self, value: Any) -> str:
        return quantity_text(value)

    def render_on_hand(self, value: Any, record: Any) -> SafeString | str:
        text = quantity_text(value)
        return format_html('<span class="say-short">{}</span>', text) if value < record.kept_in_all else text

    def render_kept_in_all(self, value: Any) -> str:
        return quantity_text(value)


class KeptFilter(django_filters.FilterSet):  # type: ignore[misc]
    item = django_filters.CharFilter(field_name="item__code", lookup_expr="icontains", label="Item code")
    order = django_filters.CharFilter(field_name="purpose__code", lookup_expr="icontains", label="Order")
    short = django_filters.BooleanFilter(
        method="kept_short", label="Only what is short", widget=forms.CheckboxInput
    )

    def kept_short(self, rows: QuerySet[Reservation], name: str, value: bool) -> QuerySet[Reservation]:
        # Both are worked out by the list's own query, not columns.
        return rows.filter(Q(("on_hand__lt", F("kept_in_all")))) if value else rows


class ChangeTable(Table):
    at = tables.Column(verbose_name="When")
    item = tables.Column(accessor="item__code", verbose_name="Item")
    quantity = number_column(verbose_name="How many")
    source = tables.Column(accessor="source__code", verbose_name="From", default="nobody")
    target = tables.Column(accessor="target__code", verbose_name="To", default="nobody")
    reason = tables.Column(verbose_name="Why", empty_values=())
    by = tables.Column(verbose_name="By", default="", order_by="by__username")

    class Meta(Table.Meta):
        order_by = "-at"
        empty_text = "Nobody has kept, let go or given anything by hand."

    def render_at(self, value: Any) -> str:
        return moment(value)

    def render_quantity(self, value: Any) -> str:
        return quantity_text(value)

    def render_reason(self, record: ReservationChange) -> str:
        return self.value_reason(record)

    def value_reason(self, record: ReservationChange) -> str:
        return ": ".join(part for part in (str(record.reason_code or ""), record.reason) if part)


class ChangeFilter(django_filters.FilterSet):  # type: ignore[misc]
    item = django_filters.CharFilter(field_name="item__code", lookup_expr="icontains", label="Item code")
    order = django_filters.CharFilter(method="of_order", label="Order")

    def of_order(
        self, rows: QuerySet[ReservationChange], name: str, value: str
    ) -> QuerySet[ReservationChange]:
        return rows.filter(source__code__iexact=value.strip()) | rows.filter(
            target__code__iexact=value.strip()
        )


@require_GET
def kept(request: HttpRequest) -> HttpResponse:
    """Everything that is kept, the first needed first."""
    return table_page(
        request,
        table_class=KeptTable,
        queryset=_kept_rows(),
        filterset_class=KeptFilter,
        template="stores/kept.html",
        export_name="kept",
    )


@require_GET
def changes(request: HttpRequest) -> HttpResponse:
    """Who kept, let go or gave what to whom, and why."""
    return table_page(
        request,
        table_class=ChangeTable,
        queryset=ReservationChange.objects.select_related("item", "source", "target", "by", "reason_code"),
        filterset_class=ChangeFilter,
        template="stores/kept_changes.html",
        export_name="kept-history",
    )


@require_GET
def kept_item(request: HttpRequest, code: str) -> HttpResponse:
    """For whom one item is kept, and what can be done about it."""
    return _item_page(request, get_object_or_404(Item, code=code))


@require_POST
@needs("inventory.reserve_stock")
def keep(request: HttpRequest, code: str) -> HttpResponse:
    item = get_object_or_404(Item, code=code)
    form = KeepForm(request.POST)
    if not form.is_valid():
        return _item_page(request, item, keep_form=form)
    data = form.cleaned_data
    try:
        reassigning.keep(
            item=item,
            purpose=data["purpose"],
            quantity=data["quantity"],
            by=person(request),
            reason=data["reason"],
        )
    except ProblemError as refusal:
        return _item_page(request, item, keep_form=form, refusal=refusal)
    messages.success(request, f"{quantity_text(data['quantity'])} of {code} kept for {data['purpose'].code}.")
    return redirect("stores:kept_item", code=code)


@require_POST
@needs("inventory.reserve_stock")
def give(request: HttpRequest, code: str) -> HttpResponse:
    """From one order to another, or let go."""
    item = get_object_or_404(Item, code=code)
    form = GiveForm(request.POST, item=item)
    if not form.is_valid():
        return _item_page(request, item, give_form=form)
    try:
        _give(item, form.cleaned_data, request)
    except ProblemError as refusal:
        return _item_page(request, item, give_form=form, refusal=refusal)
    data = form.cleaned_data
    to = data["target"].code if data["target"] else "nobody"
    messages.success(
        request, f"{quantity_text(data['quantity'])} of {code}: from {data['source'].code} to {to}."
    )
    return redirect("stores:kept_item", code=code)


def _give(item: Item, data: dict[str, Any], request: HttpRequest) -> None:
    if data["target"] is None:
        why = ": ".join(part for part in (str(data["code"] or ""), data["reason"]) if part)
        reassigning.let_go(
            item=item, purpose=data["source"], quantity=data["quantity"], by=person(request), reason=why
        )
        return
    reassigning.reassign(
        item=item,
        source=data["source"],
        target=data["target"],
        quantity=data["quantity"],
        by=person(request),
        reason=data["reason"],
        reason_code=data["code"],
    )


def _kept_rows() -> QuerySet[Reservation]:
    here = on_hand_balances().filter(item=OuterRef("item")).order_by().values("item").annotate(total=summed())
    kept = (
        Reservation.objects.filter(item=OuterRef("item")).order_by().values("item").annotate(total=summed())
    )
    return Reservation.objects.select_related("item", "purpose", "made_by").annotate(
        on_hand=Coalesce(Subquery(here.values("total")), Value(Decimal(0)), output_field=QUANTITY),
        kept_in_all=Coalesce(Subquery(kept.values("total")), Value(Decimal(0)), output_field=QUANTITY),
    )


def _item_page(
    request: HttpRequest,
    item: Item,
    *,
    keep_form: KeepForm | None = None,
    give_form: GiveForm | None = None,
    refusal: ProblemError | None = None,
) -> HttpResponse:
    rows = queries.reservations(item)
    in_kits = reassigning.picked([item.pk], [row.purpose_id for row in rows])
    history = ReservationChange.objects.filter(item=item).select_related(
        "source", "target", "by", "reason_code"
    )
    chosen = {name: request.GET[name] for name in ("source", "target") if name in request.GET}
    context = {
        "item": item,
        "stock": availability([item.pk])[item.pk],
        "rows": [{"kept": row, "picked": in_kits.get((item.pk, row.purpose_id), Decimal(0))} for row in rows],
        "keep_form": keep_form or KeepForm(),
        "give_form": give_form or GiveForm(item=item, initial=chosen),
        "history": history[:CHANGES_SHOWN],
        "offers": rules.substitutes([item.pk]).get(item.pk, []),
        "problems": refusal.problems if refusal else (),
    }
    return page(request, "stores/kept_item.html", context, status=409 if refusal else 200)
