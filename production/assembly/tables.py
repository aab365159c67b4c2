"""The list of kits and its filter."""

from typing import Any

import django_filters
import django_tables2 as tables
from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text
from production.assembly.models import Kit
from production.works.models import WorksOperation

STANDINGS = [
    ("complete", "complete"),
    ("short", "lines to pick"),
    ("lacking", "parts come too late"),
    ("bay", "in a bay"),
]


class KitTable(Table):
    """Kits in the order they are needed."""

    order = tables.Column(accessor="order__number", verbose_name="Order")
    model = tables.Column(accessor="order__model__name", verbose_name="Trailer")
    customer = tables.Column(accessor="order__customer__name", verbose_name="Customer")
    needed_at = tables.Column(verbose_name="Needed", empty_values=())
    standing = tables.Column(accessor="state", verbose_name="Kit", order_by=("state", "open_lines"))
    open_lines = number_column(verbose_name="Lines to pick")
    short_of = tables.Column(verbose_name="Short of", empty_values=())

    class Meta(Table.Meta):
        model = Kit
        fields = ()
        sequence = ("order", "model", "customer", "needed_at", "standing", "open_lines", "short_of")
        empty_text = "No kit yet. Kits are made when the manager releases a plan in the week."

    def render_order(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("assembly:kit", args=[value]), value)

    def render_needed_at(self, record: Any) -> str:
        return day_text(record.needed_at) if record.needed_at else "not planned"

    def render_standing(self, record: Any) -> str:
        return self.value_standing(record)

    def value_standing(self, record: Any) -> str:
        """One plain phrase for where the kit stands."""
        if record.assembly == WorksOperation.State.BEGUN:
            return f"in bay {record.bay}" if record.bay else "in assembly"
        if record.assembly == WorksOperation.State.DONE:
            return "assembled"
        return str(record.get_state_display())

    def render_open_lines(self, record: Any) -> str:
        return f"{record.open_lines} of {record.line_count}"

    def render_short_of(self, record: Any) -> SafeString | str:
        if not record.short_of or record.state == Kit.State.DONE:
            return ""
        return format_html(
            '<span class="say-short"><span class="code">{}</span> until {}</span>',
            record.short_of,
            day_text(record.short_until),
        )


class KitFilter(django_filters.FilterSet):  # type: ignore[misc]
    order = django_filters.CharFilter(field_name="order__number", lookup_expr="icontains", label="Order")
    customer = django_filters.CharFilter(
        field_name="order__customer__name", lookup_expr="icontains", label="Customer"
    )
    standing = django_filters.ChoiceFilter(
        choices=STANDINGS, method="standing_is", label="Kit", empty_label="any"
    )

    class Meta:
        model = Kit
        fields = ("order", "customer", "standing")

    def standing_is(self, queryset: QuerySet[Kit], name: str, value: str) -> QuerySet[Kit]:
        by_assembly = {"order__works_order__operations__process__code": "assemble"}
        if value == "bay":
            begun = Kit.objects.filter(**by_assembly, order__works_order__operations__state="begun")
            return queryset.filter(pk__in=begun.values("pk"))
        not_begun = Kit.objects.filter(**by_assembly, order__works_order__operations__state="waiting")
        waiting = queryset.filter(pk__in=not_begun.values("pk"))
        if value == "lacking":
            return waiting.exclude(state=Kit.State.DONE).filter(Q(("short_of__isnull", False)))
        if value == "complete":
            return waiting.filter(state=Kit.State.DONE)
        return waiting.exclude(state=Kit.State.DONE)
