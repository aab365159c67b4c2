"""The list of purchase orders and its filter."""

from __future__ import annotations

from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text, late_text, money
from inventory.buying.models import PurchaseOrder, PurchaseOrderLine, Supplier
from inventory.buying.standing import standing_text


class OrderTable(Table):
    number = tables.Column(verbose_name="Order")
    supplier = tables.Column(order_by="supplier__name")
    state = tables.Column(verbose_name="How it stands")
    ordered_on = tables.Column(verbose_name="Ordered", default="")
    next_due = tables.Column(verbose_name="Next due", default="")
    lines_to_come = number_column(verbose_name="Lines to come")
    value = number_column(verbose_name="Value")

    class Meta(Table.Meta):
        order_by = "-number"
        empty_text = "No purchase order fits. Draft one from the levels, or begin a new one."

    def render_number(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("buying:order", args=[value]), value)

    def render_state(self, record: Any) -> str:
        return standing_text(
            record,
            to_come=record.lines_to_come,
            confirmed=record.lines_confirmed,
            begun=record.lines_begun,
        )

    def value_state(self, record: Any) -> str:
        return self.render_state(record)

    def render_ordered_on(self, record: PurchaseOrder) -> str:
        return day_text(record.ordered_on)

    def render_next_due(self, record: Any) -> SafeString | str:
        text = day_text(record.next_due)
        overdue = late_text((timezone.localdate() - record.next_due).days)
        if not overdue or record.state != PurchaseOrder.State.RELEASED:
            return text
        return format_html('{} <span class="say-late">{}</span>', text, overdue)

    def render_lines_to_come(self, record: Any) -> str:
        return f"{record.lines_to_come} of {record.line_count}"

    def render_value(self, value: Any) -> str:
        return money(value)


class OrderFilter(django_filters.FilterSet):  # type: ignore[misc]
    number = django_filters.CharFilter(lookup_expr="icontains", label="Order")
    supplier = django_filters.ModelChoiceFilter(
        queryset=Supplier.objects.order_by("name"),
        to_field_name="code",
        label="Supplier",
        empty_label="any",
    )
    state = django_filters.ChoiceFilter(choices=PurchaseOrder.State.choices, label="State", empty_label="any")
    waits = django_filters.BooleanFilter(
        method="that_waits", label="Waits for approval", widget=forms.CheckboxInput
    )
    item = django_filters.CharFilter(method="of_item", label="Item code")

    def that_waits(self, rows: QuerySet[PurchaseOrder], name: str, value: bool) -> QuerySet[PurchaseOrder]:
        waiting = {"state": PurchaseOrder.State.DRAFT, "asked_at__isnull": False, "approved_at__isnull": True}
        return rows.filter(**waiting) if value else rows

    def of_item(self, rows: QuerySet[PurchaseOrder], name: str, value: str) -> QuerySet[PurchaseOrder]:
        # By key, so that the counts of the list are not multiplied by the join.
        lines = PurchaseOrderLine.objects.filter(item__code__iexact=value.strip())
        return rows.filter(pk__in=lines.values("order"))
