"""The list of bar batches and its filter."""

import django_filters
import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text, moment, percent
from production.cutting.saw.models import BarBatch


class BarBatchTable(Table):
    """Bar batches with their bars, pieces, waste and what is proven of their plan."""

    item = tables.Column(verbose_name="Section", accessor="item__code")
    needed_on = tables.Column(verbose_name="First needed")
    starts_at = tables.Column(verbose_name="Planned", empty_values=())
    bar_count = number_column(verbose_name="Bars")
    pieces = number_column(verbose_name="Pieces")
    bad = number_column(verbose_name="To saw again")
    waste = number_column(verbose_name="Waste")
    is_proven = tables.Column(verbose_name="Plan of bars")

    class Meta(Table.Meta):
        model = BarBatch
        fields = ("number", "item", "state", "needed_on", "starts_at")
        sequence = (*fields, "bar_count", "pieces", "bad", "waste", "is_proven")
        empty_text = (
            "Nothing is gathered for the saw. Batches appear when the manager releases a plan in the week."
        )

    def render_number(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("saw:batch", args=[value]), value)

    def render_needed_on(self, record: BarBatch) -> str:
        return day_text(record.needed_on)

    def render_starts_at(self, record: BarBatch) -> str:
        return moment(record.starts_at) if record.starts_at else "not planned"

    def render_waste(self, record: BarBatch) -> str:
        return percent(record.waste)

    def render_is_proven(self, record: BarBatch) -> str:
        if record.is_proven:
            return "cheapest, proven"
        gap = (record.cost - record.bound) / record.cost if record.cost else 0
        return f"at most {percent(gap)} above the cheapest"


class BarBatchFilter(django_filters.FilterSet):  # type: ignore[misc]
    number = django_filters.CharFilter(lookup_expr="icontains", label="Batch")
    item = django_filters.CharFilter(field_name="item__code", lookup_expr="icontains", label="Section")
    state = django_filters.ChoiceFilter(choices=BarBatch.State.choices, label="State", empty_label="any")
    order = django_filters.CharFilter(method="for_order", label="Holds pieces of order")

    class Meta:
        model = BarBatch
        fields = ("number", "state")

    def for_order(
        self, queryset: "django_filters.QuerySet", name: str, value: str
    ) -> "django_filters.QuerySet":
        # By key, so that the counts of the list are not multiplied by the join.
        return queryset.filter(pk__in=BarBatch.objects.filter(bars__cuts__order__number=value).values("pk"))
