"""The list of items."""

from typing import Any

import django_filters as filters
import django_tables2 as tables
from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.items.models import Item
from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import quantity_text


class ItemTable(Table):
    """Every kind of thing, with the figures it is planned by. The headings of the export are those of the import."""

    code = tables.Column(verbose_name="code")
    name = tables.Column(verbose_name="name")
    kind = tables.Column(verbose_name="kind")
    unit = tables.Column(verbose_name="unit")
    group = tables.Column(verbose_name="group")
    family = tables.Column(accessor="family__code", verbose_name="family")
    colour = tables.Column(accessor="colour__code", verbose_name="colour")
    mass_kg = number_column(verbose_name="mass_kg")
    lead_days = number_column(verbose_name="lead_days")
    lot_rule = tables.Column(verbose_name="lot_rule")
    lot_size = number_column(verbose_name="lot_size")
    safety_stock = number_column(verbose_name="safety_stock")
    standard_cost = number_column(verbose_name="standard_cost")

    class Meta(Table.Meta):
        empty_text = "No item here. Bring items in from a workbook, or show all."

    def render_code(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("planning:card", args=[value]), value)

    def render_mass_kg(self, value: Any) -> str:
        return quantity_text(value)

    def render_lot_size(self, value: Any) -> str:
        return quantity_text(value)

    def render_safety_stock(self, value: Any) -> str:
        return quantity_text(value)


class ItemFilter(filters.FilterSet):  # type: ignore[misc]
    q = filters.CharFilter(method="by_text", label="Code or name")
    kind = filters.ChoiceFilter(choices=Item.Kind.choices, label="Kind", empty_label="any")
    group = filters.CharFilter(lookup_expr="iexact", label="Group")
    is_active = filters.BooleanFilter(label="In use")

    class Meta:
        model = Item
        fields: list[str] = []

    def by_text(self, queryset: QuerySet[Item], name: str, value: str) -> QuerySet[Item]:
        words = value.strip()
        return queryset.filter(Q(code__icontains=words) | Q(name__icontains=words))
