"""The list of cut batches and its filter."""

import django_filters
import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from bom.kernel.quantities import format_quantity
from bom.kernel.tables import Table, number_column
from bom.templatetags.workshop import day_text, minutes, moment, percent
from production.cutting.models import CutBatch

STATES = [
    (CutBatch.State.RELEASED.value, "released"),
    (CutBatch.State.BEGUN.value, "begun"),
    (CutBatch.State.DONE.value, "done"),
]


class BatchTable(Table):
    """Cut batches with their size, time and use."""

    grade = tables.Column(verbose_name="Steel")
    needed_on = tables.Column(verbose_name="First needed")
    starts_at = tables.Column(verbose_name="Planned", empty_values=())
    sheet_count = number_column(verbose_name="Sheets")
    parts = number_column(verbose_name="Parts")
    bad = number_column(verbose_name="To cut again")
    minutes = number_column(verbose_name="Cutting")
    use = number_column(verbose_name="Use")

    class Meta(Table.Meta):
        model = CutBatch
        fields = ("number", "grade", "thickness_mm", "state", "needed_on", "starts_at")
        sequence = (*fields, "sheet_count", "parts", "bad", "minutes", "use")
        empty_text = "No batch is on the floor. Batches appear when the manager releases a plan in the week."

    def render_number(self, value: str) -> SafeString:
        return format_html('<a class="code" href="{}">{}</a>', reverse("laser:batch", args=[value]), value)

    def render_thickness_mm(self, record: CutBatch) -> SafeString:
        return format_html('{} <span class="unit">mm</span>', format_quantity(record.thickness_mm))

    def render_needed_on(self, record: CutBatch) -> str:
        return day_text(record.needed_on)

    def render_starts_at(self, record: CutBatch) -> str:
        return moment(record.starts_at) if record.starts_at else "not planned"

    def render_minutes(self, record: CutBatch) -> str:
        return minutes(record.minutes)

    def render_use(self, record: CutBatch) -> str:
        return percent(record.use)


class BatchFilter(django_filters.FilterSet):  # type: ignore[misc]
    number = django_filters.CharFilter(lookup_expr="icontains", label="Batch")
    grade = django_filters.CharFilter(lookup_expr="iexact", label="Steel")
    thickness_mm = django_filters.NumberFilter(label="Thickness, mm")
    state = django_filters.ChoiceFilter(choices=STATES, label="State", empty_label="any")
    order = django_filters.CharFilter(method="for_order", label="Holds parts of order")

    class Meta:
        model = CutBatch
        fields = ("number", "grade", "thickness_mm", "state")

    def for_order(
        self, queryset: "django_filters.QuerySet", name: str, value: str
    ) -> "django_filters.QuerySet":
        # By key, so that the counts of the list are not multiplied by the join.
        batches = CutBatch.objects.filter(sheets__placements__order__number=value).values("pk")
        return queryset.filter(pk__in=batches)
